#include "bench_run.h"
#include "loop/plate_learnt.h"

namespace stripwright {

/// What a run on the reference plate's plan has taught by the end of its soak.
static PlateLearnt learntFrom(double power, double capacity, double losses)
{
    static const HeatPlan plan = referencePlan();
    BenchRun run(plan);
    run.plate.powerFactor = power;
    run.plate.capacityFactor = capacity;
    run.plate.lossFactor = losses;
    PlateLearnt learnt(plan);
    HeatBalance balance(figuresOf(plan.sheet.plate, 25));
    run.until([&] {
        Observation seen;
        seen.plantS = run.wallS;
        seen.sensorC = run.last.sensorC;
        seen.duty = run.last.duty;
        balance.update(seen);
        if (run.last.sensorC && run.last.timeS > 0)
            learnt.advance(run.periodS, run.last.profileS, *run.last.sensorC, balance);
        return run.last.profileS >= 246;
    });
    return learnt;
}

TEST(PlateLearnt, PlateAsThePlanBelievesKeepsItsFigures)
{
    const PlateLearnt learnt = learntFrom(1, 1, 1);
    EXPECT_NEAR(learnt.capacityFactor(), 1, 0.03);
    EXPECT_NEAR(learnt.lossFactor(), 1, 0.05);
}

TEST(PlateLearnt, HeavyPlateAndSmallLossesAreToldApart)
{
    const PlateLearnt learnt = learntFrom(1, 1.2, 0.8);
    EXPECT_NEAR(learnt.capacityFactor(), 1.2, 0.06);
    EXPECT_NEAR(learnt.lossFactor(), 0.8, 0.08);
}

TEST(PlateLearnt, WeakMainsRaiseBothAlike)
{
    const PlateLearnt learnt = learntFrom(0.9, 1, 1);
    EXPECT_NEAR(learnt.capacityFactor(), 1 / 0.9, 0.05);
    EXPECT_NEAR(learnt.lossFactor(), 1 / 0.9, 0.07);
}

TEST(PlateLearnt, NothingLearntIsFactorsOfOne)
{
    EXPECT_EQ(PlateLearnt().capacityFactor(), 1);
    EXPECT_EQ(PlateLearnt().lossFactor(), 1);
}

} // namespace stripwright
