#include "materials/problem.h"

namespace stripwright {

std::string Problem::text() const
{
    return file + ": " + (pointer.empty() ? "/" : pointer) + ": found " + found + ", expected " + expected;
}

void addProblem(Problem problem, std::vector<Problem>& problems)
{
    constexpr size_t most = 100;
    if (problems.size() > most)
        return;
    if (problems.size() == most)
        problem = {problem.file, "", "more problems than these " + std::to_string(most),
                   "these to be mended first"};
    problems.push_back(std::move(problem));
}

std::string cut(std::string text, size_t longest)
{
    if (text.size() <= longest)
        return text;
    const auto continues = [&](size_t i) { return (static_cast<unsigned char>(text[i]) & 0xC0) == 0x80; };
    while (longest > 0 && continues(longest))
        --longest;
    text.resize(longest);
    return text + "...";
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
