#include "demo_sheet.h"
#include "rules/hands.h"
#include "rules/joint_solder.h"
#include "three_sites.h"

#include <gmock/gmock.h>

namespace stripwright {
namespace {

using test::askedOf;
using test::find;
using test::threeSites;
using testing::IsEmpty;
using testing::UnorderedElementsAre;
using Ids = std::set<std::string>;

const Ids ofEverySwap = {"old_alloy_melts", "old_alloy_melts_habit", "hands_fit",   "wetting",
                         "mean_cooling",    "set_down_step",         "liquid_total"};

Ids with(Ids ids, const Ids& more)
{
    ids.insert(more.begin(), more.end());
    return ids;
}

BenchSheet swapBy(SwapWay way)
{
    BenchSheet sheet = threeSites(HeatKind::Swap);
    sheet.way = way;
    return sheet;
}

BenchSheet swapOf(const char* paste, const char* oldAlloy, SwapWay way = SwapWay::SolderLeft)
{
    static const Shelf shelf = test::shippedShelf();
    BenchSheet sheet = swapBy(way);
    sheet.paste = *findById(shelf.pastes, paste);
    sheet.oldAlloy.reset();
    if (const Alloy* known = findById(shelf.alloys, oldAlloy))
        sheet.oldAlloy = *known;
    return sheet;
}

TEST(SwapLimits, AreTheJointsThatIsMadeByWayAndNeverAPastesWindows)
{
    for (const SwapWay way : {SwapWay::SolderLeft, SwapWay::WarmedLed})
        EXPECT_EQ(askedOf(limitsOf(swapBy(way)), "joint_2"), ofEverySwap);
    // Old tin-lead and tinned SAC305 melt higher together than the old joint alone.
    EXPECT_EQ(askedOf(limitsOf(swapBy(SwapWay::TinnedLed)), "joint_2"), with(ofEverySwap, {"wets_hot"}));
    EXPECT_EQ(askedOf(limitsOf(swapBy(SwapWay::ChargeLaidCold)), "joint_2"),
              with(ofEverySwap, {"wets_hot", "ramp", "soak_time", "flux_life"}));
    for (const SwapWay way :
         {SwapWay::SolderLeft, SwapWay::TinnedLed, SwapWay::WarmedLed, SwapWay::ChargeLaidCold}) {
        const auto limits = limitsOf(swapBy(way));
        EXPECT_THAT(askedOf(limits, "newled_2"),
                    UnorderedElementsAre("peak", "near_max", "above_217", "ramp", "steepest_cooling"));
        EXPECT_THAT(askedOf(limits, "body_2"), IsEmpty());
    }
}

TEST(SwapLimits, OfARemovalEndWithTheLift)
{
    const auto limits = limitsOf(threeSites(HeatKind::Remove));
    EXPECT_THAT(askedOf(limits, "joint_2"), UnorderedElementsAre("old_alloy_melts", "old_alloy_melts_habit",
                                                                 "hands_fit", "liquid_total"));
    EXPECT_THAT(askedOf(limits, "newled_2"), IsEmpty());
    EXPECT_THAT(askedOf(limits, "body_2"), IsEmpty());
}

TEST(SwapLimits, OfAFitAreThePastesAndHaveNoHands)
{
    const auto limits = limitsOf(threeSites(HeatKind::Fit));
    EXPECT_THAT(askedOf(limits, "joint_2"),
                UnorderedElementsAre("ramp", "soak_time", "above_liquidus", "peak", "mean_cooling",
                                     "time_to_peak", "steepest_cooling"));
    EXPECT_THAT(askedOf(limits, "newled_2"), IsEmpty());
    EXPECT_THAT(askedOf(limits, "body_2"), UnorderedElementsAre("peak", "near_max", "above_217"));
    for (const Limit& limit : limits)
        EXPECT_FALSE(limit.needsHands()) << limit.id;
}

TEST(SwapLimits, MeltTheOldAlloyAndPlanForTheWorstWhereItIsUnknown)
{
    for (const HeatKind heat : {HeatKind::Swap, HeatKind::Remove}) {
        BenchSheet sheet = threeSites(heat);
        auto limits = limitsOf(sheet);
        EXPECT_EQ(find(limits, "joint_2/old_alloy_melts")->min, 183);
        EXPECT_FALSE(find(limits, "joint_2/old_alloy_melts")->habit);
        EXPECT_EQ(find(limits, "joint_2/old_alloy_melts_habit")->min, 183 + 15);
        EXPECT_TRUE(find(limits, "joint_2/old_alloy_melts_habit")->habit);
        EXPECT_EQ(find(limits, "joint_2/hands_fit")->levelC, 183);
        EXPECT_EQ(find(limits, "joint_2/liquid_total")->levelC, 183);
        sheet.oldAlloy.reset();
        limits = limitsOf(sheet);
        EXPECT_EQ(find(limits, "joint_2/old_alloy_melts")->min, 227);
        EXPECT_EQ(find(limits, "joint_2/old_alloy_melts_habit")->min, 227 + 15);
    }
}

TEST(HandsFit, NeedsAFirstLookEverySiteAndTheTimeToWet)
{
    const auto needS = [](BenchSheet sheet, size_t sites) {
        for (size_t i = 0; i < sheet.sites.size(); ++i)
            sheet.sites[i].state = i < sites ? SiteState::Replace : SiteState::Good;
        const auto limits = limitsOf(sheet);
        const Limit* fit = find(limits, "joint_1/hands_fit");
        EXPECT_TRUE(fit && !fit->habit && !fit->max);
        return *fit->min;
    };
    const BenchSheet sac = swapOf("sac305-no-clean", "sac305");
    EXPECT_EQ(needS(sac, 1), 5 + 15 + 10);
    EXPECT_EQ(needS(sac, 3), 5 + 45 + 10);
    EXPECT_EQ(needS(swapOf("sac305-no-clean", "sn63pb37"), 2), 5 + 30 + 10);
    // Bismuth wets slowly, and an unknown joint may hold it.
    EXPECT_EQ(needS(swapOf("sn42bi58-no-clean", "sn42bi58"), 1), 5 + 15 + 15);
    EXPECT_EQ(needS(swapOf("sac305-no-clean", "unknown"), 1), 5 + 15 + 15);
    EXPECT_EQ(needS(swapOf("sn42bi58-no-clean", "sac305", SwapWay::TinnedLed), 1), 5 + 15 + 15);

    BenchSheet paced = sac;
    paced.hands = handsOf(Hands::Pace::Quick);
    EXPECT_EQ(needS(paced, 3), 5 + 24 + 10);
    paced.hands = handsOf(Hands::Pace::Careful);
    EXPECT_EQ(needS(paced, 3), 5 + 75 + 10);
    paced.hands = {.pace = Hands::Pace::Measured, .firstS = 7, .liftS = 4, .siteS = 11};
    EXPECT_EQ(needS(paced, 2), 7 + 22 + 10);
    paced.heat = HeatKind::Remove; // lifts alone, and nothing to wet
    EXPECT_EQ(needS(paced, 2), 7 + 8);
    EXPECT_EQ(needS(threeSites(HeatKind::Remove), 3), 5 + 15);
}

// Spot by laser-heated paste spots on copper: 1.5 s tin-lead, 2.5 s tin-silver-copper; bismuth by trade
// habit.
TEST(Wetting, HasAFloorByWhatTheJointIsMadeOf)
{
    const auto floorOf = [](const BenchSheet& sheet) {
        const auto limits = limitsOf(sheet);
        const Limit* wets = find(limits, "joint_2/wetting");
        EXPECT_FALSE(wets->habit);
        const Limit* slow = find(limits, "joint_2/wetting_habit"); // of bismuth
        EXPECT_TRUE(!slow || (slow->habit && *wets->min == 2.5));
        return slow ? *slow->min : *wets->min;
    };
    EXPECT_EQ(floorOf(swapOf("sac305-no-clean", "sn63pb37")), 1.5); // all old solder
    EXPECT_EQ(floorOf(swapOf("sac305-no-clean", "sac305")), 2.5);
    EXPECT_EQ(floorOf(swapOf("sac305-no-clean", "sn99.3cu0.7")), 2.5);
    EXPECT_EQ(floorOf(swapOf("sac305-no-clean", "sn42bi58")), 5);
    EXPECT_EQ(floorOf(swapOf("sac305-no-clean", "unknown")), 5);
    EXPECT_EQ(floorOf(swapOf("sac305-no-clean", "sn63pb37", SwapWay::TinnedLed)), 2.5); // half lead-free
    EXPECT_EQ(floorOf(swapOf("sn63pb37-no-clean", "sn63pb37", SwapWay::TinnedLed)), 1.5);
    EXPECT_EQ(floorOf(swapOf("sn42bi58-no-clean", "sac305", SwapWay::ChargeLaidCold)), 5);
    EXPECT_EQ(floorOf(swapOf("sn42bi58-no-clean", "sac305")), 2.5); // its paste is not used
}

TEST(Wetting, IsAskedWhereTheMixedJointMeltsAndNeverAboveBothItsSolders)
{
    const auto levelOf = [](const BenchSheet& sheet) {
        const auto limits = limitsOf(sheet);
        const Limit* hot = find(limits, "joint_2/wets_hot");
        const double levelC = find(limits, "joint_2/wetting")->levelC;
        if (hot) {
            EXPECT_EQ(hot->min, levelC + 15);
            EXPECT_TRUE(hot->habit);
        }
        EXPECT_EQ(find(limits, "joint_2/mean_cooling")->levelC, levelC);
        return levelC;
    };
    EXPECT_EQ(levelOf(swapOf("sac305-no-clean", "sn63pb37")), 183);
    EXPECT_EQ(levelOf(swapOf("sac305-no-clean", "sac305", SwapWay::TinnedLed)), 220);
    const double mixedC = levelOf(swapOf("sac305-no-clean", "sn63pb37", SwapWay::TinnedLed));
    EXPECT_GT(mixedC, 183);
    EXPECT_LE(mixedC, 220);
    EXPECT_EQ(levelOf(swapOf("sac305-no-clean", "unknown", SwapWay::TinnedLed)), 227);
}

TEST(SetDownStep, IsByBodyAndSizeAndAlwaysHabit)
{
    const auto mostK = [](BodyMaterial body, double lengthMm, double widthMm) {
        BenchSheet sheet = threeSites(HeatKind::Swap);
        sheet.strip.led.body = body;
        sheet.strip.led.lengthMm = lengthMm;
        sheet.strip.led.widthMm = widthMm;
        const auto limits = limitsOf(sheet);
        const Limit* step = find(limits, "joint_2/set_down_step");
        EXPECT_TRUE(step->habit);
        EXPECT_FALSE(step->min);
        return *step->max;
    };
    EXPECT_EQ(mostK(BodyMaterial::Plastic, 3.5, 2.8), 225);
    EXPECT_EQ(mostK(BodyMaterial::Plastic, 1.6, 0.8), 225);
    EXPECT_EQ(mostK(BodyMaterial::Ceramic, 3.5, 3.5), 130);
    EXPECT_EQ(mostK(BodyMaterial::Ceramic, 3.2, 2.5), 130);
    EXPECT_EQ(mostK(BodyMaterial::Ceramic, 3.2, 1.6), 150);
    EXPECT_EQ(mostK(BodyMaterial::Ceramic, 1.6, 3.2), 150);
}

TEST(NewLed, IsHeldToItsReflowCapsFromSetDownAndToTheRampOnceItHasSettled)
{
    const BenchSheet sheet = threeSites(HeatKind::Swap);
    const auto limits = limitsOf(sheet);
    EXPECT_EQ(find(limits, "newled_2/peak")->max, 260);
    EXPECT_EQ(find(limits, "newled_2/near_max")->max, 20);
    EXPECT_EQ(find(limits, "newled_2/above_217")->max, 150);
    EXPECT_EQ(find(limits, "newled_2/steepest_cooling")->max, 6);
    const Limit* ramp = find(limits, "newled_2/ramp");
    EXPECT_EQ(ramp->max, 3);
    EXPECT_NEAR(ramp->skipS, 5 * setDownBodyOf(sheet).tauS(), 1e-12);
    for (const Limit& limit : limits)
        if (aboutNewLed(limit)) {
            EXPECT_EQ(limit.skipS > 0, limit.id == "newled_2/ramp") << limit.id;
            EXPECT_FALSE(limit.onlyIfReachesC) << limit.id;
            EXPECT_EQ(limit.station.site, 2);
        }
}

// 2835: 3.5 x 2.8 x 0.75 mm at 2 MJ/m³K and 1 W/mK; dielectric 100 µm at 1 W/mK under 2.8 x 2.1 mm of pad and
// a rim of sqrt(390 * 35 µm * 100 µm / 1) = 1.168 mm, half a core of 1 mm at 138 W/mK, 80 µm of solder at 58
// W/mK on the pad.
TEST(SetDownBody, IsTheStripsLedBehindItsPad)
{
    BenchSheet sheet = test::shippedSheet("marram-lane-bar-3-sac305.bench.json");
    const SetDownBody body = setDownBodyOf(sheet);
    EXPECT_NEAR(body.heatCapacityJPerK, 14.7e-3, 1e-7);
    EXPECT_NEAR(body.acrossKPerW, 76.53, 0.01);
    const double rimMm = std::sqrt(390 * 35e-6 * 100e-6) * 1e3;
    const double copperM2 = (2.8 + 2 * rimMm) * (2.1 + 2 * rimMm) * 1e-6;
    EXPECT_NEAR(rimMm, 1.168332, 1e-6);
    EXPECT_NEAR(body.toCoreKPerW, 100e-6 / copperM2 + 0.5e-3 / 138 / copperM2 + 80e-6 / 58 / 5.88e-6, 0.01);
    EXPECT_NEAR(body.tauS(), 0.52, 0.01);
}

// A rework column of 2017: flux works 30 to 45 s at tin-lead, 60 to 90 s at lead-free temperatures.
TEST(FluxLife, IsAskedOfAChargeAloneAndByItsLead)
{
    for (const auto& [oldAlloy, paste, lifeS] :
         {std::tuple{"sac305", "sac305-no-clean", 60.0}, std::tuple{"sn63pb37", "sn63pb37-no-clean", 45.0},
          std::tuple{"sn63pb37", "sac305-no-clean", 45.0}, std::tuple{"unknown", "sac305-no-clean", 45.0},
          std::tuple{"sn42bi58", "sn42bi58-no-clean", 60.0}}) {
        const auto limits = limitsOf(swapOf(paste, oldAlloy, SwapWay::ChargeLaidCold));
        const Limit* life = find(limits, "joint_2/flux_life");
        ASSERT_TRUE(life) << oldAlloy;
        EXPECT_EQ(life->max, lifeS) << oldAlloy;
        EXPECT_TRUE(life->habit);
    }
}

// Beyond the first melt the joint is no longer the paste's own: only what comes before it is by its windows.
TEST(ChargeLimits, HoldUntilTheFirstMeltAlone)
{
    BenchSheet sheet = swapBy(SwapWay::ChargeLaidCold); // old tin-lead melts first, at 183
    sheet.paste.rampCPerS = {.max = 2};
    const auto limits = limitsOf(sheet);
    const Limit ramp = *find(limits, "joint_2/ramp");
    EXPECT_EQ(ramp.untilReachesC, 183);
    EXPECT_EQ(find(limits, "joint_2/soak_time")->untilReachesC, 183);
    EXPECT_EQ(find(limits, "joint_2/flux_life")->levelC, 183);
    const auto steepestTo200Then = [&](double firstCPerS, double thenCPerS) {
        std::vector<double> timeS, jointC;
        for (double c = 25; c < 300; c += c < 200 ? firstCPerS : thenCPerS) {
            timeS.push_back(static_cast<double>(timeS.size()));
            jointC.push_back(c);
        }
        return *measure(ramp, {timeS, jointC});
    };
    EXPECT_NEAR(steepestTo200Then(1, 5), 1, 1e-9);
    EXPECT_NEAR(steepestTo200Then(5, 1), 5, 1e-9);
    sheet.oldAlloy.reset();
    EXPECT_EQ(find(limitsOf(sheet), "joint_2/ramp")->untilReachesC, 217);
    EXPECT_EQ(find(limitsOf(sheet), "joint_2/flux_life")->levelC, lowestOldLiquidusC) << "at the worst";
    sheet.oldAlloy = sheet.paste.alloy;
    sheet.paste.alloy.solidusC = 138;
    EXPECT_EQ(find(limitsOf(sheet), "joint_2/flux_life")->levelC, 138);
}

TEST(ChargeLimits, AskForNoSoakWhereTheOldSolderMeltsBelowTheBand)
{
    BenchSheet sheet = swapBy(SwapWay::ChargeLaidCold);
    sheet.oldAlloy->solidusC = sheet.oldAlloy->liquidusC = sheet.oldAlloy->movableAboveC = 138;
    EXPECT_FALSE(find(limitsOf(sheet), "joint_2/soak_time"));
    EXPECT_TRUE(find(limitsOf(sheet), "joint_2/ramp"));
}

TEST(ChargeLimits, HoldOnlyTheUpperSidesOfThePastesRampAndSoak)
{
    BenchSheet sheet = swapBy(SwapWay::ChargeLaidCold);
    sheet.paste.rampCPerS = {.min = 1, .max = 2.5};
    const auto limits = limitsOf(sheet);
    EXPECT_EQ(find(limits, "joint_2/ramp")->max, 2.5);
    EXPECT_FALSE(find(limits, "joint_2/ramp")->min);
    EXPECT_EQ(find(limits, "joint_2/soak_time")->max, 120);
    EXPECT_FALSE(find(limits, "joint_2/soak_time")->min);
    EXPECT_EQ(find(limits, "joint_2/soak_time")->levelC, 150);
    EXPECT_EQ(find(limits, "joint_2/soak_time")->upperLevelC, 200);
    // It must melt with the joint before hands may begin.
    EXPECT_EQ(find(limits, "joint_2/hands_fit")->levelC, 219);
}

// Neither way sends to the other: the one that has a known joint is named with its price and its paste.
TEST(UnknownOldSolder, IsAChoiceOfWayInASwapThatSaysWhatEachCosts)
{
    const auto said = [](const char* paste, const char* oldAlloy, SwapWay way) {
        for (const std::string& words : warningsOf(swapOf(paste, oldAlloy, way)))
            if (words.find("of the unknown old solder") != std::string::npos)
                return words;
        return std::string();
    };
    EXPECT_EQ(
        said("sac305-no-clean", "unknown", SwapWay::SolderLeft),
        "The new joint would be of the unknown old solder, no better and no worse than that has been. A "
        "known one takes two heats, wicked pads and paste (way \"two-heats\"), in which each LED that "
        "stays melts once more.");
    EXPECT_THAT(said("sac305-no-clean", "unknown", SwapWay::TinnedLed),
                testing::StartsWith("Half of the new"));
    for (const char* paste : {"sn42bi58-no-clean", "sn63pb37-no-clean"}) // refused there
        EXPECT_THAT(said(paste, "unknown", SwapWay::SolderLeft),
                    testing::HasSubstr("\"two-heats\", with a paste with neither bismuth nor lead)"));
    EXPECT_EQ(said("sac305-no-clean", "sac305", SwapWay::SolderLeft), "");
}

TEST(LiquidTotal, IsAHabitOfNinetySeconds)
{
    const auto limits = limitsOf(threeSites(HeatKind::Swap));
    const Limit* total = find(limits, "joint_2/liquid_total");
    EXPECT_EQ(total->metric, Metric::TimeAbove);
    EXPECT_EQ(total->max, mostLiquidS);
    EXPECT_EQ(mostLiquidS, 90);
    EXPECT_TRUE(total->habit);
}

TEST(WarmedLed, LiesOnTheLongerOverhangThirtyFiveMillimetresOffThePlate)
{
    BenchSheet sheet =
        swapBy(SwapWay::WarmedLed); // a strip of 110 mm, plate from 25 to 85: 25 mm on either side
    const auto placesOf = [](const BenchSheet& of) {
        std::vector<double> places;
        for (const SpareLed& spare : sparesOf(of))
            places.push_back(spare.xMm);
        return places;
    };
    using testing::ElementsAre, testing::IsEmpty;
    EXPECT_THAT(placesOf(sheet), IsEmpty());
    EXPECT_THAT(refusalsOf(sheet),
                testing::Contains(testing::HasSubstr("no room beyond the plate for a new LED")));
    sheet.way = SwapWay::SolderLeft;
    EXPECT_THAT(refusalsOf(sheet), testing::Not(testing::Contains(testing::HasSubstr("no room"))));
    sheet.way = SwapWay::WarmedLed;
    sheet.strip.lengthMm = 130;
    EXPECT_THAT(placesOf(sheet), ElementsAre(85 + 35));
    EXPECT_THAT(refusalsOf(sheet), testing::Not(testing::Contains(testing::HasSubstr("no room"))));
    sheet.plateStartMm = 50; // 50 mm before it, 20 beyond
    EXPECT_THAT(placesOf(sheet), ElementsAre(50 - 35));
    sheet.spareMm = 4;
    EXPECT_THAT(placesOf(sheet), ElementsAre(4));
    EXPECT_EQ(taskOf(sheet).spares, sparesOf(sheet));
    sheet.way = SwapWay::SolderLeft;
    EXPECT_THAT(taskOf(sheet).spares, IsEmpty());
}

} // namespace
} // namespace stripwright
