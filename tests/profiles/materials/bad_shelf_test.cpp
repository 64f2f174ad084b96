#include "expect_problem.h"

namespace stripwright {
namespace {

namespace fs = std::filesystem;

fs::path badFolder(const std::string& name)
{
    return fs::path(TEST_DATA_DIR) / "shelf" / name;
}

std::vector<Problem> problemsWith(const std::string& name)
{
    const std::vector<fs::path> folders = {SHELF_DIR, badFolder(name)};
    return problemsOf([&] { readShelf(folders); });
}

class BadShelf : public testing::TestWithParam<Fault> {};

TEST_P(BadShelf, IsReportedOnceAtItsPlace)
{
    const auto problems = problemsWith(GetParam().name);
    ASSERT_EQ(problems.size(), 1u) << BadInput(problems).what();
    expectProblem(problems[0], (badFolder(GetParam().name) / GetParam().file).string(), GetParam());
}

const Fault alloyFaults[] = {
    {"solidus-above-liquidus", "alloys.json", "/entries/0/solidus_C", "230.0", "at most liquidus_C, 220.0"},
    {"movable-above-solidus", "alloys.json", "/entries/0/movable_above_C", "218.0",
     "at most solidus_C, 217.0"},
    {"lead-not-stated", "alloys.json", "/entries/0/has_lead", "nothing", "true or false"},
    {"source-missing", "alloys.json", "/entries/0/source", "nothing", "a text"},
    {"id-with-space", "alloys.json", "/entries/0/id", "\"sac 305\"", "letters, digits"},
    {"id-reserved", "alloys.json", "/entries/0/id", "\"unknown\"", "not \"unknown\""},
    {"solidus-is-text", "alloys.json", "/entries/0/solidus_C", "\"217\"", "a number from 40.0 to 500.0"},
    {"unknown-key", "alloys.json", "/entries/0/sold_by", "an unknown key", "solidus_C"},
    {"id-twice", "alloys.json", "/entries/1/id", "\"sac305\"", "an id that no entry before it has"},
    {"other-format", "alloys.json", "/format", "\"stripwright-pastes\"", "\"stripwright-alloys\""},
    {"later-version", "alloys.json", "/version", "2", "1;"},
    {"entries-not-array", "alloys.json", "/entries", "{}", "an array"},
    {"shares-sum-to-0.97", "alloys.json", "/entries/0/composition/tin_share", "shares that sum to 0.97",
     "sum to 1, within 0.02"},
    {"lead-share-without-lead", "alloys.json", "/entries/0/has_lead", "false", "composition/lead_share"},
    {"bismuth-share-without-bismuth", "alloys.json", "/entries/0/has_bismuth", "false",
     "composition/bismuth_share"},
    {"unknown-key-of-file", "alloys.json", "/note", "an unknown key", "one of entries, format, version"},
};
INSTANTIATE_TEST_SUITE_P(Alloys, BadShelf, testing::ValuesIn(alloyFaults), testNameOf);

const Fault pasteFaults[] = {
    {"unknown-alloy", "pastes.json", "/entries/0/alloy", "an unknown alloy, \"sac350\"",
     "one of sac305, sn99.3cu0.7, sn63pb37, sn62pb36ag2, sn42bi58, sn42bi57.6ag0.4"},
    {"alloy-is-number", "pastes.json", "/entries/0/alloy", "305", "the id of a shelf entry (alloy)"},
    {"window-min-above-max", "pastes.json", "/entries/0/above_liquidus_s/min", "91.0", "at most max, 90.0"},
    {"window-habit-of-no-side", "pastes.json", "/entries/0/ramp_C_per_s/habit/0", "\"min\"", "one of max;"},
    {"peak-below-liquidus", "pastes.json", "/entries/0/peak_C/min", "210.0", "above the liquidus, 217.0"},
    {"ramp-not-stated", "pastes.json", "/entries/0/ramp_C_per_s", "nothing", "an object with min, max"},
    {"peak-without-max", "pastes.json", "/entries/0/peak_C/max", "nothing", "must be stated"},
    {"soak-without-band", "pastes.json", "/entries/0/soak_band_C", "nothing", "both min and max"},
    {"soak-band-half-open", "pastes.json", "/entries/0/soak_band_C", "one side", "both min and max"},
};
INSTANTIATE_TEST_SUITE_P(Pastes, BadShelf, testing::ValuesIn(pasteFaults), testNameOf);

const Fault boardFaults[] = {
    {"led-without-height", "leds.json", "/entries/0/height_mm", "0", "a number from 0.1 to 20.0"},
    {"moisture-level-7", "leds.json", "/entries/0/moisture_level", "\"7\"", "one of 1, 2, 2a, 3"},
    {"feet-outside-lens", "lenses.json", "/entries/0/foot_circle_mm", "14.0", "feet under the lens"},
    {"glue-releases-below-its-hold", "glues.json", "/entries/0/release_low_C", "60.0",
     "at least hold_C, 80.0"},
    {"glue-release-high-missing", "glues.json", "/entries/0/release_high_C", "nothing", "a number from 40.0"},
    {"glue-release-high-below-low", "glues.json", "/entries/0/release_high_C", "90.0",
     "at least release_low_C, 100.0"},
    {"site-past-end", "strips.json", "/entries/0/site_x_mm/2", "site 3 at 421.0 mm",
     "inside length_mm, 420.0"},
    {"sites-not-rising", "strips.json", "/entries/0/site_x_mm/2", "site 3 at 60.0 mm", "rising order"},
    {"site-is-text", "strips.json", "/entries/0/site_x_mm/1", "\"80\"", "a number above 0.0"},
    {"pitched-sites-past-end", "strips.json", "/entries/0/site_count", "site 13 at 437.5 mm",
     "inside length_mm"},
    {"too-many-sites", "strips.json", "/entries/0/site_count", "401", "a whole number from 1 to 400"},
    {"no-sites", "strips.json", "/entries/0/site_x_mm", "nothing", "first_site_mm, pitch_mm and site_count"},
    {"empty-sites", "strips.json", "/entries/0/site_x_mm", "0 sites", "an array of 1 to 400 numbers"},
    {"strip-too-long", "strips.json", "/entries/0/length_mm", "6000", "a number from 10.0 to 5000.0"},
    {"lens-without-glue", "strips.json", "/entries/0/glue", "nothing", "the glue that holds the lens"},
    {"glue-without-lens", "strips.json", "/entries/0/lens", "nothing", "the lens that the glue holds"},
    {"lens-feet-wider-than-strip", "strips.json", "/entries/0/lens", "\"lens-cop-24\"",
     "need a strip of 21 mm (18.59 mm at the best rotation); this one is 12 mm wide."},
    {"lens-feet-on-led", "strips.json", "/entries/0/lens", "\"lens-pmma-15\"", "need a circle of 10.12 mm."},
    {"lens-past-the-end", "strips.json", "/entries/0/lens", "\"lens-pmma-15\"", "at site 1, 3 mm from"},
    {"core-without-thickness", "strips.json", "/entries/0/core/thickness_mm", "0",
     "a number from 0.2 to 10.0"},
    {"core-slope-falls", "strips.json", "/entries/0/core/heat_capacity_slope_J_per_kgK2", "-0.43",
     "a number from 0.0 to 2.0"},
    {"pad-wider-than-strip", "strips.json", "/entries/0/led", "\"2835\"", "width_mm, 2.0"},
};
INSTANTIATE_TEST_SUITE_P(Boards, BadShelf, testing::ValuesIn(boardFaults), testNameOf);

const Fault benchFaults[] = {
    {"plate-without-loss", "plates.json", "/entries/0/loss_W_per_K", "0", "a number from 0.001 to 100.0"},
    {"low-contact-above-nominal", "contacts.json", "/entries/0/low_W_per_m2K", "90.0", "at most nominal"},
    {"high-contact-below-nominal", "contacts.json", "/entries/0/high_W_per_m2K", "60.0", "at least nominal"},
    {"segment-ends-before-start", "contacts.json", "/entries/0/segments/0/end_mm", "40.0",
     "more than start_mm, 50.0"},
    {"segments-overlap", "contacts.json", "/entries/0/segments/1/start_mm", "30.0", "segment before, 40.0"},
    {"block-without-length", "sink-blocks.json", "/entries/0/length_mm", "0", "a number from 1.0 to 500.0"},
};
INSTANTIATE_TEST_SUITE_P(Bench, BadShelf, testing::ValuesIn(benchFaults), testNameOf);

TEST(BadShelf, ListingSitesAndPitchingThemAtOnceIsReportedForEachPitchKey)
{
    const auto problems = problemsWith("sites-listed-and-pitched");
    std::vector<std::string> pointers;
    for (const Problem& problem : problems)
        pointers.push_back(problem.pointer);
    EXPECT_THAT(pointers, testing::UnorderedElementsAre("/entries/0/first_site_mm", "/entries/0/pitch_mm",
                                                        "/entries/0/site_count"));
}

TEST(BadShelf, IsNotOneWhoseGluesHaveOneEndEachAsInEarlierFiles)
{
    const std::vector<fs::path> folders = {SHELF_DIR, badFolder("glue-of-earlier-keys")};
    const Shelf shelf = readShelf(folders);
    const Glue* glue = findById(shelf.glues, "cyanoacrylate");
    ASSERT_TRUE(glue);
    EXPECT_EQ(glue->holdC, 82);
    EXPECT_EQ(glue->releaseLowC, 100);
    EXPECT_EQ(glue->releaseHighC, 100);
}

TEST(BadShelf, NamesTheLineWhereAFileEndsTooEarly)
{
    const auto problems = problemsWith("not-json");
    // One broken file is one problem: pastes that name its alloys are not blamed for it.
    ASSERT_EQ(problems.size(), 1u) << BadInput(problems).what();
    EXPECT_THAT(problems[0].pointer, testing::HasSubstr("line 2"));
}

TEST(BadShelf, ThreeFaultsInTwoFilesAreThreeProblems)
{
    const auto problems = problemsWith("three-faults-in-two-files");
    std::vector<std::string> places;
    for (const Problem& problem : problems)
        places.push_back(fs::path(problem.file).filename().string() + problem.pointer);
    EXPECT_THAT(places, testing::UnorderedElementsAre("alloys.json/entries/0/solidus_C",
                                                      "alloys.json/entries/0/sold_by",
                                                      "pastes.json/entries/0/peak_C"));
}

TEST(BadShelf, FirstFolderMustHoldEveryFile)
{
    const fs::path folder = badFolder("unknown-alloy");
    const auto problems = problemsOf([&] { readShelf({&folder, 1}); });
    std::vector<std::string> missing;
    for (const Problem& problem : problems)
        missing.push_back(fs::path(problem.file).filename().string());
    // Nine files are not there; the one that is names an alloy of a file that could not be read.
    EXPECT_THAT(missing, testing::UnorderedElementsAre("alloys.json", "leds.json", "lenses.json",
                                                       "glues.json", "core-alloys.json", "strips.json",
                                                       "plates.json", "contacts.json", "sink-blocks.json"));
}

} // namespace
} // namespace stripwright
