#include "bench_run.h"

#include <cmath>

namespace stripwright {

struct Tracking {
    double rmsK = 0, maxK = 0, overshootK = 0, heldS = 0;
};

/// Plate against reference while heat is on; overshoot above the highest reference at any time.
static Tracking track(BenchRun& run)
{
    Tracking tracking;
    double sum = 0, hottestC = 0;
    int n = 0;
    run.until([&] {
        if (run.last.state == RunState::Running) {
            const double errorK = run.plate.plateC() - run.last.referenceC;
            sum += errorK * errorK, ++n;
            tracking.maxK = std::max(tracking.maxK, std::abs(errorK));
        }
        hottestC = std::max(hottestC, run.plate.plateC());
        tracking.heldS += run.last.state == RunState::Holding ? run.periodS : 0;
        return run.last.state == RunState::Ended;
    });
    tracking.rmsK = std::sqrt(sum / n);
    tracking.overshootK = hottestC - 240;
    std::printf("tracking: RMS %.3f K, max %.2f K, overshoot %.2f K, held %.1f s\n", tracking.rmsK,
                tracking.maxK, tracking.overshootK, tracking.heldS);
    return tracking;
}

TEST(ControlLoop, KeepsTheReferencePlateOnItsPath)
{
    BenchRun run;
    const Tracking tracking = track(run);
    EXPECT_LE(tracking.rmsK, 0.5);
    EXPECT_LE(tracking.maxK, 2);
    EXPECT_LE(tracking.overshootK, 1);
    EXPECT_EQ(run.last.outcome, Outcome::Completed);
    EXPECT_EQ(run.last.heater, HeaterState::OffConfirmed);
    EXPECT_LT(run.plate.plateC(), 45.5);
    EXPECT_EQ(run.firstTrip(), nullptr);
}

TEST(ControlLoop, PlateThatDiffersFromItsFiguresByATenthTripsNothing)
{
    for (double power : {0.9, 1.1})
        for (double losses : {0.8, 1.2}) {
            BenchRun run;
            run.plate.powerFactor = power;
            run.plate.lossFactor = losses;
            const Tracking tracking = track(run);
            EXPECT_LE(tracking.overshootK, 2);
            EXPECT_EQ(run.last.outcome, Outcome::Completed);
            EXPECT_EQ(run.firstTrip(), nullptr);
        }
}

TEST(ControlLoop, WeakPlateStretchesTheProfileInsteadOfFallingBehind)
{
    BenchRun run;
    run.plate.powerFactor = 0.8;
    const Tracking tracking = track(run);
    EXPECT_GT(tracking.heldS, 5);
    EXPECT_LE(tracking.rmsK, 2.5);
    EXPECT_EQ(run.firstTrip(), nullptr) << run.firstTrip()->text.data();
    EXPECT_TRUE(run.said("the plan waits"));
}

TEST(ControlLoop, PlateThatCannotFollowAtAllIsStoppedByItsLimit)
{
    BenchRun run;
    run.plate.powerFactor = 0.6;
    run.untilState(RunState::Ended);
    EXPECT_EQ(run.last.outcome, Outcome::StoppedByLimit);
    EXPECT_NE(std::string(run.last.outcomeText.data()).find("cannot follow"), std::string::npos)
        << run.last.outcomeText.data();
}

TEST(ControlLoop, SamplesAreNumberedWithoutGapsAndFromOne)
{
    BenchRun run;
    run.untilState(RunState::Ended);
    long seq = 0, eventSeq = 0;
    for (const CycleRecord& record : run.records)
        if (record.sampleSeq > 0) {
            EXPECT_EQ(record.sampleSeq, ++seq);
            EXPECT_TRUE(std::isfinite(record.referenceC) && std::isfinite(record.expectedC));
        }
    EXPECT_GT(seq, 5 * 376);
    for (const LoopEvent& event : run.events)
        EXPECT_EQ(event.seq, ++eventSeq);
    EXPECT_GE(eventSeq, 3) << "it heats, it cools, it ends";
}

TEST(ControlLoop, AnotherMasterThatKeepsWritingTheHeatEndsTheRun)
{
    BenchRun run;
    run.untilProfile(100);
    run.plate.foreignMaster = true;
    run.cycle();
    run.plate.foreignMaster = false;
    for (int i = 0; i < 100; ++i) // once is no habit
        run.cycle();
    EXPECT_EQ(run.firstTrip(), nullptr);
    run.plate.foreignMaster = true;
    for (int i = 0; i < 4; ++i)
        run.cycle();
    ASSERT_NE(run.firstTrip(), nullptr);
    EXPECT_NE(std::string(run.firstTrip()->text.data()).find("other master"), std::string::npos);
    EXPECT_EQ(run.plate.duty(), 0);
}

TEST(ControlLoop, AnotherMasterThatWritesHeatWhileItCoolsIsSaidOnceAndSentOffAgain)
{
    BenchRun run;
    run.untilState(RunState::Cooling);
    run.cycle();
    run.plate.foreignMaster = true;
    const int offs = run.plate.heaterOffCalls;
    for (int i = 0; i < 30; ++i)
        run.cycle();
    EXPECT_GE(run.plate.heaterOffCalls, offs + 30);
    int said = 0;
    for (const LoopEvent& event : run.events)
        if (std::string(event.text.data()).starts_with("something else drives this plate")) {
            ++said;
            EXPECT_EQ(event.severity, Severity::Warning);
        }
    EXPECT_EQ(said, 1);
    EXPECT_EQ(run.firstTrip(), nullptr);
}

TEST(ControlLoop, StopTurnsTheHeaterOffReadBackWithinOneCycle)
{
    BenchRun run;
    run.untilProfile(100);
    EXPECT_EQ(run.last.heater, HeaterState::On);
    run.loop.requestStop();
    run.cycle();
    EXPECT_EQ(run.plate.duty(), 0);
    EXPECT_EQ(run.last.heater, HeaterState::OffConfirmed);
    run.untilState(RunState::Ended);
    EXPECT_EQ(run.last.outcome, Outcome::StoppedByOperator);
    EXPECT_LT(run.plate.plateC(), 45.5);
}

TEST(ControlLoop, HeatThatIsStillOnItsWayAfterAnEarlyStopIsWaitedFor)
{
    BenchRun run;
    run.until([&] { return run.last.timeS >= 8; });
    run.loop.requestStop();
    run.untilState(RunState::Ended);
    EXPECT_EQ(run.last.outcome, Outcome::StoppedByOperator);
    EXPECT_EQ(run.firstTrip(), nullptr);
    const double atEndC = run.plate.read()->sensorC;
    run.plate.advance(60);
    EXPECT_LE(run.plate.read()->sensorC, atEndC + 0.2);
}

TEST(ControlLoop, OffThatIsNotConfirmedIsSentAgainAndNeverShownAsOff)
{
    BenchRun run;
    run.untilProfile(100);
    run.plate.ignoresCommands = true;
    run.loop.requestStop();
    const long before = run.plate.heaterOffCalls;
    for (int n = 0; n < 50; ++n) {
        run.cycle();
        EXPECT_EQ(run.last.heater, HeaterState::OffCommanded);
        EXPECT_EQ(run.last.state, RunState::Stopping);
    }
    EXPECT_GE(run.plate.heaterOffCalls - before, 50);
    EXPECT_TRUE(run.said("not confirmed"));
    run.plate.ignoresCommands = false;
    run.cycle();
    EXPECT_EQ(run.last.heater, HeaterState::OffConfirmed);
    run.untilState(RunState::Ended);
    EXPECT_EQ(run.last.outcome, Outcome::StoppedByOperator);
}

TEST(ControlLoop, LinkThatStaysDeadEndsTheRunAsFailedNotAsOff)
{
    BenchRun run;
    run.untilProfile(100);
    run.plate.noAnswer = true;
    run.until([&] { return run.last.state == RunState::Stopping; }, 1.3);
    EXPECT_EQ(run.last.link, LinkState::Lost);
    EXPECT_NE(run.last.heater, HeaterState::OffConfirmed);
    EXPECT_NE(std::string(run.last.linkText.data()), "");
    ASSERT_TRUE(run.firstTrip());
    EXPECT_NE(std::string(run.firstTrip()->text.data()).find("link lost"), std::string::npos);
    run.untilState(RunState::Ended, 70);
    EXPECT_EQ(run.last.outcome, Outcome::Failed);
    EXPECT_NE(run.last.heater, HeaterState::OffConfirmed);
    EXPECT_FALSE(run.last.sensorC) << "unknown is no frozen number";
}

/// Seconds from a fault at this profile time to the heater off; the run must end as stopped by a limit.
static double secondsToOff(const std::function<void(ReferencePlate&)>& fault, double atProfileS,
                           const std::string& firstCause, HeatPlan plan = referencePlan())
{
    BenchRun run(std::move(plan));
    run.untilProfile(atProfileS);
    EXPECT_EQ(run.firstTrip(), nullptr);
    fault(run.plate);
    const double faultWallS = run.wallS;
    if (!run.untilState(RunState::Stopping, 120))
        return INFINITY;
    const double offS = run.wallS - faultWallS;
    EXPECT_NE(run.firstTrip(), nullptr);
    if (run.firstTrip()) {
        EXPECT_NE(std::string(run.firstTrip()->text.data()).find(firstCause), std::string::npos)
            << run.firstTrip()->text.data();
    }
    EXPECT_GT(run.plate.heaterOffCalls, 0);
    std::printf("%s at %.0f s: heater off after %.1f s\n", firstCause.c_str(), atProfileS, offS);
    return offS;
}

TEST(Faults, EachTurnsTheHeaterOffWithinItsBound)
{
    for (double atS : {60.0, 200.0, 300.0}) {
        SCOPED_TRACE(atS);
        EXPECT_LE(secondsToOff([](auto& plate) { plate.sensorFault = true; }, atS, "sensor fault"), 0.5);
        EXPECT_LE(secondsToOff([](auto& plate) { plate.spikeK = 60; }, atS, "sensor fault"), 0.5);
        EXPECT_LE(secondsToOff([](auto& plate) { plate.noAnswer = true; }, atS, "link lost"), 1.3);
        EXPECT_LE(
            secondsToOff([](auto& plate) { plate.ignoresCommands = true; }, atS, "does not take commands"),
            1.1);
        EXPECT_LE(secondsToOff([](auto& plate) { plate.stuck = true; }, atS, "stale reading"), 6);
        EXPECT_LE(secondsToOff([](auto& plate) { plate.counterStands = true; }, atS, "update counter"), 2.5);
        EXPECT_LE(secondsToOff([](auto& plate) { plate.watchdogTripped = true; }, atS, "watchdog"), 0.5);
        EXPECT_LE(secondsToOff([](auto& plate) { plate.heaterOpen = true; }, atS, "no rise"), 20);
    }
    EXPECT_LE(secondsToOff([](auto& plate) { plate.stuck = true; }, 350, "stale reading"), 20.5);
    EXPECT_LE(secondsToOff([](auto& plate) { plate.welded = true; }, 200, ""), 20);
    EXPECT_LE(secondsToOff([](auto& plate) { plate.welded = true; }, 350, ""), 20);
}

TEST(WatchdogBit, ThatStoodBeforeTheHeatIsSaidAndTheRunGoesOn)
{
    BenchRun run;
    run.plate.watchdogTripped = true;
    ASSERT_TRUE(run.untilProfile(100));
    EXPECT_TRUE(run.said("since before this heat"));
    EXPECT_FALSE(run.firstTrip());
    run.plate.heaterOpen = true; // what a cut that it hides looks like
    ASSERT_TRUE(run.untilState(RunState::Stopping, 20));
    EXPECT_TRUE(run.said("no rise"));
}

TEST(WatchdogBit, ThatThePlateTakesBackOnceItIsEnabledCountsAgain)
{
    BenchRun run;
    run.plate.watchdogTripped = true;
    ASSERT_TRUE(run.untilProfile(20));
    run.plate.watchdogTripped = false;
    ASSERT_TRUE(run.untilProfile(40));
    EXPECT_FALSE(run.firstTrip());
    run.plate.watchdogTripped = true;
    ASSERT_TRUE(run.untilState(RunState::Stopping, 1));
    EXPECT_TRUE(run.said("own watchdog has cut"));
}

TEST(WatchdogBit, IsClearedBeforeTheHeatWhereTheLinkSaysHow)
{
    BenchRun run;
    run.plate.watchdogTripped = run.plate.canClear = true;
    ASSERT_TRUE(run.untilState(RunState::Running, 5));
    EXPECT_FALSE(run.plate.watchdogTripped);
    EXPECT_TRUE(run.said("set since before this heat; cleared"));
    run.plate.watchdogTripped = true;
    ASSERT_TRUE(run.untilState(RunState::Stopping, 1));
}

TEST(WatchdogBit, ThatDoesNotClearIsRefusedBeforeAnyHeat)
{
    BenchRun run;
    run.plate.watchdogTripped = run.plate.canClear = run.plate.clearDoesNothing = true;
    ASSERT_TRUE(run.untilState(RunState::Ended, 60));
    EXPECT_TRUE(run.said("was told to clear it"));
    EXPECT_EQ(run.plate.heatingS(), 0);
    EXPECT_NE(run.last.outcome, Outcome::Completed);
}

TEST(WatchdogThatWasNeverProven, IsSaidInEveryHeat)
{
    for (const bool unproven : {true, false}) {
        LoopSettings settings;
        settings.watchdogUnproven = unproven;
        BenchRun run(referencePlan(), settings);
        ASSERT_TRUE(run.untilState(RunState::Running, 5));
        EXPECT_EQ(run.said("nobody has seen this plate cut its heater"), unproven);
    }
}

TEST(Faults, OverTemperatureTurnsTheHeaterOffAtOnce)
{
    HeatPlan plan = referencePlan();
    plan.tripAboveC = 120;
    BenchRun run(plan);
    run.untilState(RunState::Stopping);
    EXPECT_NEAR(*run.last.sensorC, 120, 0.5);
    EXPECT_NE(std::string(run.firstTrip()->text.data()).find("over temperature"), std::string::npos);
    EXPECT_EQ(run.plate.duty(), 0);
}

TEST(Faults, WhatABenchSeesEveryDayTripsNothing)
{
    const std::vector<std::function<void(ReferencePlate&, int)>> harmless = {
        [](auto& plate, int n) { plate.spikeK = n == 300 || n == 900 ? 50 : 0; },
        [](auto& plate, int n) { plate.draughtW = n > 400 && n < 1200 ? 80 : 0; },
        [](auto& plate, int n) { plate.noAnswer = n % 10 == 0; },
        [](auto& plate, int n) { plate.sensorFault = n % 25 == 0; },
    };
    for (size_t i = 0; i < harmless.size(); ++i) {
        SCOPED_TRACE(i);
        BenchRun run;
        int n = 0;
        run.until([&] {
            harmless[i](run.plate, ++n);
            return run.last.state == RunState::Cooling || run.last.state == RunState::Stopping;
        });
        EXPECT_EQ(run.last.state, RunState::Cooling);
        EXPECT_EQ(run.firstTrip(), nullptr) << run.firstTrip()->text.data();
    }
}

TEST(ControlLoop, CycleThatComesLateTurnsTheHeatOffAndStops)
{
    BenchRun run;
    run.untilProfile(100);
    const long before = run.plate.heaterOffCalls;
    run.wallS += 1.2;
    run.cycle();
    EXPECT_EQ(run.plate.duty(), 0);
    EXPECT_GT(run.plate.heaterOffCalls, before);
    EXPECT_EQ(run.last.state, RunState::Stopping);
    EXPECT_TRUE(run.said("late"));
}

TEST(ControlLoop, GapOfThreePeriodsWritesOffFirstAndGoesOn)
{
    BenchRun run;
    run.untilProfile(100);
    const long before = run.plate.heaterOffCalls;
    run.plate.advance(0.8);
    run.wallS += 0.6;
    run.cycle();
    EXPECT_EQ(run.plate.heaterOffCalls, before + 1);
    EXPECT_EQ(run.last.state, RunState::Running);
    EXPECT_GT(run.plate.duty(), 0);
}

TEST(ControlLoop, HeatDoesNotStartBeforeTheHandsSayDone)
{
    HeatPlan plan = referencePlan();
    plan.cards = {{"ventilate", -1, 0, "Open the window.", "", "", false},
                  {"lay-strip", -1, 0, "Lay the strip down.", "", "", true},
                  {"swap", 300, 320, "Swap the LED.", "", "", false}};
    BenchRun run(plan);
    for (int n = 0; n < 500; ++n) {
        run.cycle();
        EXPECT_EQ(run.last.state, RunState::Starting);
        EXPECT_EQ(run.plate.duty(), 0);
        EXPECT_EQ(run.last.card, 1) << "what blocks the start comes first";
        EXPECT_EQ(run.last.sampleSeq, 0);
    }
    EXPECT_FALSE(run.loop.confirmCard("no-such-card"));
    EXPECT_TRUE(run.loop.confirmCard("lay-strip"));
    run.cycle();
    EXPECT_EQ(run.last.state, RunState::Running);
    EXPECT_EQ(run.last.sampleSeq, 1);
    EXPECT_EQ(run.last.timeS, 0);
    run.untilProfile(301);
    EXPECT_EQ(run.last.card, 2);
    run.loop.confirmCard("swap");
    run.cycle();
    EXPECT_EQ(run.last.card, -1);
}

TEST(ControlLoop, WorkThatIsSaidDoneLongAfterItsTimeIsSaidLate)
{
    HeatPlan plan = referencePlan();
    plan.cards = {{"swap-led-4", 280, 300, "Swap the LED.", "", "", false},
                  {"swap-led-6", 300, 320, "Swap the LED.", "", "", false},
                  {"lift-strip", 310, 320, "Lift the strip.", "", "", false}};
    BenchRun run(plan);
    run.untilProfile(322);
    run.loop.confirmCard("swap-led-6");
    run.cycle();
    EXPECT_TRUE(run.said("done: swap-led-6")) << "hands that are a little late say when";
    run.untilProfile(330);
    run.loop.confirmCard("swap-led-4");
    run.loop.confirmCard("lift-strip");
    run.cycle();
    EXPECT_TRUE(run.said("done late: swap-led-4"));
    EXPECT_FALSE(run.said("done: swap-led-4"));
    EXPECT_TRUE(run.said("done: lift-strip"));
}

TEST(ControlLoop, CardThatNoTimeRaisesNeverComesUpByItself)
{
    HeatPlan plan = referencePlan();
    plan.cards = {{"reseat-strip", 0, 1e6, "Press it down.", "", "", false, Raised::WhenNotSeated},
                  {"reseat-first", -1, 0, "Press it down.", "", "", false, Raised::WhenNotSeated}};
    BenchRun run(plan);
    run.until([&] {
        EXPECT_EQ(run.last.card, -1);
        return run.last.profileS > 60;
    });
}

TEST(ControlLoop, StopBeforeTheHeatStartsEndsTheRun)
{
    HeatPlan plan = referencePlan();
    plan.cards = {{"lay-strip", -1, 0, "Lay the strip down.", "", "", true}};
    BenchRun run(plan);
    run.cycle();
    run.loop.requestStop();
    run.untilState(RunState::Ended, 3);
    EXPECT_EQ(run.last.outcome, Outcome::StoppedByOperator);
    EXPECT_EQ(run.plate.heatingS(), 0);
}

TEST(ControlLoop, WarmPlateIsNotHeated)
{
    BenchRun run(referencePlan(), {}, 80);
    run.untilState(RunState::Ended, 5);
    EXPECT_EQ(run.plate.heatingS(), 0);
    EXPECT_EQ(run.last.outcome, Outcome::StoppedByLimit);
    EXPECT_TRUE(run.said("starts below 50"));
}

TEST(ControlLoop, NoHeatFromHeaterOffOnAndTheFanRuns)
{
    HeatPlan plan = referencePlan();
    plan.sheet.cooling.fan = true;
    BenchRun run(plan);
    run.untilProfile(plan.heaterOffS - 1);
    EXPECT_FALSE(run.plate.fan());
    run.untilState(RunState::Cooling, 3);
    EXPECT_TRUE(run.plate.fan());
    const double heatedS = run.plate.heatingS();
    run.untilState(RunState::Ended);
    EXPECT_EQ(run.plate.heatingS(), heatedS);
    EXPECT_FALSE(run.plate.fan()) << "off again once all is cold";
}

TEST(ControlLoop, AFanThatHandsSwitchIsAskedForAndNeverSaidToBeOn)
{
    HeatPlan plan = referencePlan();
    plan.sheet.cooling.fan = true;
    BenchRun run(plan);
    run.plate.fanByHand = true;
    run.untilProfile(plan.heaterOffS - 1);
    EXPECT_FALSE(run.said("by hand"));
    run.untilState(RunState::Cooling, 3);
    EXPECT_TRUE(run.said("switch the fan on by hand now"));
    run.untilState(RunState::Ended);
    EXPECT_TRUE(run.said("can be switched off by hand"));
    for (const LoopEvent& event : run.events)
        EXPECT_STRNE(event.text.data(), "fan on");
}

TEST(ControlLoop, StripIsLiftedByItselfOnlyInSimulation)
{
    HeatPlan plan = referencePlan();
    plan.liftAtS = 400;
    plan.cards = {{"lift-strip", 400, 430, "Lift the strip.", "", "", false}};
    BenchRun simulated(plan, {.simulatedStrip = true});
    simulated.untilProfile(401);
    EXPECT_TRUE(simulated.plate.lifted());
    EXPECT_FALSE(simulated.last.jointHighC) << "nothing is known of a strip off the plate";
    BenchRun byHand(plan);
    byHand.untilProfile(410);
    EXPECT_FALSE(byHand.plate.lifted());
    byHand.loop.confirmCard("lift-strip");
    byHand.cycle();
    EXPECT_TRUE(byHand.plate.lifted());
}

TEST(ControlLoop, DwellAsLongAsThePasteAllowsEndsTheHeatEarly)
{
    HeatPlan plan = referencePlan();
    plan.sheet.paste.aboveLiquidusS.max = 15;
    BenchRun run(plan);
    run.untilState(RunState::Cooling);
    EXPECT_TRUE(run.said("above liquidus, the paste allows 15 s"));
    EXPECT_EQ(run.plate.duty(), 0);
    EXPECT_LT(run.last.timeS, plan.heaterOffS - 5);
    run.untilState(RunState::Ended);
    EXPECT_EQ(run.last.outcome, Outcome::Completed);

    plan.sheet.paste.aboveLiquidusS.maxIsHabit = true;
    BenchRun habit(plan);
    habit.untilState(RunState::Cooling);
    EXPECT_FALSE(habit.said("paste allows")) << "a habit is no limit";
}

/// The plan's own response without its lag, which no peak of the joint is above.
static double jointAtHighContactC(const BenchRun& run)
{
    return 25 + run.loop.plan().joints[0].high.gain * (run.plate.plateC() - 25);
}

TEST(ControlLoop, BodyCapEndsTheHeatBeforeItIsPassed)
{
    HeatPlan plan = referencePlan();
    plan.sheet.strip.led.bodyMaxC = 225;
    BenchRun run(plan);
    double hottestC = 0;
    run.until([&] {
        hottestC = std::max(hottestC, jointAtHighContactC(run));
        return run.last.state == RunState::Ended;
    });
    EXPECT_TRUE(run.said("LED body limit"));
    EXPECT_LE(hottestC, 225.5);
}

TEST(ControlLoop, AHeatThatMeltsNothingEndsBeforeItsJointsCanMove)
{
    for (const HeatKind heat : {HeatKind::Release, HeatKind::Bake}) {
        HeatPlan plan = referencePlan();
        plan.sheet.heat = heat;
        plan.sheet.oldAlloy = Alloy{.id = "sn42bi58", .movableAboveC = 138};
        plan.sheet.paste.aboveLiquidusS.max.reset();
        BenchRun run(plan);
        double hottestC = 0;
        run.until([&] {
            hottestC = std::max(hottestC, jointAtHighContactC(run));
            return run.last.state == RunState::Ended;
        });
        EXPECT_TRUE(run.said("joints stay solid below 135.5 °C"));
        EXPECT_LT(hottestC, 138);
        EXPECT_GT(hottestC, 133) << "a plan may use all but solidRoomK";
        EXPECT_EQ(run.last.outcome, Outcome::Completed);
    }
}

TEST(ControlLoop, WithoutCompanyHeatEndsInPreheatAndSoak)
{
    BenchRun unwatched;
    unwatched.untilProfile(50);
    unwatched.loop.setWatchedByNobody(true);
    unwatched.untilState(RunState::Stopping, 0.5);

    BenchRun guardian;
    guardian.untilProfile(50);
    guardian.loop.setGuardianGone();
    guardian.untilState(RunState::Stopping, 5.5);
    EXPECT_TRUE(guardian.said("guardian"));

    BenchRun late;
    late.untilProfile(300);
    late.loop.setGuardianGone();
    late.loop.setLogFailing(true);
    late.untilState(RunState::Ended);
    EXPECT_EQ(late.last.outcome, Outcome::Completed) << "a reflow that has begun is finished";

    BenchRun log;
    log.untilProfile(50);
    log.loop.setLogFailing(true);
    log.untilState(RunState::Stopping, 0.5);
}

TEST(ControlLoop, LeavingTurnsTheHeaterOffAndEndsWithoutWaiting)
{
    BenchRun run;
    run.untilProfile(250);
    run.loop.requestLeave();
    run.untilState(RunState::Ended, 1);
    EXPECT_EQ(run.plate.duty(), 0);
    EXPECT_EQ(run.last.outcome, Outcome::StoppedByOperator);
    EXPECT_GT(run.plate.plateC(), 100);
}

TEST(ControlLoop, SetpointIsNeverFurtherAheadThanTwoSecondsOfRamp)
{
    const HeatPlan plan = referencePlan();
    BenchRun run(plan, {.drive = DriveKind::Setpoint});
    run.plate.reportsDuty = false;
    double highestC = 0;
    for (int n = 0; n < 500; ++n) {
        // The plate's own loop: strong proportional control.
        run.cycle();
        EXPECT_LE(run.plate.setpointC(),
                  planValue(plan.timeS, plan.plateC, run.last.profileS) + 2 * 0.8 + 1e-9);
        highestC = std::max(highestC, run.plate.setpointC());
        const double wanted = std::clamp(0.3 * (run.plate.setpointC() + 1.5 - run.plate.plateC()), 0.0, 1.0);
        run.plate.setDuty(wanted);
    }
    EXPECT_GT(highestC, 90);
    EXPECT_GT(run.plate.plateC(), 80);
    EXPECT_EQ(run.firstTrip(), nullptr) << run.firstTrip()->text.data();
    run.loop.requestStop();
    run.cycle();
    EXPECT_EQ(run.plate.setpointC(), 0);
}

TEST(ControlLoop, FastClockJudgesThePlateInPlantTimeAndTheLineInWallTime)
{
    BenchRun run(referencePlan(), {.plantSPerWallS = 50});
    // 0.2 s of plant time in each cycle are 4 ms of wall time.
    auto fastCycle = [&] {
        run.wallS += 0.2 / 50 - run.periodS;
        run.cycle();
    };
    while (run.last.profileS < 100)
        fastCycle();
    EXPECT_EQ(run.firstTrip(), nullptr);
    run.plate.noAnswer = true;
    const double lostWallS = run.wallS;
    while (run.last.state != RunState::Stopping)
        fastCycle();
    EXPECT_NEAR(run.wallS - lostWallS, 1.0, 0.02);
}

TEST(Plans, ThatCannotBeRunAreNamedWithTheirReason)
{
    EXPECT_TRUE(whyNotRunnable(referencePlan()).empty());
    auto reasons = [](auto&& spoil) {
        HeatPlan plan = referencePlan();
        spoil(plan);
        return whyNotRunnable(plan).size();
    };
    EXPECT_GE(reasons([](HeatPlan& plan) { plan.runnable = false; }), 1u);
    EXPECT_GE(reasons([](HeatPlan& plan) { plan.refusals = {"bismuth over lead"}; }), 1u);
    EXPECT_GE(reasons([](HeatPlan& plan) { plan.duty.pop_back(); }), 1u);
    EXPECT_GE(reasons([](HeatPlan& plan) { plan.timeS[5] = plan.timeS[4]; }), 1u);
    EXPECT_GE(reasons([](HeatPlan& plan) { plan.plateC[5] = std::nan(""); }), 1u);
    EXPECT_GE(reasons([](HeatPlan& plan) { plan.heaterOffS = 0; }), 1u);
    EXPECT_GE(reasons([](HeatPlan& plan) { plan.tripAboveC = std::nan(""); }), 1u);
    EXPECT_GE(reasons([](HeatPlan& plan) { plan.sheet.plate.powerW = 0; }), 1u);
    EXPECT_GE(reasons([](HeatPlan& plan) { plan.sheet.plate.deadTimeS = -1; }), 1u);
    EXPECT_GE(reasons([](HeatPlan& plan) { plan = {}; }), 1u);
}

} // namespace stripwright
