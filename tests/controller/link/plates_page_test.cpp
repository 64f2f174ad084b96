#include "link/plate_link.h"
#include "materials/json_fields.h"

#include <filesystem>
#include <gtest/gtest.h>
#include <set>
#include <sstream>

using namespace stripwright;
using nlohmann::json;
using Keys = std::set<std::string>;

static const char* const pageFile = TESTS_DIR "/../app/help/plates.md";

static std::vector<std::string> linesOf(const std::string& file)
{
    std::istringstream text(readTextFile(file));
    std::vector<std::string> lines;
    for (std::string line; std::getline(text, line);)
        lines.push_back(line);
    return lines;
}

/// What stands between a line that is `from` and the next that is `to`, as often as there are such.
static std::vector<std::string> blocks(const std::string& from, const std::string& to)
{
    std::vector<std::string> found;
    bool inside = false;
    for (const std::string& line : linesOf(pageFile)) {
        if (!inside && line == from)
            found.emplace_back();
        else if (inside && line != to)
            found.back() += line + "\n";
        inside = inside ? line != to : line == from;
    }
    return found;
}

/// First cells of the rows of every table whose first column is headed `title`.
static std::vector<std::string> firstCells(const std::string& title)
{
    std::vector<std::string> cells;
    bool inside = false;
    for (const std::string& line : linesOf(pageFile)) {
        const std::string cell =
            line.starts_with("| ") ? line.substr(2, line.find(" |", 2) - 2) : std::string();
        if (inside && !cell.empty() && !cell.starts_with("---"))
            cells.push_back(cell);
        inside = (inside && !cell.empty()) || cell == title;
    }
    return cells;
}

/// The keys that the reader knows of one object in the document: it names them when it finds one that it
/// does not know. None: it takes what stands there for no object.
static Keys knownKeys(json document, const std::string& pointer)
{
    document[json::json_pointer(pointer)]["?"] = 0;
    try {
        readPlateLink(document.dump(), "page");
    } catch (const BadInput& bad) {
        for (const Problem& problem : bad.problems()) {
            const std::string list = "one of ";
            if (problem.pointer != pointer + "/?" || !problem.expected.starts_with(list))
                continue;
            Keys keys;
            std::istringstream rest(problem.expected.substr(list.size()));
            for (std::string key; rest >> key;)
                keys.insert(key.substr(0, key.find(',')));
            return keys;
        }
    }
    return {};
}

/// Every key that the reader asks for anywhere, by its path without places in lists; what every register may
/// have stands once, behind "...".
static void explore(const json& document, const std::string& pointer, const std::string& path,
                    const Keys& ofRegisters, Keys& all)
{
    const Keys keys = knownKeys(document, pointer);
    for (const std::string& key : keys) {
        const bool common = keys.contains("document_number") && ofRegisters.contains(key);
        all.insert((common ? ".../" : path) + key);
        for (const bool inList : {false, true}) {
            const std::string below = pointer + "/" + key + (inList ? "/0" : "");
            json tried = document;
            tried[json::json_pointer(pointer + "/" + key)] =
                inList ? json::array({json::object()}) : json::object();
            if (!knownKeys(tried, below).empty())
                explore(tried, below, path + key + "/", ofRegisters, all);
        }
    }
}

static Keys everyKeyOfTheReader()
{
    json bare = {{"format", "stripwright-plate-link"}, {"version", 1}};
    bare["registers"]["sensor_C"] = json::object();
    Keys all;
    explore(bare, "", "", knownKeys(bare, "/registers/sensor_C"), all);
    return all;
}

TEST(PlatesPage, ItsFilesReadWithoutAProblem)
{
    const std::vector<std::string> files = blocks("```json", "```");
    EXPECT_GE(files.size(), 4u);
    for (const std::string& file : files)
        EXPECT_NO_THROW(readPlateLink(file, "a block of plates.md")) << file;
}

TEST(PlatesPage, NamesEveryKeyOfTheReaderAndNoOther)
{
    Keys named;
    for (const std::string& cell : firstCells("key")) {
        ASSERT_TRUE(cell.size() > 2 && cell.front() == '`' && cell.back() == '`') << cell;
        EXPECT_TRUE(named.insert(cell.substr(1, cell.size() - 2)).second) << cell << " stands there twice";
    }
    const Keys known = everyKeyOfTheReader();
    EXPECT_TRUE(known.contains("identified/own_loop/gain_per_K")); // three deep, and in no file of the page
    for (const std::string& key : known)
        EXPECT_TRUE(named.contains(key)) << "the page lacks " << key;
    for (const std::string& key : named)
        EXPECT_TRUE(known.contains(key)) << "the reader does not know " << key;
}

// What the programs say, in one line without its breaks: as it stands in their sources.
static std::string everyTextOfTheController()
{
    std::string all;
    for (const auto& entry : std::filesystem::recursive_directory_iterator(TESTS_DIR "/../controller")) {
        if (entry.path().extension() != ".cpp")
            continue;
        const std::string source = readTextFile(entry.path());
        bool quoted = false;
        for (size_t i = 0; i < source.size(); ++i) {
            if (source.compare(i, 3, "'\"'") == 0)
                i += 2;
            else if (source[i] == '\\' && quoted)
                all += source[++i];
            else if (source[i] == '"')
                quoted = !quoted;
            else if (quoted)
                all += source[i];
            else if (source[i] == '/' && source.compare(i, 2, "//") == 0)
                i = source.find('\n', i);
            else if (source[i] != ' ' && source[i] != '\n')
                all += '\x01'; // not one literal cut over lines
        }
    }
    return all;
}

static std::vector<std::string> partsBetweenFigures(const std::string& cell)
{
    const std::string gap = "…";
    std::vector<std::string> parts;
    for (size_t from = 0, to = 0; from < cell.size(); from = to + gap.size()) {
        to = std::min(cell.find(gap, from), cell.size());
        const std::string part = cell.substr(from, to - from);
        if (const size_t first = part.find_first_not_of(' '); first != std::string::npos)
            parts.push_back(part.substr(first, part.find_last_not_of(' ') + 1 - first));
    }
    return parts;
}

TEST(PlatesPage, QuotesWhatTheProgramsSay)
{
    const std::string texts = everyTextOfTheController();
    const std::vector<std::string> cells = firstCells("what it says");
    EXPECT_GT(cells.size(), 40u);
    for (const std::string& cell : cells) {
        size_t longest = 0;
        for (const std::string& part : partsBetweenFigures(cell)) {
            longest = std::max(longest, part.size());
            EXPECT_TRUE(texts.find(part) != std::string::npos) << "nothing says: " << part;
        }
        EXPECT_GE(longest, 12u) << cell; // or anything says so
    }
}
