// A whole job on a plate that is not ours and has a loop of its own: found, connected, learnt, planned for,
// heated; over a serial line, in the plate's time.

#include "loop/runnable_plan.h"
#include "whole_job.h"

#include <gmock/gmock.h>

using namespace stripwright;

namespace {

class WholeJob : public testing::Test {
protected:
    /// Everything up to the end of the heat; both tests look at it.
    struct Job {
        LockstepPlate peer;
        std::vector<FoundDevice> found;
        std::string proofs;
        CommissioningResult connected;
        Learnt learnt;
        HeatPlan plan;
        std::vector<std::string> notRunnable;
        std::unique_ptr<LockstepHeat> heat;
        LockstepPlate::Truth atTheEnd;
    };
    static inline std::unique_ptr<Job> job;

    static void TearDownTestSuite() { job.reset(); }
    static void SetUpTestSuite()
    {
        job = std::make_unique<Job>();
        timed("find", [] { job->found = findOn(job->peer.device()); });
        ASSERT_EQ(job->found.size(), 1u);
        timed("connect", connect);
        ASSERT_TRUE(job->connected.link) << testing::PrintToString(job->connected.refusals) << job->proofs;
        PlateLink& link = *job->connected.link;
        timed("tune", [&] { job->learnt = learn(job->peer, link); });
        ASSERT_TRUE(job->learnt.fit.ownLoop) << job->learnt.why;
        link.identified = identifiedFrom(job->learnt.fit, simcGains(job->learnt.fit.figures));
        timed("plan", [&] { job->plan = planSheet(sheetOn(link)); });
        std::printf("planned: peak %.1f C, heater off at %.0f s, cut after %.1f s of silence\n",
                    *std::ranges::max_element(job->plan.plateC), job->plan.heaterOffS, link.watchdogProvenS);
        job->notRunnable = whyNotRunnable(job->plan, link.identified);
        ASSERT_THAT(job->notRunnable, testing::IsEmpty());
        timed("cool", [] { job->peer.advance(3 * 3600); });
        timed("heat", [&] {
            job->heat = std::make_unique<LockstepHeat>(job->peer, link, job->plan);
            job->heat->looksForWorst = true;
            job->heat->run();
        });
        job->atTheEnd = job->peer.advance(5);
    }

    static void connect()
    {
        const DraftLink draft = draftFor(job->found.front());
        LockstepSurroundings around(job->peer);
        job->connected = commissionPlate({draft, widthsOf(draft.link), LockstepPlate::ambientC}, around);
        job->proofs = around.proofs;
    }
    template <class Work> static void timed(const char* what, Work work)
    {
        const double fromS = nowS(), fromPlantS = job->peer.timeS();
        work();
        std::printf("%-8s %6.0f s of the plate's time in %4.1f s\n", what, job->peer.timeS() - fromPlantS,
                    nowS() - fromS);
    }
};

TEST_F(WholeJob, PlateIsFoundAndProvenToBeCutBySilence)
{
    EXPECT_EQ(job->found.front().link.unit, 3);
    const PlateLink& link = *job->connected.link;
    EXPECT_EQ(inWords(link.sensor), "int16 x 0.1");
    EXPECT_GT(link.watchdogProvenS, 3);
    EXPECT_LT(link.watchdogProvenS, 6);
    EXPECT_TRUE(job->connected.heaterOff);
}

TEST_F(WholeJob, PlateAndLoopAreLearntWithoutToldDuty)
{
    const PlateFit& fit = job->learnt.fit;
    EXPECT_EQ(job->learnt.why, "");
    EXPECT_TRUE(job->learnt.heaterOff);
    EXPECT_THAT(fit.refusals, testing::IsEmpty());
    const LockstepPlate::Figures truth = job->peer.figures();
    EXPECT_NEAR(fit.figures.heatCapacityJPerK / truth.heatCapacityJPerK, 1, 0.03);
    EXPECT_NEAR(fit.figures.lossW(150) / truth.lossAt150W, 1, 0.03);
    EXPECT_NEAR(fit.ownLoop->gainPerK / truth.gainPerK, 1, 0.03);
    EXPECT_NEAR(fit.ownLoop->integralS / truth.integralS, 1, 0.03);
    std::printf("learnt   %.1f J/K, %.2f W at 150 C, %.4f/K, %.1f s; true %.1f, %.2f, %.4f, %.1f\n",
                fit.figures.heatCapacityJPerK, fit.figures.lossW(150), fit.ownLoop->gainPerK,
                fit.ownLoop->integralS, truth.heatCapacityJPerK, truth.lossAt150W, truth.gainPerK,
                truth.integralS);
}

TEST_F(WholeJob, HeatKeepsToItsPlanAndLeavesTheHeaterOff)
{
    const LockstepHeat& heat = *job->heat;
    std::printf("heat     %.2f K RMS, %.2f K worst; %d answers were late\n", heat.rmsK(), heat.worstK,
                PatientPlate::askedAgain);
    EXPECT_TRUE(job->plan.runnable);
    EXPECT_EQ(heat.trips, "");
    EXPECT_EQ(heat.last.state, RunState::Cooling) << heat.last.outcomeText.data();
    EXPECT_GE(heat.last.profileS, job->plan.heaterOffS - 1);
    EXPECT_LE(heat.rmsK(), 1);
    EXPECT_LE(heat.worstK, 2);
    EXPECT_EQ(job->atTheEnd.duty, 0);
    EXPECT_EQ(job->atTheEnd.setpointC, 0);
    EXPECT_FALSE(job->atTheEnd.cut);
}

TEST_F(WholeJob, HostThatDiesAtTheWorstMomentLeavesThePlateLittleWarmer)
{
    LockstepPlate peer;
    PlateLink link = *job->connected.link;
    link.serial->device = peer.device();
    LockstepHeat heat(peer, link, job->plan);
    heat.run([&] { return heat.last.profileS >= job->heat->worstSilenceAtS; });
    const double lastC = heat.last.sensorC.value(), leadK = peer.truth().setpointC - lastC;
    ASSERT_GT(leadK, 5);
    ASSERT_GT(peer.truth().duty, 0.5);

    heat.die();
    double hottestC = peer.truth().plateC;
    for (int i = 0; i < 600; ++i)
        hottestC = std::max(hottestC, peer.advance(0.2).plateC);
    std::printf("silence  at %.0f s, %.1f C, the set-point %.0f K above: %.1f K warmer\n", heat.last.profileS,
                lastC, leadK, hottestC - lastC);
    EXPECT_NEAR(hottestC - lastC, job->heat->worstSilenceK, 1);
    EXPECT_TRUE(peer.truth().cut);
    EXPECT_EQ(peer.truth().duty, 0);
    EXPECT_LE(hottestC - lastC, 25);
    ASSERT_TRUE(job->plan.leftAloneAtMostC);
    EXPECT_LE(hottestC, *job->plan.leftAloneAtMostC);
}

} // namespace
