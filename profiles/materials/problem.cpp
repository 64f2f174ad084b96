#include "materials/problem.h"

namespace stripwright {

std::string Problem::text() const
{
    return file + ": " + (pointer.empty() ? "/" : pointer) + ": found " + found + ", expected " + expected;
}

static std::string joined(const std::vector<Problem>& problems)
{
    std::string all;
    for (const Problem& problem : problems)
        all += (all.empty() ? "" : "\n") + problem.text();
    return all;
}

BadInput::BadInput(std::vector<Problem> problems)
    : std::runtime_error(joined(problems)), problems_(std::move(problems))
{
}

} // namespace stripwright
