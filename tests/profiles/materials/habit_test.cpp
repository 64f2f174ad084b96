#include "expect_problem.h"
#include "materials/entry_keys.h"

namespace stripwright {
namespace {

using nlohmann::json;
using testing::ElementsAre;
using testing::HasSubstr;

template <class Entry> Entry readBack(const json& value)
{
    const Shelf nothingKnown;
    std::vector<Problem> problems;
    Entry entry = readEntry<Entry>(value, "a file", "", {nothingKnown}, problems);
    EXPECT_TRUE(problems.empty()) << BadInput(problems).what();
    return entry;
}

template <class Entry> std::vector<std::string> problemsIn(const json& value)
{
    const Shelf nothingKnown;
    std::vector<Problem> problems;
    readEntry<Entry>(value, "a file", "", {nothingKnown}, problems);
    std::vector<std::string> texts;
    for (const Problem& problem : problems)
        texts.push_back(problem.text());
    return texts;
}

json lens()
{
    Lens lens = *findById(shippedShelf().lenses, "lens-pmma-15");
    lens.habit = {};
    return entryToJson(lens);
}

TEST(Habit, OfAnEntryIsOfAllItsValuesOrOfThoseItNames)
{
    json value = lens();
    EXPECT_FALSE(readBack<Lens>(value).habit.any());
    value["habit"] = {"foot_max_C", "mass_g"};
    const Habit some = readBack<Lens>(value).habit;
    EXPECT_TRUE(some.of("foot_max_C") && some.of("mass_g"));
    EXPECT_FALSE(some.of("body_max_C") || some.whole);
    EXPECT_EQ(entryToJson(readBack<Lens>(value)), value);
    value["habit"] = true;
    EXPECT_TRUE(readBack<Lens>(value).habit.of("body_max_C"));
    EXPECT_EQ(entryToJson(readBack<Lens>(value)), value);
    value["habit"] = false;
    EXPECT_FALSE(readBack<Lens>(value).habit.of("foot_max_C"));
}

TEST(Habit, OfAPartIsMarkedInThePart)
{
    json value = entryToJson(*findById(shippedShelf().strips, "growbar-300-10"));
    value["dielectric"]["habit"] = {"max_C"};
    StripType strip = readBack<StripType>(value);
    EXPECT_TRUE(dielectricCapIsHabit(strip));
    EXPECT_FALSE(strip.dielectric.habit.of("thickness_um"));
    strip.dielectric.habit = {};
    EXPECT_FALSE(dielectricCapIsHabit(strip));
    strip.habit.whole = true;
    EXPECT_TRUE(dielectricCapIsHabit(strip));
    value["habit"] = {"dielectric"};
    EXPECT_THAT(problemsIn<StripType>(value), ElementsAre(HasSubstr("parts and windows mark their own")));
}

TEST(Habit, OfPitchedSitesIsOfTheSitesHoweverTheyAreWritten)
{
    const StripType strip = *findById(shippedShelf().strips, "growbar-420-12");
    EXPECT_TRUE(strip.habit.of("site_x_mm"));
    EXPECT_FALSE(strip.habit.of("pitch_mm"));
}

TEST(Habit, NamesEachStatedValueOnce)
{
    json value = lens();
    value["habit"] = {"foot_max_C", "foot_max_C"};
    EXPECT_THAT(problemsIn<Lens>(value), ElementsAre(HasSubstr("/habit/1: found \"foot_max_C\"")));
    value["habit"] = {"foot_mox_C", 3, "source"};
    EXPECT_THAT(
        problemsIn<Lens>(value),
        ElementsAre(HasSubstr("/habit/0: found \"foot_mox_C\", expected each value of this object that "
                              "is habit once by its key, one of body_max_C, "),
                    HasSubstr("/habit/1: found 3"), HasSubstr("/habit/2: found \"source\"")));
    value["habit"] = "foot_max_C";
    EXPECT_THAT(problemsIn<Lens>(value),
                ElementsAre(HasSubstr("/habit: found \"foot_max_C\", expected true")));
}

TEST(Habit, OfAWindowMayBeOfBothItsSidesAtOnce)
{
    json value = entryToJson(shippedShelf().pastes[0]);
    value["peak_C"]["habit"] = true;
    const Paste paste = readBack<Paste>(value);
    EXPECT_TRUE(paste.peakC.minIsHabit && paste.peakC.maxIsHabit);
    EXPECT_EQ(entryToJson(paste)["peak_C"]["habit"], json({"min", "max"}));
}

} // namespace
} // namespace stripwright
