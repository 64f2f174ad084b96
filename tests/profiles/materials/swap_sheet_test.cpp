#include "expect_problem.h"

#include <nlohmann/json.hpp>

namespace stripwright {
namespace {

using nlohmann::json;
using testing::AllOf;
using testing::HasSubstr;

/// A swap of site 6 on a strip of 420 mm, plate from 162.5 to 222.5 mm, as a user writes it.
json swapSheet()
{
    return {{"format", "stripwright-bench-sheet"},
            {"version", 1},
            {"title", "swap"},
            {"heat", "swap"},
            {"paste", "sac305-no-clean"},
            {"old_alloy", "sac305"},
            {"strip", "growbar-420-12"},
            {"plate", "bench-plate-60"},
            {"contact", "clamped-flat"},
            {"placement", {{"plate_start_mm", 162.5}}},
            {"sites", {{{"site", 6}, {"state", "replace"}}}}};
}

BenchSheet read(const json& sheet)
{
    static const Shelf shelf = shippedShelf();
    return readBenchSheet(sheet.dump(), "swap", shelf);
}

Problem onlyProblemOf(const json& sheet)
{
    const std::vector<Problem> problems = problemsOf([&] { read(sheet); });
    EXPECT_EQ(problems.size(), 1u) << BadInput(problems).what();
    return problems.empty() ? Problem() : problems.front();
}

TEST(SwapSheet, SaysNothingOfWayOrHandsAndMeansSolderLeftAtTheUsualPace)
{
    const BenchSheet sheet = read(swapSheet());
    EXPECT_EQ(sheet.way, SwapWay::SolderLeft);
    EXPECT_EQ(sheet.hands, Hands{});
    EXPECT_EQ(sheet.hands.siteS, 15);
    EXPECT_FALSE(sheet.spareMm);
}

TEST(SwapSheet, EveryWayAndPaceReadsBack)
{
    static const Shelf shelf = shippedShelf();
    for (const SwapWay way : {SwapWay::SolderLeft, SwapWay::TinnedLed, SwapWay::WarmedLed,
                              SwapWay::ChargeLaidCold, SwapWay::TwoHeats})
        for (const Hands& hands :
             {handsOf(Hands::Pace::Usual), handsOf(Hands::Pace::Quick), handsOf(Hands::Pace::Careful),
              Hands{.pace = Hands::Pace::Measured, .firstS = 6.1, .liftS = 1.0 / 3, .siteS = 11.7}}) {
            BenchSheet sheet = read(swapSheet());
            sheet.way = way;
            sheet.hands = hands;
            if (hands.pace == Hands::Pace::Measured)
                sheet.hands.liftS = 4.0 / 3;
            if (way == SwapWay::WarmedLed)
                sheet.spareMm = 100.1;
            EXPECT_EQ(readBenchSheet(toJson(sheet).dump(), "inline", Shelf{}), sheet);
            EXPECT_EQ(readBenchSheet(toJsonById(sheet, shelf).dump(), "by id", shelf), sheet);
        }
}

TEST(SwapSheet, WordsMeanTheirWays)
{
    const std::pair<const char*, SwapWay> words[] = {{"solder-left", SwapWay::SolderLeft},
                                                     {"tinned-led", SwapWay::TinnedLed},
                                                     {"warmed-led", SwapWay::WarmedLed},
                                                     {"charge-laid-cold", SwapWay::ChargeLaidCold},
                                                     {"two-heats", SwapWay::TwoHeats}};
    for (const auto& [word, way] : words) {
        json sheet = swapSheet();
        sheet["way"] = word;
        EXPECT_EQ(read(sheet).way, way) << word;
    }
}

TEST(SwapSheet, PacesHaveTheirSeconds)
{
    json sheet = swapSheet();
    sheet["hands"] = {{"pace", "quick"}};
    EXPECT_EQ(read(sheet).hands, (Hands{Hands::Pace::Quick, 5, 3, 8}));
    sheet["hands"] = {{"pace", "careful"}};
    EXPECT_EQ(read(sheet).hands, (Hands{Hands::Pace::Careful, 5, 8, 25}));
    sheet["hands"] = {{"pace", "measured"}, {"first_s", 4}, {"lift_s", 2.5}, {"site_s", 9}};
    EXPECT_EQ(read(sheet).hands, (Hands{Hands::Pace::Measured, 4, 2.5, 9}));
}

TEST(SwapSheet, SiteMayWaitForAnotherHeat)
{
    json sheet = swapSheet();
    sheet["sites"].push_back({{"site", 7}, {"state", "later"}});
    const BenchSheet later = read(sheet);
    EXPECT_THAT(later.targets(), testing::ElementsAre(6));
    EXPECT_FALSE(later.lensStaysOn(7));
    EXPECT_EQ(readBenchSheet(toJson(later).dump(), "inline", Shelf{}), later);
}

TEST(BadSwapSheet, PasteOnAHotPadIsToldWhyNotAndWhatToDoInstead)
{
    for (const char* way : {"paste-on-hot-pad", "hot-paste", "paste"}) {
        json sheet = swapSheet();
        sheet["way"] = way;
        const Problem problem = onlyProblemOf(sheet);
        EXPECT_EQ(problem.pointer, "/way");
        EXPECT_EQ(problem.found, "\"" + std::string(way) + "\"");
        EXPECT_THAT(problem.expected,
                    AllOf(HasSubstr("solvents boil"), HasSubstr("spatter"), HasSubstr("\"two-heats\"")));
    }
}

TEST(BadSwapSheet, UnknownWayIsToldTheWays)
{
    json sheet = swapSheet();
    sheet["way"] = "by-magic";
    const Problem problem = onlyProblemOf(sheet);
    EXPECT_EQ(problem.pointer, "/way");
    EXPECT_THAT(problem.expected,
                HasSubstr("solder-left, tinned-led, warmed-led, charge-laid-cold, two-heats"));
}

TEST(BadSwapSheet, OnlyASwapHasAWay)
{
    for (const char* heat : {"fit", "remove", "release", "bake"}) {
        json sheet = swapSheet();
        sheet["heat"] = heat;
        sheet["way"] = "tinned-led";
        const Problem problem = onlyProblemOf(sheet);
        EXPECT_EQ(problem.pointer, "/way") << heat;
        EXPECT_THAT(problem.expected, HasSubstr("only a heat of kind \"swap\""));
        sheet.erase("way");
        EXPECT_NO_THROW(read(sheet)) << heat;
    }
}

TEST(BadSwapSheet, MeasuredHandsNeedEverySecondAndOthersHaveTheirOwn)
{
    json sheet = swapSheet();
    sheet["hands"] = {{"pace", "measured"}, {"first_s", 4}, {"lift_s", 2.5}};
    Problem problem = onlyProblemOf(sheet);
    EXPECT_EQ(problem.pointer, "/hands/site_s");
    EXPECT_EQ(problem.found, "nothing");
    sheet["hands"] = {{"pace", "quick"}, {"site_s", 6}};
    problem = onlyProblemOf(sheet);
    EXPECT_EQ(problem.pointer, "/hands/site_s");
    EXPECT_THAT(problem.found, HasSubstr("unknown key"));
    sheet["hands"] = {{"pace", "measured"}, {"first_s", 4}, {"lift_s", 2.5}, {"site_s", 0}};
    EXPECT_EQ(onlyProblemOf(sheet).pointer, "/hands/site_s");
    sheet["hands"] = {{"pace", "hasty"}};
    problem = onlyProblemOf(sheet);
    EXPECT_EQ(problem.pointer, "/hands/pace");
    EXPECT_THAT(problem.expected, HasSubstr("usual, quick, careful, measured"));
}

TEST(BadSwapSheet, SpareLiesOnTheStripOffThePlateAndOnlyToWarm)
{
    json sheet = swapSheet();
    sheet["way"] = "warmed-led";
    for (const double placeMm : {0.0, 152.5, 232.5, 420.0}) {
        sheet["spare_mm"] = placeMm;
        EXPECT_EQ(read(sheet).spareMm, placeMm);
    }
    for (const double placeMm : {152.6, 200.0, 232.4, 420.1}) {
        sheet["spare_mm"] = placeMm;
        const Problem problem = onlyProblemOf(sheet);
        EXPECT_EQ(problem.pointer, "/spare_mm") << placeMm;
        EXPECT_THAT(problem.expected,
                    HasSubstr("10 mm or more off the plate, which lies from 162.5 to 222.5 mm"));
    }
    sheet["spare_mm"] = 100;
    sheet["way"] = "solder-left";
    EXPECT_THAT(onlyProblemOf(sheet).expected, HasSubstr("only the way \"warmed-led\""));
    sheet.erase("way");
    EXPECT_EQ(onlyProblemOf(sheet).pointer, "/spare_mm");
}

TEST(BadSwapSheet, AnOverrideThatThereIsNotIsNoOverride)
{
    json sheet = swapSheet();
    sheet["overrides"] = {"bismuth-over-lead", "bismuth"};
    const Problem problem = onlyProblemOf(sheet);
    EXPECT_EQ(problem.pointer, "/overrides");
    EXPECT_THAT(problem.found, HasSubstr("bismuth"));
    EXPECT_THAT(problem.expected, AllOf(HasSubstr("lead-over-bismuth"), HasSubstr("lens-foot-softens")));
}

} // namespace
} // namespace stripwright
