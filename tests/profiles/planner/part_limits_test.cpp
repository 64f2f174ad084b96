#include "demo_sheet.h"
#include "three_sites.h"

#include <functional>
#include <gmock/gmock.h>
#include <set>

namespace stripwright {
namespace {

using test::askedOf;
using test::find;
using test::threeSites;
using testing::ElementsAre;
using testing::IsEmpty;
using testing::UnorderedElementsAre;

TEST(Limits, HaveIdsThatOccurOnceInEveryHeatAndWay)
{
    for (const HeatKind heat :
         {HeatKind::Swap, HeatKind::Fit, HeatKind::Remove, HeatKind::Release, HeatKind::Bake})
        for (const SwapWay way :
             {SwapWay::SolderLeft, SwapWay::TinnedLed, SwapWay::WarmedLed, SwapWay::ChargeLaidCold}) {
            BenchSheet sheet = threeSites(heat);
            sheet.way = way;
            sheet.paste.aboveLiquidusS.maxIsHabit = true;
            sheet.paste.coolingCPerS.maxIsHabit = true;
            sheet.strip.lens->habit.whole = true;
            sheet.sites[2].lens = LensState::Release;
            const std::vector<Limit> limits = limitsOf(sheet);
            EXPECT_GT(limits.size(), 10u);
            std::set<std::string> ids;
            for (const Limit& limit : limits)
                EXPECT_TRUE(ids.insert(limit.id).second) << limit.id;
        }
}

TEST(PartLimits, CapBodiesThatAreThereAndOnlyTheLensesThatStay)
{
    BenchSheet sheet = threeSites(HeatKind::Fit);
    sheet.sites[2].lens = LensState::Off;
    const auto limits = limitsOf(sheet);
    for (const char* site : {"1", "2", "3"}) {
        const Limit* peak = find(limits, std::string("body_") + site + "/peak");
        const Limit* near = find(limits, std::string("body_") + site + "/near_max");
        const Limit* hot = find(limits, std::string("body_") + site + "/above_217");
        ASSERT_TRUE(peak && near && hot);
        EXPECT_EQ(peak->max, 260);
        EXPECT_EQ(near->levelC, 255);
        EXPECT_EQ(near->max, 20);
        EXPECT_EQ(hot->levelC, 217);
        EXPECT_EQ(hot->max, 150);
        EXPECT_FALSE(hot->habit);
    }
    EXPECT_EQ(find(limits, "lens_1/peak")->max, 80);
    EXPECT_EQ(find(limits, "glue_1/peak")->max, 82); // Glue below the foot's 85.
    for (const char* id : {"lens_2/peak", "glue_2/peak", "lens_3/peak", "glue_3/peak"})
        EXPECT_FALSE(find(limits, id)) << id;
}

// An LED that is taken off is not to be spared; the one that comes on is judged from its set-down.
TEST(PartLimits, LeaveDeadLedsOutAndThoseThatWaitForAnotherHeat)
{
    for (const HeatKind heat : {HeatKind::Swap, HeatKind::Remove}) {
        BenchSheet sheet = threeSites(heat);
        sheet.sites[2].state = SiteState::Later;
        const auto limits = limitsOf(sheet);
        EXPECT_THAT(askedOf(limits, "body_2"), IsEmpty());
        EXPECT_THAT(askedOf(limits, "body_3"), IsEmpty());
        EXPECT_THAT(askedOf(limits, "body_1"),
                    UnorderedElementsAre("ramp", "time_to_peak", "steepest_cooling", "peak", "near_max",
                                         "above_217"));
        for (const char* station : {"joint_3", "newled_3", "dielectric_3", "lens_3", "glue_3"})
            EXPECT_THAT(askedOf(limits, station), IsEmpty()) << station;
        EXPECT_THAT(sheet.targets(), ElementsAre(2));
    }
}

namespace {

struct Mark {
    const char* what;
    std::function<void(StripType&)> mark;
    std::set<std::string> habits; ///< Ids of the limits that are habit then, and no others about the part.
};

} // namespace

TEST(PartLimits, AreHabitByTheValueTheyComeFromNotByItsEntry)
{
    const auto marks = [](Habit& habit, const char* key) { habit.values = {key}; };
    const Mark table[] = {
        {"nothing", [](StripType&) {}, {}},
        {"optic", [&](StripType& s) { marks(s.lens->habit, "body_max_C"); }, {"lens_1/peak", "lens_3/peak"}},
        {"foot, above the glue", [&](StripType& s) { marks(s.lens->habit, "foot_max_C"); }, {}},
        {"glue, below the foot",
         [&](StripType& s) { marks(s.glue->habit, "hold_C"); },
         {"glue_1/peak_habit", "glue_3/peak_habit"}},
        {"release", [&](StripType& s) { marks(s.glue->habit, "release_high_C"); }, {}},
        {"near time",
         [&](StripType& s) { marks(s.led.habit, "near_max_s"); },
         {"body_1/near_max", "newled_2/near_max", "body_3/near_max"}},
        {"body and with it the level of its time",
         [&](StripType& s) { marks(s.led.habit, "body_max_C"); },
         {"body_1/near_max", "newled_2/near_max", "body_3/near_max", "body_1/peak", "newled_2/peak",
          "body_3/peak"}},
        {"pad", [&](StripType& s) { marks(s.led.habit, "pad_length_mm"); }, {}},
        {"dielectric", [&](StripType& s) { marks(s.dielectric.habit, "max_C"); }, {"dielectric_2/peak"}},
        {"its thickness", [&](StripType& s) { marks(s.dielectric.habit, "thickness_um"); }, {}},
        {"size of the strip", [&](StripType& s) { marks(s.habit, "length_mm"); }, {}},
        {"whole strip", [](StripType& s) { s.habit.whole = true; }, {"dielectric_2/peak"}},
    };
    for (const Mark& each : table) {
        BenchSheet sheet = threeSites(HeatKind::Swap);
        each.mark(sheet.strip);
        std::set<std::string> habits;
        for (const Limit& limit : limitsOf(sheet))
            if (limit.habit && limit.station.kind != StationKind::Joint)
                habits.insert(limit.id);
        habits.erase("dielectric_2/above_250"); // always
        EXPECT_EQ(habits, each.habits) << each.what;
    }
}

TEST(PartLimits, OfThePlateHoldWhateverItsCapWasTakenFrom)
{
    BenchSheet sheet = threeSites(HeatKind::Swap);
    sheet.plate.maxC = 300;
    sheet.plate.habit.whole = true;
    EXPECT_FALSE(find(limitsOf(sheet), "plate/peak")->habit);
}

TEST(PartLimits, HoldThePlateToWhatTheStripLiesOn)
{
    const Shelf shelf = test::shippedShelf();
    for (const HeatKind heat :
         {HeatKind::Swap, HeatKind::Fit, HeatKind::Remove, HeatKind::Release, HeatKind::Bake}) {
        BenchSheet sheet = threeSites(heat);
        sheet.contact = *findById(shelf.contacts, "clamped-compound");
        const auto limits = limitsOf(sheet);
        const Limit* cap = find(limits, "plate/contact_peak");
        ASSERT_TRUE(cap);
        EXPECT_EQ(cap->station.kind, StationKind::Plate);
        EXPECT_EQ(cap->metric, Metric::Peak);
        EXPECT_EQ(cap->max, 180); // the lower end of what compounds are said to stand
        EXPECT_TRUE(cap->habit);
        sheet.contact.habit = {};
        EXPECT_FALSE(find(limitsOf(sheet), "plate/contact_peak")->habit);
        sheet.contact = *findById(shelf.contacts, "clamped-flat");
        EXPECT_FALSE(find(limitsOf(sheet), "plate/contact_peak"));
    }
}

TEST(ContactWarning, IsGivenOfAContactThatSaysNeitherItsCapNorThatNothingLiesThere)
{
    const auto said = testing::Contains(testing::HasSubstr("state its \"max_C\", or \"bare\": true"));
    BenchSheet sheet = threeSites(HeatKind::Swap);
    sheet.contact.name = "Some pad";
    EXPECT_THAT(warningsOf(sheet), said);
    EXPECT_THAT(warningsOf(sheet), testing::Contains(testing::HasSubstr("Some pad")));
    sheet.contact.maxC = 250;
    EXPECT_THAT(warningsOf(sheet), testing::Not(said));
    sheet.contact.maxC.reset();
    sheet.contact.bare = true;
    EXPECT_THAT(warningsOf(sheet), testing::Not(said));
    for (const ContactCondition& shipped : test::shippedShelf().contacts) {
        sheet.contact = shipped;
        EXPECT_THAT(warningsOf(sheet), testing::Not(said)) << shipped.id;
    }
}

TEST(PartLimits, CountedFromALevelThatIsHabitAreHabit)
{
    BenchSheet sheet = threeSites(HeatKind::Fit);
    sheet.paste.habit.values = {"count_liquidus_C"};
    EXPECT_TRUE(find(limitsOf(sheet), "joint_2/above_liquidus")->habit);
    EXPECT_FALSE(find(limitsOf(sheet), "joint_2/peak")->habit);
}

TEST(PartLimits, KeepTheSourcedGlueCapWhenALowerFootCapIsHabit)
{
    BenchSheet sheet = threeSites(HeatKind::Swap);
    sheet.strip.lens->footMaxC = 75;
    sheet.strip.lens->habit.whole = true;
    const auto limits = limitsOf(sheet);
    EXPECT_EQ(find(limits, "glue_1/peak")->max, 82);
    EXPECT_FALSE(find(limits, "glue_1/peak")->habit);
    EXPECT_EQ(find(limits, "glue_1/peak_habit")->max, 75);
    EXPECT_TRUE(find(limits, "glue_1/peak_habit")->habit);
    EXPECT_TRUE(find(limits, "lens_1/peak")->habit);

    sheet.strip.lens->footMaxC = 90; // Above the glue's: nothing more to aim at.
    EXPECT_FALSE(find(limitsOf(sheet), "glue_1/peak_habit"));
}

// IPC/JEDEC J-STD-020D Table 5-2: its ramp begins at 150 °C, 3 K/s up, 6 K/s down, 8 minutes to the peak, 6
// for tin-lead classifications.
TEST(PartLimits, HoldKeptBodiesToTheClassificationsRatesOnlyWhereTheyGetThatHot)
{
    BenchSheet sheet = threeSites(HeatKind::Swap);
    auto limits = limitsOf(sheet);
    const Limit ramp = *find(limits, "body_1/ramp"), soon = *find(limits, "body_1/time_to_peak");
    EXPECT_EQ(ramp.max, 3);
    EXPECT_EQ(find(limits, "body_1/steepest_cooling")->max, 6);
    EXPECT_EQ(soon.max, 480);
    const std::vector<double> timeS = {0, 30, 700}, below = {25, 149, 149.9}, above = {25, 149, 150};
    for (const Limit& limit : {ramp, soon}) {
        EXPECT_FALSE(limit.habit);
        EXPECT_TRUE(limit.protects);
        EXPECT_EQ(marginRow(limit, {}, {}, Judged{{timeS, below}}).margin, INFINITY) << limit.id;
        EXPECT_LT(marginRow(limit, {}, {}, Judged{{timeS, above}}).margin, 0) << limit.id;
    }
    sheet.strip.led.bodyMaxC = 240;
    EXPECT_EQ(find(limitsOf(sheet), "body_1/time_to_peak")->max, 360);
    // Joints that stay solid: no reflow, no rates of one.
    EXPECT_FALSE(find(limitsOf(threeSites(HeatKind::Release)), "body_1/ramp"));
}

TEST(PartLimits, HoldThePlateAndTheTargetsDielectric)
{
    BenchSheet sheet = threeSites(HeatKind::Swap);
    sheet.plate.maxC = 300;
    for (const HeatKind heat : {HeatKind::Swap, HeatKind::Fit, HeatKind::Remove}) {
        sheet.heat = heat;
        const auto limits = limitsOf(sheet);
        EXPECT_EQ(find(limits, "plate/peak")->max, 300);
        EXPECT_EQ(find(limits, "dielectric_2/peak")->max, 255);
        EXPECT_EQ(find(limits, "dielectric_2/above_250")->max, 60);
        EXPECT_TRUE(find(limits, "dielectric_2/above_250")->habit);
    }
}

} // namespace
} // namespace stripwright
