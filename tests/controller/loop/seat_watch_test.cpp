#include "loop/seat_watch.h"

#include "joint_trial.h"

#include <cmath>
#include <string>

namespace stripwright {
namespace {

using Verdict = SeatWatch::Verdict;

/// Ramps the plate at 1 K/s with the watch looking on; whether it ever said that the strip is not seated.
bool ramp(JointTrial& trial, SeatWatch& seat, double toC, double rampCPerS = 1)
{
    bool said = false;
    while (trial.plateC < toC) {
        trial.cycle(rampCPerS);
        said = seat.advance(trial.periodS, trial.plateC, trial.joints) == Verdict::NotSeated || said;
    }
    return said;
}

TEST(SeatWatch, NoticesAStripAtATenthToThreeTenthsOfTheLowContact)
{
    const HeatPlan plan = trialPlan();
    for (const double ofLow : {0.1, 0.2, 0.3}) {
        JointTrial trial(plan, ofLow / 3);
        SeatWatch seat;
        ramp(trial, seat, 120);
        EXPECT_EQ(seat.verdict(), Verdict::NotSeated) << ofLow;
        EXPECT_NE(std::string(seat.text()).find("thermocouple at site 1"), std::string::npos) << seat.text();
        EXPECT_NE(std::string(seat.text()).find("planned from 33 %"), std::string::npos) << seat.text();
    }
}

TEST(SeatWatch, LetsAStripThatLiesAtAnyPlannedContactBe)
{
    const HeatPlan plan = trialPlan();
    for (const double factor : {1 / 3.0, 1.0, 3.0}) {
        JointTrial trial(plan, factor);
        SeatWatch seat;
        EXPECT_FALSE(ramp(trial, seat, 200)) << factor;
    }
}

TEST(SeatWatch, SeesNothingWithoutAThermocouple)
{
    HeatPlan plan = trialPlan();
    JointTrial silent(plan, 0.05);
    silent.silent = true;
    SeatWatch seat;
    EXPECT_FALSE(ramp(silent, seat, 200));
    plan.sheet.stripSensorSite.reset();
    JointTrial none(plan, 0.05);
    EXPECT_FALSE(ramp(none, seat, 200));
}

TEST(SeatWatch, SeesAStripThatIsPressedDownSeatedAgain)
{
    const HeatPlan plan = trialPlan();
    JointTrial trial(plan, 0.05);
    SeatWatch seat;
    ramp(trial, seat, 100);
    ASSERT_EQ(seat.verdict(), Verdict::NotSeated);
    trial.truth = plan.joints[0].nominal; // pressed down; the plate holds
    double untilS = 0;
    for (; untilS < 60 && seat.verdict() == Verdict::NotSeated; untilS += trial.periodS) {
        trial.cycle(0);
        seat.advance(trial.periodS, trial.plateC, trial.joints);
    }
    EXPECT_EQ(seat.verdict(), Verdict::Go);
    EXPECT_GT(untilS, 10) << "prior knowledge alone is no reason";
    EXPECT_LT(untilS, 45);
}

} // namespace
} // namespace stripwright
