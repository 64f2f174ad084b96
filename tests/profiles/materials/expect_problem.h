#pragma once

#include "materials/bench_sheet.h"
#include "materials/entry_keys.h"
#include "materials/problem.h"

#include <functional>
#include <gmock/gmock.h>

namespace stripwright {

/// A fault as a message must say it. `expected` is a part of the message's own.
struct Fault {
    std::string name; ///< Of the bad file or folder under tests/data.
    std::string file; ///< Of the problem, under that folder; empty for a sheet.
    std::string pointer, found, expected;
};

inline void PrintTo(const Fault& fault, std::ostream* out)
{
    *out << fault.name;
}

inline std::vector<Problem> problemsOf(const std::function<void()>& read)
{
    try {
        read();
    } catch (const BadInput& bad) {
        return bad.problems();
    }
    ADD_FAILURE() << "read without a problem";
    return {};
}

inline void expectProblem(const Problem& problem, const std::string& file, const Fault& fault)
{
    EXPECT_EQ(problem.file, file);
    EXPECT_EQ(problem.pointer, fault.pointer);
    EXPECT_EQ(problem.found, fault.found);
    EXPECT_THAT(problem.expected, testing::HasSubstr(fault.expected));
}

/// One entry as the shelf files hold it, entries it names written inline.
template <class Entry> nlohmann::json entryToJson(Entry entry)
{
    EntryWriter keys;
    keysOf(keys, entry);
    return keys.object();
}

inline Shelf shippedShelf()
{
    const std::filesystem::path folder = SHELF_DIR;
    return readShelf({&folder, 1});
}

inline std::string testNameOf(const testing::TestParamInfo<Fault>& info)
{
    std::string name = info.param.name;
    for (char& c : name)
        c = c == '-' || c == '.' ? '_' : c;
    return name;
}

} // namespace stripwright
