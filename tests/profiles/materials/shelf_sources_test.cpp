#include "expect_problem.h"
#include "materials/json_fields.h"

#include <nlohmann/json.hpp>
#include <regex>

namespace stripwright {
namespace {

using nlohmann::json;

// A source is clauses parted by "; ". A clause on values that no source states names them by their keys,
// those of parts and sides of windows by a path, and says "trade habit" or "own estimate" right after:
// "mass_g, dielectric/max_C: own estimate: ...". Where the entry is habit as a whole no keys are named. Every
// other clause says what document it is and its date, or that it has none.
const char* const shelfFiles[] = {"alloys",      "pastes", "leds",   "lenses",   "glues",
                                  "core-alloys", "strips", "plates", "contacts", "sink-blocks"};

bool saysHabit(const std::string& clause)
{
    return std::regex_search(clause, std::regex("habit|own estimate|trade rule", std::regex::icase));
}

std::vector<std::string> parted(const std::string& text, const std::string& by)
{
    std::vector<std::string> pieces;
    size_t from = 0;
    for (size_t at; (at = text.find(by, from)) != std::string::npos; from = at + by.size())
        pieces.push_back(text.substr(from, at - from));
    pieces.push_back(text.substr(from));
    return pieces;
}

std::set<std::string> marked(const json& object, const std::string& path = "")
{
    std::set<std::string> found;
    for (const auto& [key, value] : object.items())
        if (value.is_object())
            found.merge(marked(value, path + key + "/"));
        else if (key == "habit" && value.is_array())
            for (const json& each : value)
                found.insert(path + each.get<std::string>());
    return found;
}

/// Values that the source calls habit; "" where it names none.
std::set<std::string> called(const std::string& source)
{
    std::set<std::string> found;
    for (const std::string& clause : parted(source, "; ")) {
        if (!saysHabit(clause))
            continue;
        std::smatch match;
        if (std::regex_match(clause, match, std::regex("([A-Za-z0-9_/, ]+): (trade habit|own estimate).*")))
            for (const std::string& key : parted(match[1], ", "))
                found.insert(key);
        else
            found.insert("");
    }
    return found;
}

void forEachShipped(const std::function<void(const json& entry, const std::string& name)>& look)
{
    for (const std::string file : shelfFiles) {
        const json document = json::parse(readTextFile(SHELF_DIR "/" + file + ".json"));
        for (const json& entry : document.at("entries"))
            look(entry, file + " " + entry.at("id").get<std::string>());
    }
}

TEST(ShelfSources, CallHabitTheValuesThatAreMarkedSoAndNoOthers)
{
    size_t count = 0;
    forEachShipped([&](const json& entry, const std::string& name) {
        const std::string source = entry.at("source");
        if (entry.value("habit", json()) == true) {
            EXPECT_TRUE(source.starts_with("trade habit") || source.starts_with("own estimate")) << name;
            return;
        }
        EXPECT_EQ(marked(entry), called(source)) << name;
        count += marked(entry).size();
    });
    EXPECT_GT(count, 200u);
}

TEST(ShelfSources, SayWhatDocumentAndWhen)
{
    const std::regex dated("(19|20)[0-9][0-9]|undated|not looked up|by definition|own calculation");
    size_t count = 0;
    forEachShipped([&](const json& entry, const std::string& name) {
        for (const std::string& clause : parted(entry.at("source"), "; "))
            if (!saysHabit(clause) && entry.value("habit", json()) != true) {
                EXPECT_TRUE(std::regex_search(clause, dated)) << name << ": " << clause;
                ++count;
            }
    });
    EXPECT_GT(count, 50u);
}

} // namespace
} // namespace stripwright
