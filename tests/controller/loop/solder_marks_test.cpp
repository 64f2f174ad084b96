#include "loop/solder_marks.h"

#include "bench_run.h"
#include "messages/solder_mark_text.h"

#include <cstdio>
#include <cstring>

namespace stripwright {
namespace {

/// The reference heat with solder in its joint that melts at 217 °C: at low contact 349 s from its start.
HeatPlan solderedPlan(double longerHeldS = 0)
{
    HeatPlan plan = referencePlan();
    plan.sheet.heat = HeatKind::Swap;
    const size_t held = 360; // at 240 °C
    for (double s = 0; s < longerHeldS; ++s) {
        plan.timeS.push_back(plan.timeS.back() + 1);
        plan.plateC.insert(plan.plateC.begin() + held, plan.plateC[held]);
        plan.duty.insert(plan.duty.begin() + held, plan.duty[held]);
    }
    plan.heaterOffS += longerHeldS;
    plan.stages.back().endS += longerHeldS;
    plan.sheet.oldAlloy = Alloy{.id = "old", .name = "old solder", .solidusC = 217, .liquidusC = 217};
    plan.sheet.contact = {.lowWPerM2K = 500, .nominalWPerM2K = 1000, .highWPerM2K = 2000};
    plan.sheet.sites = {{.site = 6, .state = SiteState::Replace}};
    PlanCurve joint{jointOf(6), {}, {}, {}};
    for (size_t i = 0; i < plan.timeS.size(); ++i) {
        const double plateC = plan.plateC[i];
        joint.lowC.push_back(25 +
                             0.9 * (plan.plateC[i > 6 ? i - 6 : 0] - 25)); // a point a second, a lag of 6 s
        joint.nominalC.push_back(25 + 0.94 * (plateC - 25));
        joint.highC.push_back(25 + 0.97 * (plateC - 25));
    }
    plan.curves = {joint};
    return plan;
}

struct MarkedRun : BenchRun {
    explicit MarkedRun(HeatPlan plan = solderedPlan()) : BenchRun(std::move(plan)) {}

    std::string whyNot(int site, bool liquid) { return whyNotMarked(loop.plan(), last, {site, liquid}); }
    /// As the desk takes it.
    void mark(bool liquid)
    {
        ASSERT_EQ(whyNot(6, liquid), "");
        ASSERT_TRUE(loop.markSolder({6, liquid}));
        cycle();
    }
    std::vector<MarkedSolder> marks() const
    {
        std::vector<MarkedSolder> found;
        for (const LoopEvent& event : events)
            if (const auto mark = markOf(messageOf(event)))
                found.push_back(*mark);
        return found;
    }
    void heatTo(double profileS)
    {
        until([&] { return last.state == RunState::Running; });
        untilProfile(profileS);
    }
};

TEST(SolderMarks, MoveTheEstimateInTheCycleThatTakesThem)
{
    MarkedRun run;
    run.heatTo(300);
    run.until([&] { return *run.last.jointNominalC >= 208; });
    const double before = *run.last.jointNominalC, widthK = *run.last.jointHighC - *run.last.jointLowC;
    run.mark(true);
    EXPECT_GT(*run.last.jointNominalC, before + 3) << "the solder turned before it was expected to";
    EXPECT_LT(*run.last.jointHighC - *run.last.jointLowC, widthK);
    EXPECT_EQ(run.last.saidLiquid, 1u);
    ASSERT_EQ(run.marks().size(), 1u);
    const MarkedSolder mark = run.marks()[0];
    EXPECT_EQ(mark.site, 6);
    EXPECT_TRUE(mark.liquid);
    EXPECT_NEAR(mark.afterC, *run.last.jointNominalC, 0.5);
    EXPECT_EQ(mark.meltsFromC, 217);
    EXPECT_GT(mark.afterC, mark.beforeC + 3);
}

TEST(SolderMarks, AreFollowedByANewPlanOfTheRestAtOnce)
{
    for (const bool marks : {false, true}) {
        HeatPlan plan = solderedPlan();
        plan.sheet.heat = HeatKind::Fit;
        plan.sheet.paste.alloy = Alloy{.id = "paste", .name = "paste", .solidusC = 195, .liquidusC = 195};
        plan.sheet.paste.peakC = {.min = 213, .max = 240};
        MarkedRun run(std::move(plan));
        run.heatTo(280);
        // Far later than planned: contact is poor, and the peak is to be hotter.
        const auto estimated = [&](double jointC) {
            run.until([&] { return *run.last.jointNominalC >= jointC; });
        };
        estimated(196);
        const size_t before = run.events.size();
        if (marks)
            run.mark(false);
        estimated(200);
        if (marks)
            run.mark(false);
        const double readC = *run.last.sensorC;
        run.until([&] { return *run.last.sensorC >= readC + 5; });
        if (marks)
            run.mark(true);
        for (int n = 0; n < 5; ++n)
            run.cycle();
        double hotterK = 0;
        for (size_t i = before; i < run.events.size(); ++i)
            if (const char* anew = std::strstr(run.events[i].text.data(), "peaks "))
                std::sscanf(anew, "peaks %lf K higher", &hotterK);
        if (marks)
            EXPECT_GT(hotterK, 0.5);
        else
            EXPECT_EQ(hotterK, 0);
    }
}

TEST(SolderMarks, AHeatWithoutHopeEndsAndSaysWhatToDo)
{
    MarkedRun run(solderedPlan(60));
    run.heatTo(356);
    run.mark(false);
    run.untilProfile(364);
    ASSERT_EQ(run.last.state, RunState::Running) << "once may be a slip";
    // As somebody does who looks at solder that stays as it is.
    for (double s = 365; run.last.state == RunState::Running && s < 430; s += 8) {
        run.mark(false);
        run.until([&] { return run.last.state != RunState::Running || run.last.profileS >= s; });
    }
    EXPECT_EQ(run.last.state, RunState::Stopping);
    EXPECT_LT(run.last.profileS, 420) << "heat goes to 436 s";
    run.untilState(RunState::Ended);
    EXPECT_EQ(run.last.outcome, Outcome::StoppedByLimit);
    const std::string text = run.last.outcomeText.data();
    EXPECT_NE(text.find("no target joint can get liquid"), std::string::npos) << text;
    EXPECT_NE(text.find("press it down cold and start again"), std::string::npos) << text;
    EXPECT_NE(text.find("melts at 217 °C"), std::string::npos) << text;
    std::printf("%s\n", text.c_str());
}

TEST(SolderMarks, AHeatThatWasLiquidAfterAllRunsToItsEnd)
{
    MarkedRun run;
    run.heatTo(356);
    run.mark(false);
    run.untilProfile(363);
    run.mark(true);
    run.untilState(RunState::Ended);
    EXPECT_EQ(run.last.outcome, Outcome::Completed);
    EXPECT_EQ(std::string(run.last.outcomeText.data()).find("said not"), std::string::npos)
        << run.last.outcomeText.data();
}

TEST(SolderMarks, WhatWasLastSaidNotToBeLiquidIsNotPlainlyCompleted)
{
    const auto warned = [](const MarkedRun& run) {
        return std::ranges::any_of(run.events, [](const LoopEvent& event) {
            return std::string(event.text.data()).starts_with("do not lift at site 6");
        });
    };
    MarkedRun run;
    run.heatTo(370);
    run.mark(false);
    EXPECT_TRUE(warned(run));
    HeatPlan fitting = solderedPlan();
    fitting.sheet.heat = HeatKind::Fit;
    fitting.sheet.paste.alloy = *fitting.sheet.oldAlloy;
    MarkedRun fit(fitting);
    fit.heatTo(370);
    fit.mark(false);
    EXPECT_EQ(fit.marks().size(), 1u);
    EXPECT_FALSE(warned(fit)) << "nobody lifts there";
    run.untilState(RunState::Ended);
    EXPECT_EQ(run.last.outcome, Outcome::Completed);
    const std::string text = run.last.outcomeText.data();
    EXPECT_NE(text.find("the solder at site 6 was last said not to be liquid, at 37"), std::string::npos)
        << text;
    EXPECT_NE(text.find("with the plate cooled to"), std::string::npos) << text;

    MarkedRun stopped;
    stopped.heatTo(370);
    stopped.mark(false);
    stopped.loop.requestStop();
    stopped.untilState(RunState::Ended);
    EXPECT_EQ(stopped.last.outcome, Outcome::StoppedByOperator);
    const std::string why = stopped.last.outcomeText.data();
    EXPECT_TRUE(why.starts_with("stopped by the operator")) << why;
    EXPECT_NE(why.find("last said not to be liquid"), std::string::npos) << why;

    // Before the plan has it liquid, "not yet" is as it should be.
    MarkedRun early;
    early.heatTo(320);
    early.mark(false);
    EXPECT_FALSE(warned(early));
    early.untilState(RunState::Ended);
    EXPECT_EQ(std::string(early.last.outcomeText.data()).find("said not"), std::string::npos)
        << early.last.outcomeText.data();
}

TEST(SolderMarks, LiquidSaidWhileItCoolsCountsForTheOutcome)
{
    MarkedRun run;
    run.heatTo(372);
    run.mark(false);
    run.untilState(RunState::Cooling);
    run.mark(true);
    run.untilState(RunState::Ended);
    EXPECT_EQ(std::string(run.last.outcomeText.data()).find("said not"), std::string::npos);
}

/// Its strip lies well enough for the watch of its seat, and too badly for solder that melts at 226 °C.
struct PoorStrip : ReferencePlate {
    static constexpr double gain = 0.88, lagS = 7;
    double riseK = 0;

    std::optional<PlateReading> read() override
    {
        riseK += (gain * (plateC() - 25) - riseK) * 0.2 / lagS;
        auto reading = ReferencePlate::read();
        if (reading)
            reading->stripC = 25 + riseK;
        return reading;
    }
};

TEST(SolderMarks, AThermocoupleAloneEndsAHeatWithoutHope)
{
    HeatPlan plan = solderedPlan();
    plan.sheet.stripSensorSite = 6;
    plan.sheet.oldAlloy->liquidusC = 226;
    for (double& lowC : plan.curves[0].lowC)
        lowC -= 5; // else the plan waits at its soak's end
    PoorStrip plate;
    ControlLoop loop(plate, std::move(plan), BenchRun::inVirtualTime({}));
    CycleRecord last;
    double hottestC = 0, endedAtS = 0;
    for (double wallS = 1000; !loop.ended() && wallS < 4000; wallS += 0.2) {
        plate.advance(0.2);
        last = loop.cycle(wallS);
        hottestC = std::max(hottestC, 25 + plate.riseK);
        if (endedAtS == 0 && last.state == RunState::Stopping)
            endedAtS = last.profileS;
    }
    EXPECT_EQ(last.outcome, Outcome::StoppedByLimit);
    EXPECT_NE(std::strstr(last.outcomeText.data(), "no target joint can get liquid"), nullptr)
        << last.outcomeText.data();
    EXPECT_LT(hottestC, 226);
    EXPECT_GT(endedAtS, 0);
    EXPECT_LT(endedAtS, loop.plan().heaterOffS);
}

TEST(SolderMarks, AreRefusedWithWordsWhereTheySayNothing)
{
    MarkedRun run;
    const auto has = [&](const std::string& words, int site = 6, bool liquid = true) {
        const std::string why = run.whyNot(site, liquid);
        EXPECT_NE(why.find(words), std::string::npos) << why;
    };
    run.cycle();
    has("no heat is on");
    run.heatTo(60);
    has("marks count from 197 °C on");
    has("marks count from 197 °C on", 6, false);
    has("its target is site 6", 4);
    run.heatTo(320);
    EXPECT_EQ(run.whyNot(6, true), "");
    EXPECT_EQ(run.whyNot(6, false), "");
    run.mark(true);
    has("said to be liquid already");
    EXPECT_EQ(run.whyNot(6, false), "") << "it may be taken back";
    run.untilState(RunState::Cooling);
    has("only sets again", 6, false);
    run.until([&] { return *run.last.jointHighC < 190; });
    has("the joints have set");
    run.untilState(RunState::Ended);
    has("no heat is on");

    HeatPlan bake = solderedPlan();
    bake.sheet.heat = HeatKind::Bake;
    EXPECT_NE(whyNotMarked(bake, run.last, {6, true}).find("melts no joint"), std::string::npos);
}

TEST(SolderMarks, ThatComeTooLateInTheVeryMomentChangeNothing)
{
    MarkedRun run;
    run.heatTo(320);
    run.loop.markSolder({6, true});
    run.loop.markSolder({6, true});
    run.loop.markSolder({9, true});
    run.cycle();
    EXPECT_EQ(run.marks().size(), 1u);
    run.untilState(RunState::Ended);
    run.loop.markSolder({6, false});
    run.cycle();
    EXPECT_EQ(run.marks().size(), 1u);
}

} // namespace
} // namespace stripwright
