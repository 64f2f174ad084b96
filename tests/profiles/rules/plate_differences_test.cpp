#include "rules/plate_differences.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace stripwright {

using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;

static PlateType planned()
{
    PlateType plate;
    plate.id = "bench-plate-100";
    plate.powerW = 300;
    plate.heatCapacityJPerK = 194;
    plate.lossWPerK = 0.154;
    plate.radiatingAreaM2 = 0.00723;
    plate.fanLossWPerK = 0.342;
    plate.elementLagS = 4;
    plate.sensorLagS = 2.5;
    plate.deadTimeS = 1;
    return plate;
}

static ConnectedPlate asPlanned()
{
    ConnectedPlate plate;
    plate.learnt = planned();
    plate.learnt->id.clear();
    plate.capacityError = 0.02;
    plate.lossError = 0.03;
    plate.lagError = 0.02;
    plate.fanLearnt = plate.switchesFan = plate.hasWatchdog = true;
    plate.watchdogProvenS = 3.2;
    return plate;
}

static std::vector<std::string> of(const PlateType& plan, const ConnectedPlate& plate)
{
    return plateDifferences(plan, plate, 23, true);
}

TEST(PlateDifferences, PlateThatIsAsPlannedHasNone)
{
    EXPECT_THAT(of(planned(), asPlanned()), IsEmpty());
    EXPECT_THAT(of(planned(), ConnectedPlate{}), IsEmpty()) << "nothing is known of it";
}

TEST(PlateDifferences, EachIsSaidWithBothFiguresAndTheShare)
{
    ConnectedPlate plate = asPlanned();
    plate.learnt->heatCapacityJPerK = 243;
    EXPECT_THAT(
        of(planned(), plate),
        ElementsAre("heat capacity: planned for bench-plate-100: 194 J/K; this plate: 243 J/K (+25 %)"));
    plate.learnt->powerW = 280;
    plate.learnt->lossWPerK *= 1.3;
    plate.learnt->radiatingAreaM2 *= 1.3;
    plate.learnt->sensorLagS = 6;
    plate.learnt->fanLossWPerK = 0.2;
    EXPECT_THAT(of(planned(), plate),
                ElementsAre(HasSubstr("194 J/K"), HasSubstr("300 W; this plate: 280 W (-7 %)"),
                            HasSubstr("loss at 150 °C"), HasSubstr("7.5 s; this plate: 11.0 s"),
                            HasSubstr("0.34 W/K; this plate: 0.20 W/K")));
}

TEST(PlateDifferences, WhatTheErrorsOrThePlansOwnRangeExplainIsNone)
{
    ConnectedPlate plate = asPlanned();
    plate.learnt->heatCapacityJPerK = 194 * 1.07;
    EXPECT_THAT(of(planned(), plate), testing::SizeIs(1));
    plate.capacityError = 0.04;
    EXPECT_THAT(of(planned(), plate), IsEmpty());
    plate.learnt->lossWPerK *= 1.15;
    plate.learnt->radiatingAreaM2 *= 1.15;
    EXPECT_THAT(of(planned(), plate), testing::SizeIs(1));
    PlateType wide = planned();
    wide.lossRangeShare = 0.2;
    EXPECT_THAT(of(wide, plate), IsEmpty());
}

TEST(PlateDifferences, OwnLoopIsComparedByPresenceAndByItsFigures)
{
    ConnectedPlate setpoint = asPlanned();
    setpoint.bySetpoint = true;
    EXPECT_THAT(of(planned(), setpoint), ElementsAre(HasSubstr("its loop was not learnt")));
    setpoint.learnt->ownLoop = OwnLoopFigures{.gainPerK = 0.07, .integralS = 45};
    EXPECT_THAT(of(planned(), setpoint), ElementsAre(HasSubstr("its loop was learnt: plan for it")));
    PlateType plan = planned();
    plan.ownLoop = OwnLoopFigures{.gainPerK = 0.06, .integralS = 50};
    EXPECT_THAT(of(plan, setpoint), IsEmpty());
    EXPECT_THAT(of(plan, asPlanned()), ElementsAre(HasSubstr("does as it is told")));
    plan.ownLoop = OwnLoopFigures{.gainPerK = 0.02, .integralS = 120, .mostDuty = 0.5};
    EXPECT_THAT(of(plan, setpoint), ElementsAre(HasSubstr("0.020 of full heat a K; this plate: 0.070"),
                                                HasSubstr("120 s"), HasSubstr("50 %; this plate: 100 %")));
    plan.ownLoop = setpoint.learnt->ownLoop;
    setpoint.learnt->ownLoop->rampCPerS = 0.5;
    EXPECT_THAT(of(plan, setpoint), ElementsAre(HasSubstr("none; this plate: 0.50 C/s")));
}

TEST(PlateDifferences, CutThatAPlanCountsOnMustHaveBeenProven)
{
    PlateType plan = planned();
    plan.ownLoop = OwnLoopFigures{.gainPerK = 0.07, .integralS = 45, .cutAfterS = 3};
    ConnectedPlate plate = asPlanned();
    plate.bySetpoint = true;
    plate.learnt->ownLoop = plan.ownLoop;
    EXPECT_THAT(of(plan, plate), IsEmpty());
    plate.watchdogProvenS = 4.4;
    EXPECT_THAT(of(plan, plate), IsEmpty()) << "a silence that proves it is a little longer each time";
    plan.ownLoop->cutAfterS = 0.8;
    plate.watchdogProvenS = 1.5;
    EXPECT_THAT(of(plan, plate), ElementsAre(HasSubstr("0.8 s of silence; this plate: after 1.5 s")));
    plan.ownLoop->cutAfterS = 3;
    plate.watchdogProvenS = 9;
    EXPECT_THAT(of(plan, plate), ElementsAre(HasSubstr("3.0 s of silence; this plate: after 9.0 s")));
    plate.watchdogProvenS = 0;
    EXPECT_THAT(of(plan, plate), ElementsAre(HasSubstr("never proven")));
    plate.hasWatchdog = false;
    EXPECT_THAT(of(plan, plate), ElementsAre(HasSubstr("it has none")));
}

TEST(PlateDifferences, FanThatThePlanNeedsAndNobodyHasMeasuredIsSaid)
{
    ConnectedPlate plate = asPlanned();
    plate.fanLearnt = false;
    EXPECT_THAT(of(planned(), plate), ElementsAre(HasSubstr("never learnt")));
    EXPECT_THAT(plateDifferences(planned(), plate, 23, false), IsEmpty());
}

} // namespace stripwright
