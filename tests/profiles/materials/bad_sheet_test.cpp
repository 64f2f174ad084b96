#include "expect_problem.h"
#include "materials/json_fields.h"

namespace stripwright {
namespace {

std::vector<Problem> problemsInSheet(const std::string& name)
{
    const std::string path = std::string(TEST_DATA_DIR) + "/sheets/" + name + ".bench.json";
    return problemsOf([&] { readBenchSheet(readTextFile(path), name, shippedShelf()); });
}

class BadSheet : public testing::TestWithParam<Fault> {};

TEST_P(BadSheet, IsReportedOnceAtItsPlace)
{
    const auto problems = problemsInSheet(GetParam().name);
    ASSERT_EQ(problems.size(), 1u) << BadInput(problems).what();
    expectProblem(problems[0], GetParam().name, GetParam());
}

const Fault faults[] = {
    {"unknown-paste", "", "/paste", "an unknown paste, \"sn42bi57\"", "sn42bi57.6ag0.4-no-clean"},
    {"old-alloy-missing", "", "/old_alloy", "nothing", "\"unknown\""},
    {"old-alloy-not-known", "", "/old_alloy", "an unknown alloy, \"unkown\"", "sac305"},
    {"site-13-of-12", "", "/sites/0/site", "13", "a site of the strip, 1 to 12"},
    {"site-twice", "", "/sites/1/site", "6", "each site once"},
    {"plate-off-the-strip", "", "/placement/plate_start_mm", "419.5", "from -59.0 to 419.0"},
    {"plate-before-the-strip", "", "/placement/plate_start_mm", "-59.5", "at least 1 mm"},
    {"block-on-plate", "", "/sink_blocks/0/start_mm", "150.0",
     "beside the plate, which lies from 162.5 to 222.5"},
    {"block-past-end", "", "/sink_blocks/0/start_mm", "401.0", "at most 400.0"},
    {"blocks-overlap", "", "/sink_blocks/1/start_mm", "39.0", "from 20.0 to 40.0 mm"},
    {"ambient-90", "", "/air/ambient_C", "90", "a number from -20.0 to 60.0"},
    {"film-zero", "", "/air/film_top_W_per_m2K", "0", "a number from 0.5 to 500.0"},
    {"fan-without-figure", "", "/cooling/fan", "true", "no fan_loss_W_per_K"},
    {"segment-past-end", "", "/contact/segments/0/end_mm", "430.0", "at most 420.0"},
    {"misspelt-key", "", "/cooling/lift_bellow_C", "an unknown key",
     "one of accepts_moving_molten, fan, lift_below_C"},
    {"heat-not-known", "", "/heat", "\"swop\"", "one of swap, fit, remove, release, bake"},
    {"lens-state-not-known", "", "/sites/0/lens", "\"loose\"", "one of on, off, release"},
    {"release-without-lenses", "", "/sites/0/lens", "\"release\"", "this strip type has no lenses"},
    {"bake-at-100", "", "/bake/temperature_C", "100.0", "125, 90 or 40"},
    {"bake-before-its-floor-life", "", "/bake/over_floor_life_h", "-1", "a number from 0"},
    {"strip-sensor-at-a-good-site", "", "/strip_sensor_site", "7", "about: 6"},
    {"state-not-known", "", "/sites/0/state", "\"dead\"", "one of good, replace"},
    {"seat-not-known", "", "/service/seat", "\"in_a_tube\"", "one of in_air, on_metal, in_closed_profile"},
    {"other-format", "", "/format", "\"stripwright-heat-plan\"", "\"stripwright-bench-sheet\""},
    {"later-version", "", "/version", "2", "1;"},
    {"title-missing", "", "/title", "nothing", "a text"},
    {"core-thickness-zero", "", "/strip/core/thickness_mm", "0", "a number from 0.2 to 10.0"},
    {"core-thickness-negative", "", "/strip/core/thickness_mm", "-1", "a number from 0.2 to 10.0"},
    {"site-off-the-strip", "", "/strip/site_x_mm/11", "site 12 at 435.0 mm", "inside length_mm, 420.0"},
    {"site-over-the-end", "", "/strip/site_x_mm/0", "site 1 at 0.5 mm",
     "clear of each other and of the ends"},
    {"sites-overlap", "", "/strip/site_x_mm/1", "site 2 at 18.5 mm", "LED and pad are 3.5 mm long"},
    {"site-count-10000", "", "/strip/site_count", "10000", "a whole number from 1 to 400"},
    {"plate-start-nan-text", "", "/placement/plate_start_mm", "\"NaN\"", "a number from -5000.0 to 5000.0"},
    {"ambient-null", "", "/air/ambient_C", "null", "a number from -20.0 to 60.0"},
    {"key-twice", "", "/sites/1/lens", "the key a second time", "each key once"},
    {"inline-alloy-solidus-above-liquidus", "", "/old_alloy/solidus_C", "230.0", "at most liquidus_C, 220.0"},
};
INSTANTIATE_TEST_SUITE_P(Faults, BadSheet, testing::ValuesIn(faults), testNameOf);

TEST(BadSheet, ThreeFaultsAreThreeProblems)
{
    const auto problems = problemsInSheet("three-faults");
    std::vector<std::string> pointers;
    for (const Problem& problem : problems)
        pointers.push_back(problem.pointer);
    EXPECT_THAT(pointers, testing::ElementsAre("/paste", "/sites/1/site", "/plase"));
}

TEST(BadSheet, PointersStartWhereTheSheetStandsInALargerDocument)
{
    const Shelf shelf = shippedShelf();
    auto value =
        nlohmann::json::parse(readTextFile(std::string(TEST_DATA_DIR) + "/sheets/site-13-of-12.bench.json"));
    const auto problems = problemsOf([&] { readBenchSheet(value, "a.plan.json", "/sheet", shelf); });
    ASSERT_EQ(problems.size(), 1u);
    EXPECT_EQ(problems[0].pointer, "/sheet/sites/0/site");
    EXPECT_EQ(problems[0].file, "a.plan.json");
}

TEST(BadSheet, AnUnreadableTextIsOneProblem)
{
    for (const auto& [name, place, found] :
         {std::tuple{"not-json", "line 2", "the end of the file"},
          std::tuple{"ambient-nan", "line 13", "as a value"},
          std::tuple{"ambient-1e999", "line 13", "the number 1e999"},
          std::tuple{"empty", "", "an empty file"}, std::tuple{"title-not-utf-8", "line 4", "no UTF-8"}}) {
        const auto problems = problemsInSheet(name);
        ASSERT_EQ(problems.size(), 1u) << name;
        EXPECT_THAT(problems[0].pointer, testing::StartsWith(place));
        EXPECT_THAT(problems[0].found, testing::HasSubstr(found));
    }
}

TEST(BadSheet, AReversedContactRangeIsSaidAtBothEnds)
{
    const auto problems = problemsInSheet("contact-range-reversed");
    ASSERT_EQ(problems.size(), 2u);
    EXPECT_EQ(problems[0].text(), "contact-range-reversed: /contact/low_W_per_m2K: found 3000.0, expected at "
                                  "most nominal_W_per_m2K, 1500.0");
    EXPECT_EQ(problems[1].pointer, "/contact/high_W_per_m2K");
}

TEST(BadSheet, EndlessNestingIsRefusedBeforeItIsBuilt)
{
    const std::string text = "{\"title\": " + std::string(4'000'000, '[');
    const auto problems = problemsOf([&] { readBenchSheet(text, "deep", Shelf{}); });
    ASSERT_EQ(problems.size(), 1u);
    EXPECT_EQ(problems[0].found, "brackets nested deeper than 64");
}

TEST(BadSheet, ANumberTooLargeForADoubleIsRefused)
{
    const auto problems = problemsOf([&] { readBenchSheet("{\"version\": 1e999}", "huge", Shelf{}); });
    ASSERT_EQ(problems.size(), 1u);
    EXPECT_EQ(problems[0].found, "the number 1e999");
}

} // namespace
} // namespace stripwright
