#include "commands/hot_plate_words.h"

#include "demo_sheet.h"

#include <gmock/gmock.h>

using namespace stripwright;
using testing::AllOf;
using testing::HasSubstr;
using testing::Not;

namespace {

// The old joints of bar 7 melt at 140 °C, with no pasty range, and are solid 20 K below.
std::optional<HeatPlan> swapPlan()
{
    HeatPlan plan;
    plan.sheet = test::shippedSheet("marram-lane-bar-7.bench.json");
    plan.sheet.oldAlloy->solidusC = plan.sheet.oldAlloy->liquidusC = plan.sheet.oldAlloy->movableAboveC = 140;
    return plan;
}

std::string wordsAt(const std::optional<HeatPlan>& plan, std::optional<double> plateC,
                    std::optional<double> jointC, StripPlace strip = StripPlace::OnPlate)
{
    return hotPlateWords(plan, {.sensorC = plateC, .strip = strip}, Sample{.jointHighC = jointC});
}

} // namespace

TEST(HotPlateWords, WhileSolderMayBeLiquidTheStripIsLeftWhereItLies)
{
    EXPECT_THAT(wordsAt(swapPlan(), 100, 121),
                AllOf(HasSubstr("Plate 100 °C, joint up to 121 °C est."), HasSubstr("HOT"),
                      HasSubstr("until the joints are below 120 °C"), HasSubstr("do not lift or knock it"),
                      HasSubstr("set no LED down"), HasSubstr("below 45 °C on both")));
    EXPECT_THAT(wordsAt(swapPlan(), 100, 119),
                AllOf(Not(HasSubstr("liquid")), HasSubstr("HOT"), HasSubstr("Leave the strip on the plate")));
}

TEST(HotPlateWords, OfTwoSoldersTheOneThatMeltsLowerCounts)
{
    HeatPlan plan;
    plan.sheet = test::shippedSheet("marram-lane-bar-3-sac305.bench.json");
    plan.sheet.heat = HeatKind::Swap;
    plan.sheet.way = SwapWay::TinnedLed;
    plan.sheet.paste = *findById(test::shippedShelf().pastes, "sn42bi58-no-clean");
    EXPECT_THAT(wordsAt(plan, 150, 150), HasSubstr("Solder may be liquid"));
    EXPECT_THAT(wordsAt(plan, 115, 115), Not(HasSubstr("liquid")));
    std::swap(plan.sheet.paste.alloy, *plan.sheet.oldAlloy); // the LEDs that stay are on the lower one
    plan.sheet.heat = HeatKind::Fit;
    plan.sheet.way = SwapWay::SolderLeft;
    EXPECT_THAT(wordsAt(plan, 150, 150), HasSubstr("Solder may be liquid"));
}

TEST(HotPlateWords, ALiftedStripIsNotSaidToLieOnThePlate)
{
    EXPECT_THAT(wordsAt(swapPlan(), 150, 150, StripPlace::Lifted),
                AllOf(HasSubstr("hold the strip still"), Not(HasSubstr("do not lift"))));
    EXPECT_THAT(wordsAt(swapPlan(), 100, 90, StripPlace::Lifted), Not(HasSubstr("on the plate")));
}

TEST(HotPlateWords, NothingKnownCountsAsHotAndLiquid)
{
    EXPECT_THAT(wordsAt(swapPlan(), {}, {}),
                AllOf(HasSubstr("temperature unknown"), HasSubstr("HOT"), HasSubstr("may be liquid")));
    EXPECT_THAT(hotPlateWords({}, {}, {}), AllOf(HasSubstr("HOT"), HasSubstr("may be liquid")));
    EXPECT_THAT(wordsAt({}, 119, {}), HasSubstr("may be liquid")) << "138 °C is the lowest old liquidus";
    EXPECT_THAT(wordsAt({}, 117, {}), Not(HasSubstr("may be liquid")));
}

TEST(HotPlateWords, OfACoolPlateNobodyIsWarnedAndNothingIsPromised)
{
    EXPECT_THAT(wordsAt(swapPlan(), 44, 44), AllOf(Not(HasSubstr("HOT")), HasSubstr("contact thermometer")));
    EXPECT_THAT(wordsAt(swapPlan(), 44, 46), HasSubstr("HOT"));
}

TEST(HotPlateWords, AHeatThatMeltsNoJointSpeaksOfNoSolder)
{
    auto plan = swapPlan();
    plan->sheet.heat = HeatKind::Bake;
    EXPECT_THAT(wordsAt(plan, 110, {}), AllOf(HasSubstr("HOT"), Not(HasSubstr("older"))));
}
