#include "demo_sheet.h"

#include "planner/heat_kinds.h"
#include "planner/levers.h"
#include "rules/alloy_rules.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace stripwright {
namespace {

using testing::Contains;
using testing::Each;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::Not;
using testing::StartsWith;

const Shelf& shelf()
{
    static const Shelf read = test::shippedShelf();
    return read;
}

BenchSheet sheetOf(HeatKind heat, const std::string& paste, const std::string& old)
{
    BenchSheet sheet = test::shippedSheet("marram-lane-bar-7.bench.json");
    sheet.heat = heat;
    sheet.way = SwapWay::ChargeLaidCold; // in which a swap's paste counts
    sheet.paste = *findById(shelf().pastes, paste);
    sheet.oldAlloy.reset();
    if (const Alloy* known = findById(shelf().alloys, old))
        sheet.oldAlloy = *known;
    return sheet;
}

std::vector<JointPeak> peaksAt(double coldestC)
{
    return {{5, coldestC - 30, coldestC - 20}, {6, coldestC, coldestC + 10}}; // Site 6 is the target.
}

BenchSheet inTwoHeats(BenchSheet sheet)
{
    if (sheet.heat == HeatKind::Swap)
        sheet.way = SwapWay::TwoHeats;
    return sheet;
}

TEST(AlloyRefusals, MeetBismuthOverLeadUntilWickedColdAndOverridden)
{
    for (const HeatKind heat : {HeatKind::Swap, HeatKind::Fit})
        for (const char* old : {"sn63pb37", "sn62pb36ag2", "unknown"}) {
            BenchSheet sheet = inTwoHeats(sheetOf(heat, "sn42bi58-no-clean", old));
            EXPECT_THAT(alloyRefusals(sheet), ElementsAre(HasSubstr("\"bismuth-over-lead\""))) << old;
            sheet.overrides = {"another"};
            EXPECT_EQ(alloyRefusals(sheet).size(), 1u);
            sheet.overrides.push_back("bismuth-over-lead");
            EXPECT_THAT(alloyRefusals(sheet), IsEmpty());
        }
    EXPECT_THAT(alloyRefusals(sheetOf(HeatKind::Swap, "sn42bi58-no-clean", "sac305")), IsEmpty());
    // Nothing new is soldered on.
    EXPECT_THAT(alloyRefusals(sheetOf(HeatKind::Remove, "sn42bi58-no-clean", "sn63pb37")), IsEmpty());
}

TEST(AlloyRefusals, MeetLeadOverBismuthInTheSameWay)
{
    for (const HeatKind heat : {HeatKind::Swap, HeatKind::Fit})
        for (const char* paste : {"sn63pb37-no-clean", "sn62pb36ag2-no-clean"})
            for (const char* old : {"sn42bi58", "sn42bi57.6ag0.4", "unknown"}) {
                BenchSheet sheet = inTwoHeats(sheetOf(heat, paste, old));
                EXPECT_THAT(alloyRefusals(sheet), ElementsAre(HasSubstr("\"lead-over-bismuth\""))) << old;
                sheet.overrides = {"bismuth-over-lead"};
                EXPECT_EQ(alloyRefusals(sheet).size(), 1u) << "each is overridden by its own name";
                sheet.overrides = {"lead-over-bismuth"};
                EXPECT_THAT(alloyRefusals(sheet), IsEmpty());
            }
    EXPECT_THAT(alloyRefusals(sheetOf(HeatKind::Swap, "sn63pb37-no-clean", "sac305")), IsEmpty());
    EXPECT_THAT(alloyRefusals(sheetOf(HeatKind::Swap, "sn63pb37-no-clean", "sn62pb36ag2")), IsEmpty());
    EXPECT_THAT(alloyRefusals(sheetOf(HeatKind::Remove, "sn63pb37-no-clean", "sn42bi58")), IsEmpty());
}

// Hands get at no hot pad, so what the override says would not be true.
TEST(AlloyRefusals, StandInOneHeatWhateverIsOverridden)
{
    for (const SwapWay way : {SwapWay::TinnedLed, SwapWay::ChargeLaidCold}) {
        BenchSheet sheet = sheetOf(HeatKind::Swap, "sn42bi58-no-clean", "sn63pb37");
        sheet.way = way;
        sheet.overrides = {"bismuth-over-lead", "lead-over-bismuth"};
        EXPECT_THAT(alloyRefusals(sheet), ElementsAre(HasSubstr("no override helps")));
    }
}

TEST(AlloyRefusals, AdviseOnlyWhatIsNotRefusedThen)
{
    int refused = 0;
    for (const char* paste : {"sn42bi58-no-clean", "sn63pb37-no-clean"})
        for (const char* old : {"sn63pb37", "sn42bi58", "unknown"})
            for (const SwapWay way : {SwapWay::TinnedLed, SwapWay::ChargeLaidCold, SwapWay::TwoHeats}) {
                BenchSheet sheet = sheetOf(HeatKind::Swap, paste, old);
                sheet.way = way;
                const auto refusals = alloyRefusals(sheet);
                if (refusals.empty())
                    continue;
                ASSERT_EQ(refusals.size(), 1u);
                ++refused;
                const std::string& words = refusals[0];
                const bool unknown = !sheet.oldAlloy;
                const std::string without = unknown                        ? "with neither bismuth nor lead"
                                            : sheet.paste.alloy.hasBismuth ? "without bismuth"
                                                                           : "without lead";
                EXPECT_THAT(words, HasSubstr("a paste " + without));
                for (const Paste& other : shelf().pastes) {
                    const bool advised = unknown ? !other.alloy.hasBismuth && !other.alloy.hasLead
                                         : sheet.paste.alloy.hasBismuth ? !other.alloy.hasBismuth
                                                                        : !other.alloy.hasLead;
                    BenchSheet changed = sheet;
                    changed.paste = other;
                    if (advised) {
                        EXPECT_THAT(alloyRefusals(changed), IsEmpty()) << other.id << " over " << old;
                    }
                }
                if (way == SwapWay::TwoHeats) {
                    EXPECT_THAT(words, HasSubstr("cold, between the two heats"));
                    EXPECT_THAT(words, Not(HasSubstr("solder-left")));
                    continue;
                }
                EXPECT_THAT(words, Not(HasSubstr("two-heats")));
                EXPECT_THAT(words, HasSubstr("\"solder-left\" or \"warmed-led\""));
                for (const SwapWay other : {SwapWay::SolderLeft, SwapWay::WarmedLed}) {
                    sheet.way = other;
                    EXPECT_THAT(alloyRefusals(sheet), IsEmpty());
                }
            }
    EXPECT_EQ(refused, 2 * 2 * 3); // each paste over two of the three, in every way
    EXPECT_THAT(alloyRefusals(sheetOf(HeatKind::Fit, "sn42bi58-no-clean", "sn63pb37")),
                ElementsAre(HasSubstr("cold, before any paste")));
}

TEST(AlloyRefusals, SayWhichAlloyIsNewAndWhatTheOldOneHasOrMayHave)
{
    const auto words = [](const char* paste, const char* old) {
        return alloyRefusals(sheetOf(HeatKind::Swap, paste, old)).at(0);
    };
    EXPECT_THAT(
        words("sn42bi58-no-clean", "sn63pb37"),
        StartsWith("A bismuth paste on lead-bearing old solder leaves a phase that melts near 96 °C."));
    EXPECT_THAT(
        words("sn63pb37-no-clean", "sn42bi58"),
        StartsWith("A lead paste on bismuth-bearing old solder leaves a phase that melts near 96 °C."));
    EXPECT_THAT(words("sn42bi58-no-clean", "unknown"),
                StartsWith("A bismuth paste on unknown old solder, which may hold lead, may leave a phase"));
    EXPECT_THAT(words("sn63pb37-no-clean", "unknown"),
                StartsWith("A lead paste on unknown old solder, which may hold bismuth, may leave a phase"));
}

TEST(MovableAbove, IsWhereTheLastLiquidOfTheMixedJointSets)
{
    const auto movable = [](HeatKind heat, const char* paste, const char* old) {
        return movableAboveC(sheetOf(heat, paste, old));
    };
    EXPECT_EQ(movable(HeatKind::Swap, "sac305-no-clean", "sac305"), 217);
    EXPECT_EQ(movable(HeatKind::Swap, "sac305-no-clean", "sn63pb37"), 178);
    EXPECT_EQ(movable(HeatKind::Fit, "sac305-no-clean", "sn42bi58"), 138);
    EXPECT_EQ(movable(HeatKind::Fit, "sn42bi58-no-clean", "sn63pb37"), 96);
    EXPECT_EQ(movable(HeatKind::Fit, "sn63pb37-no-clean", "sn42bi58"), 96);
    EXPECT_EQ(movable(HeatKind::Fit, "sac305-no-clean", "unknown"), 138);
    EXPECT_EQ(movable(HeatKind::Fit, "sn63pb37-no-clean", "unknown"), 96);
    EXPECT_EQ(movable(HeatKind::Remove, "sn42bi58-no-clean", "sac305"), 217);
    EXPECT_EQ(movable(HeatKind::Remove, "sac305-no-clean", "unknown"), 138);
}

TEST(MovableAbove, TakesAnAlloyOfUnstatedCompositionByWhatItHas)
{
    BenchSheet sheet = sheetOf(HeatKind::Fit, "sac305-no-clean", "sn42bi58");
    sheet.oldAlloy->composition.reset();
    sheet.oldAlloy->movableAboveC = 170;
    EXPECT_EQ(movableAboveC(sheet), 138);
    sheet.oldAlloy->hasLead = true;
    EXPECT_EQ(movableAboveC(sheet), 96);
}

TEST(AlloyRefusals, MeetLiftingWhileTheMixedJointCanMove)
{
    BenchSheet sheet = sheetOf(HeatKind::Fit, "sac305-no-clean", "sn42bi58");
    sheet.cooling.liftBelowC = 200;
    EXPECT_THAT(alloyRefusals(sheet), ElementsAre(HasSubstr("lift below 138 °C")));
    sheet.cooling.acceptsMovingMolten = true;
    EXPECT_THAT(alloyRefusals(sheet), IsEmpty());
    sheet.cooling = {.liftBelowC = 138};
    EXPECT_THAT(alloyRefusals(sheet), IsEmpty());
}

TEST(Levers, LiftOnlyOnceTheMixedJointIsSolid)
{
    const BenchSheet sheet = sheetOf(HeatKind::Fit, "sac305-no-clean", "sn42bi58");
    const std::vector<Lever> levers = leversOf(sheet, shelf(), answerJob(sheet, {.quick = true}));
    const auto lift =
        std::find_if(levers.begin(), levers.end(), [](const Lever& lever) { return lever.id == "lift"; });
    ASSERT_NE(lift, levers.end());
    const BenchSheet lifted = lift->on(sheet);
    EXPECT_LE(*lifted.cooling.liftBelowC, 138);
    EXPECT_THAT(alloyRefusals(lifted), IsEmpty());
}

TEST(AlloyWarnings, SendAHighMeltingOldJointToAHeatOfItsOwn)
{
    const auto warnings = alloyWarnings(sheetOf(HeatKind::Swap, "sn42bi58-no-clean", "sac305"), peaksAt(163));
    EXPECT_THAT(
        warnings,
        ElementsAre(
            "The old joint melts at 220 °C, above the peak that the charge's paste is made for (180 "
            "°C): its flux is spent before the new LED is set down. Take the LED off in a heat of its "
            "own, or by local heat, then fit (way \"two-heats\").",
            "Where a fifth of the new joint is old solder, it melts fully only at 159 °C (est.)."));
    EXPECT_THAT(alloyWarnings(sheetOf(HeatKind::Remove, "sn42bi58-no-clean", "sac305"), peaksAt(235)),
                IsEmpty());
    EXPECT_THAT(alloyWarnings(sheetOf(HeatKind::Swap, "sn63pb37-no-clean", "unknown"), {}),
                Not(Contains(StartsWith("The old joint may melt only at 227 °C"))));
    EXPECT_THAT(alloyWarnings(sheetOf(HeatKind::Swap, "sn42bi58-no-clean", "unknown"), {}),
                Contains(StartsWith("The old joint may melt only at 227 °C")));
}

TEST(AlloyWarnings, SendToNoFitThatItsRuleRefuses)
{
    BenchSheet sheet = sheetOf(HeatKind::Swap, "sn42bi58-no-clean", "unknown");
    EXPECT_THAT(
        alloyWarnings(sheet, {}),
        Contains(HasSubstr("then fit with a paste with neither bismuth nor lead (way \"two-heats\")")));
    sheet.overrides = {"bismuth-over-lead"};
    EXPECT_THAT(alloyWarnings(sheet, {}), Contains(HasSubstr("then fit (way \"two-heats\")")));
}

TEST(AlloyWarnings, RemovalIsPlannedAtTheOldAlloyWhateverThePasteIs)
{
    const BenchSheet sheet = sheetOf(HeatKind::Remove, "sn42bi58-no-clean", "sac305");
    const std::vector<Limit> limits = limitsOf(sheet);
    const auto melts = std::find_if(limits.begin(), limits.end(),
                                    [](const Limit& limit) { return limit.id == "joint_6/old_alloy_melts"; });
    ASSERT_NE(melts, limits.end());
    EXPECT_EQ(melts->min, 220);
    for (const Limit& limit : limits)
        EXPECT_NE(limit.id, "joint_6/peak");
}

TEST(AlloyWarnings, ShowWhereAJointWithResidueMeltsAgainstThePlannedPeak)
{
    const BenchSheet sheet = sheetOf(HeatKind::Fit, "sn42bi58-no-clean", "sac305");
    EXPECT_THAT(
        alloyWarnings(sheet, peaksAt(163)),
        ElementsAre("Where a fifth of the new joint is old solder, it melts fully only at 159 °C (est.); "
                    "planned peak where it gets least hot: 163 °C.",
                    HasSubstr("melts by itself only at 220 °C")));
    EXPECT_THAT(alloyWarnings(sheet, peaksAt(158))[0],
                HasSubstr("least hot: 158 °C. Wick the pads better, while the strip is cold."));
}

TEST(AlloyWarnings, LeaveASwapThatIsTooColdForTheOldJointToItsLimit)
{
    const BenchSheet sheet = sheetOf(HeatKind::Swap, "sac305-no-clean", "sn99.3cu0.7");
    EXPECT_THAT(alloyWarnings(sheet, peaksAt(225)), IsEmpty());
}

TEST(AlloyWarnings, ShowTheLowMeltingPhaseThatResidueLeaves)
{
    EXPECT_THAT(
        alloyWarnings(sheetOf(HeatKind::Fit, "sn42bi58-no-clean", "sn63pb37"), peaksAt(170)),
        Contains("Where a fifth of the new joint is old solder, up to 23 % of it may stay liquid down to "
                 "96 °C."));
    EXPECT_THAT(
        alloyWarnings(sheetOf(HeatKind::Swap, "sac305-no-clean", "sn63pb37"), peaksAt(240)),
        ElementsAre("Where half of the new joint is old solder, up to 49 % of it may stay liquid down "
                    "to 178 °C."));
    EXPECT_THAT(alloyWarnings(sheetOf(HeatKind::Swap, "sac305-no-clean", "sac305"), peaksAt(240)), IsEmpty());
    // Nothing new is soldered on.
    EXPECT_THAT(alloyWarnings(sheetOf(HeatKind::Remove, "sac305-no-clean", "sn63pb37"), peaksAt(240)),
                IsEmpty());
}

TEST(AlloyWarnings, SayNothingOfAShareThatIsNoneOrNotKnownAndTracesOfLessThanHalfAPercent)
{
    // Without bismuth and lead there is no such phase, though SAC305 begins to melt 10 K lower.
    EXPECT_THAT(alloyWarnings(sheetOf(HeatKind::Fit, "sn99.3cu0.7-no-clean", "sac305"), peaksAt(245)),
                IsEmpty());
    BenchSheet sheet = sheetOf(HeatKind::Fit, "sac305-no-clean", "sn63pb37");
    sheet.oldAlloy->composition = Composition{.tinShare = 0.995, .leadShare = 0.005};
    EXPECT_THAT(
        alloyWarnings(sheet, peaksAt(240)),
        ElementsAre("Where a fifth of the new joint is old solder, traces of it may stay liquid down to "
                    "178 °C."));
    // Traces carry nothing: in service it is the new alloy that counts, melting from 217 °C on.
    sheet.service = Service{.seat = Seat::OnMetal, .surroundingsC = 150};
    EXPECT_THAT(alloyWarnings(sheet, {}), Not(Contains(HasSubstr("In service"))));
    sheet.service->surroundingsC = 175;
    EXPECT_THAT(alloyWarnings(sheet, {}),
                Contains(HasSubstr("K below 217 °C, where it may begin to melt; trade "
                                   "habit keeps 40 K: so near its melting point the "
                                   "solder creeps")));
}

// The joint on the solder left is the old alloy's, whatever the sheet's paste is.
TEST(AlloyWarnings, JudgeAJointOnTheSolderLeftByTheOldAlloyInService)
{
    BenchSheet sheet = sheetOf(HeatKind::Swap, "sac305-no-clean", "sn42bi58");
    sheet.way = SwapWay::SolderLeft;
    sheet.service = Service{.seat = Seat::OnMetal, .surroundingsC = 95};
    EXPECT_THAT(alloyWarnings(sheet, {}), Contains(HasSubstr("K below 138 °C")));
    sheet.oldAlloy = *findById(shelf().alloys, "sac305");
    EXPECT_THAT(alloyWarnings(sheet, {}), IsEmpty());
}

TEST(AlloyWarnings, SayWhatRunningAboveTheLastLiquidDoesToTheJoint)
{
    BenchSheet sheet = sheetOf(HeatKind::Fit, "sn42bi58-no-clean", "sn63pb37");
    sheet.service = Service{.seat = Seat::OnMetal, .surroundingsC = 100};
    EXPECT_THAT(
        alloyWarnings(sheet, {}),
        Contains("In service the joint runs at about 108 °C (est.), 12 K above 96 °C, where it may begin "
                 "to melt: whenever the strip is lit, up to 23 % of the solder is liquid, and the LED may "
                 "shift or fall off."));
    sheet.oldAlloy->composition.reset();
    EXPECT_THAT(alloyWarnings(sheet, {}), Contains(HasSubstr("part of the solder is liquid")));
    sheet.service->surroundingsC = 70;
    EXPECT_THAT(alloyWarnings(sheet, {}),
                Contains(HasSubstr("so near its melting point part of the solder creeps")));
}

TEST(AlloyWarnings, SayThatAlloysMixWhereTheirCompositionIsNotKnown)
{
    BenchSheet sheet = sheetOf(HeatKind::Fit, "sac305-no-clean", "sn63pb37");
    sheet.oldAlloy->composition.reset();
    EXPECT_THAT(alloyWarnings(sheet, peaksAt(240)), ElementsAre(HasSubstr("mixes in and shifts")));
}

TEST(AlloyWarnings, AskForFortyKelvinBetweenRunningAndMelting)
{
    BenchSheet sheet = sheetOf(HeatKind::Fit, "sn42bi58-no-clean", "sn42bi58");
    sheet.service = Service{.seat = Seat::OnMetal};
    // The joint runs 2.579 + 5.748 K above its metal, and 138 °C less 40 K is 98.
    sheet.service->surroundingsC = 98 - 2.579 - 5.748 - 0.1;
    EXPECT_THAT(alloyWarnings(sheet, {}), IsEmpty());
    sheet.service->surroundingsC += 0.2;
    EXPECT_THAT(
        alloyWarnings(sheet, {}),
        ElementsAre("In service the joint runs at about 98 °C (est.), 40 K below 138 °C, where it may begin "
                    "to melt; trade habit keeps 40 K: so near its melting point the solder creeps, and the "
                    "joint cracks early."));
    sheet.heat = HeatKind::Remove;
    EXPECT_THAT(alloyWarnings(sheet, {}), IsEmpty());
    // Over lead it begins to melt at 96.
    sheet = sheetOf(HeatKind::Fit, "sn42bi58-no-clean", "sn63pb37");
    sheet.service = Service{.seat = Seat::OnMetal, .surroundingsC = 60};
    EXPECT_THAT(alloyWarnings(sheet, {}), Contains(HasSubstr("28 K below 96 °C")));
}

} // namespace
} // namespace stripwright
