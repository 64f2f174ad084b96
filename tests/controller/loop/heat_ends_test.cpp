#include "bench_run.h"

#include <cmath>

namespace stripwright {

/// Remembers in which order it was told what.
struct ListeningPlate : ReferencePlate {
    std::string calls; // r read, o heater off, f fan, s strip

    std::optional<PlateReading> read() override
    {
        calls += 'r';
        return ReferencePlate::read();
    }
    bool heaterOff() override
    {
        calls += 'o';
        return ReferencePlate::heaterOff();
    }
    bool silent() const override { return noAnswer; }
    bool setFan(bool on) override
    {
        calls += 'f';
        return ReferencePlate::setFan(on);
    }
    bool setStripLifted(bool lifted) override
    {
        calls += 's';
        return ReferencePlate::setStripLifted(lifted);
    }
};

struct ListenedRun {
    ListeningPlate plate;
    ControlLoop loop;
    CycleRecord last;
    double wallS = 1000;

    explicit ListenedRun(HeatPlan plan, LoopSettings settings = {})
        : loop(plate, std::move(plan), BenchRun::inVirtualTime(settings))
    {
    }
    /// What the plate was told in that cycle.
    std::string cycle(double periodS = 0.2)
    {
        plate.calls.clear();
        plate.advance(periodS);
        last = loop.cycle(wallS += periodS);
        return plate.calls;
    }
};

TEST(HeatEnds, OffIsWrittenBeforeTheFanAndAStopBeforeTheNextReading)
{
    HeatPlan plan = referencePlan();
    plan.sheet.cooling.fan = true;
    plan.liftAtS = plan.heaterOffS;
    ListenedRun byPlan(plan, {.simulatedStrip = true});
    std::string calls = byPlan.cycle();
    EXPECT_LT(calls.find('o'), calls.find('f')) << "before the run, too: " << calls;
    while (byPlan.last.state != RunState::Cooling)
        calls = byPlan.cycle();
    EXPECT_LT(calls.find('o'), calls.find('f')) << calls;
    EXPECT_LT(calls.find('o'), calls.find('s')) << calls;

    ListenedRun stopped(plan);
    while (stopped.last.profileS < 100)
        stopped.cycle();
    stopped.loop.requestStop();
    EXPECT_EQ(stopped.cycle().substr(0, 2), "or");
    EXPECT_EQ(stopped.last.heater, HeaterState::OffConfirmed);
}

TEST(HeatEnds, ASilentPlateIsToldOffOnceInACycleAndNothingElseIsAskedOfItThen)
{
    HeatPlan plan = referencePlan();
    plan.sheet.cooling.fan = true;
    ListenedRun run(plan);
    while (run.last.profileS < 100)
        run.cycle();
    run.plate.noAnswer = true;
    run.loop.requestStop();
    EXPECT_EQ(run.cycle(), "o");
    EXPECT_EQ(run.cycle(), "or") << "its outputs may be all that is silent";
    EXPECT_EQ(run.cycle(), "o");
    run.loop.heaterOffSent(false);
    EXPECT_EQ(run.cycle(), "r") << "sent already";
    EXPECT_EQ(run.last.heater, HeaterState::OffCommanded);
    run.plate.noAnswer = false;
    EXPECT_EQ(run.cycle(), "orf");
    EXPECT_EQ(run.last.heater, HeaterState::OffConfirmed);
}

TEST(HeatEnds, OneLostReadingOnASlowLineDoesNotWriteOff)
{
    ListenedRun run(referencePlan(), {.periodS = 0.6});
    while (run.last.profileS < 100)
        run.cycle(0.6);
    run.plate.noAnswer = true;
    run.cycle(0.6);
    run.plate.noAnswer = false;
    EXPECT_EQ(run.cycle(0.6).find('o'), std::string::npos);
    EXPECT_EQ(run.last.state, RunState::Running);
}

TEST(HeatEnds, RunOnASlowLineStartsAndEnds)
{
    ListenedRun run(referencePlan(), {.periodS = 1.1});
    for (int n = 0; n < 20 && run.last.state != RunState::Running; ++n)
        run.cycle(1.1);
    ASSERT_EQ(run.last.state, RunState::Running);
    run.loop.requestStop();
    run.loop.requestLeave();
    for (int n = 0; n < 20 && run.last.state != RunState::Ended; ++n)
        run.cycle(1.1);
    EXPECT_EQ(run.last.state, RunState::Ended);
}

TEST(HeatEnds, ARecordThatIsEndedIsNotCalledCoolByAFigureThatIsHot)
{
    HeatPlan plan = referencePlan();
    plan.safeBelowC = 100; // where it still cools fast
    const double safeC = plan.safeBelowC;
    BenchRun run(plan);
    run.untilProfile(300);
    run.loop.requestStop();
    // The plate itself is cooler than its sensor, which lags, shows.
    run.until([&] { return run.last.state == RunState::Cooling && *run.last.sensorC < safeC + 0.25; });
    ASSERT_GT(*run.last.sensorC, safeC + 0.1);
    run.loop.requestLeave();
    run.untilState(RunState::Ended, 1);
    EXPECT_NE(std::string(run.last.outcomeText.data()).find("still hot"), std::string::npos)
        << run.last.outcomeText.data();
}

TEST(HeatEnds, RunThatNobodyWatchesDoesNotWaitToStartForEver)
{
    HeatPlan plan = referencePlan();
    plan.cards = {{.id = "lay-on", .atS = -1, .text = "lay the strip on", .mustConfirm = true}};
    ListenedRun run(plan);
    for (int n = 0; n < 5; ++n)
        run.cycle();
    ASSERT_EQ(run.last.state, RunState::Starting);
    run.loop.setWatchedByNobody(true);
    for (int n = 0; n < 5; ++n)
        run.cycle();
    EXPECT_EQ(run.last.state, RunState::Ended);
    EXPECT_EQ(run.plate.heatingS(), 0);
}

TEST(HeatEnds, AStopWhileTheEnableOutputIsTriedEndsAsStoppedByTheOperator)
{
    BenchRun run;
    run.plate.withEnable = true;
    run.until([&] { return run.plate.enabled(); }, 5);
    run.loop.requestStop();
    run.untilState(RunState::Ended, 3);
    EXPECT_EQ(run.last.outcome, Outcome::StoppedByOperator);
    EXPECT_EQ(run.last.heater, HeaterState::OffConfirmed);
    EXPECT_FALSE(run.plate.enabled());
    EXPECT_FALSE(run.last.causeSeen);
}

TEST(HeatEnds, AfterAnHourOfEitherClockWhateverThePlanSays)
{
    // Its own reasons would refuse such a plan: the loop must not need them.
    HeatPlan plan = referencePlan();
    plan.timeS = {0, 1000, 1e6};
    plan.plateC = {25, 200, 200};
    plan.duty = {0.3, 0.35, 0.35};
    plan.stages = {{"preheat", 0, 1e6}};
    plan.heaterOffS = 9e5;
    plan.joints.clear();
    BenchRun run(plan);
    run.untilState(RunState::Stopping, 4000);
    EXPECT_NEAR(run.last.timeS, longestHeatS, 1);
    EXPECT_TRUE(run.said("longer than any heat may last"));
    EXPECT_EQ(run.plate.duty(), 0);

    HeatBounds bounds;
    bounds.begin(0, 0);
    EXPECT_TRUE(bounds.allows(10, longestHeatS, 200));
    EXPECT_FALSE(bounds.allows(10, longestHeatS + 1, 200)) << "the wall's clock counts as well";
    bounds.begin(0, 0);
    EXPECT_TRUE(bounds.allows(longestHeatS + 1, 0, 125)) << "a bake takes hours";
    EXPECT_FALSE(bounds.allows(longestBakeS + 1, 0, 125));
    EXPECT_TRUE(bounds.allows(longestHeatS + 1, 0, 162)) << "a bake at 160 may stray";
    EXPECT_FALSE(bounds.allows(longestHeatS + 1, 0, 171));
    EXPECT_FALSE(bounds.allows(longestHeatS + 1, 0, 100)) << "it was hotter before";
    EXPECT_FALSE(bounds.allows(std::nan(""), 1e9, std::nan("")));
}

TEST(HeatEnds, AtTheHighestTemperatureOfThePlatesLinkWhateverThePlanAllows)
{
    for (const bool linkSays : {true, false}) {
        InterlockSet checks(figuresOf(referencePlateType(), 25), 900, 900,
                            linkSays ? std::optional(180.0) : std::nullopt);
        EXPECT_EQ(checks.tripLimitC(), linkSays ? 180 : 350);
    }
    for (const double none : {0.0, -1.0, std::nan(""), double(INFINITY)})
        EXPECT_EQ(InterlockSet(figuresOf(referencePlateType(), 25), 255, 300, none).tripLimitC(), 255);
}

TEST(HeatEnds, ItsCauseStandsInTheRecordForAsLongAsItIsSeen)
{
    BenchRun run;
    run.untilProfile(100);
    EXPECT_FALSE(run.last.causeSeen);
    run.plate.sensorFault = true;
    run.untilState(RunState::Stopping, 1);
    EXPECT_TRUE(run.last.causeSeen);
    EXPECT_NE(std::string(run.last.causeText.data()).find("sensor fault"), std::string::npos);
    for (int n = 0; n < 20; ++n)
        EXPECT_TRUE(run.cycle().causeSeen) << "cooling, and the sensor is still faulty";
    run.plate.sensorFault = false;
    run.cycle();
    EXPECT_FALSE(run.last.causeSeen);

    BenchRun cooling;
    cooling.untilState(RunState::Cooling);
    cooling.plate.noAnswer = true;
    for (int n = 0; n < 20; ++n)
        EXPECT_FALSE(cooling.cycle().causeSeen) << "no heat is at stake";
}

TEST(HeatEnds, AsWhatEndedItWhenTheLinkIsLostForGoodAfterTheHeaterWasReadBackOff)
{
    BenchRun tripped, stopped, ended;
    for (BenchRun* run : {&tripped, &stopped})
        run->untilProfile(100);
    tripped.plate.sensorFault = true;
    stopped.loop.requestStop();
    for (BenchRun* run : {&tripped, &stopped, &ended}) {
        run->until([&] {
            return run->last.state == RunState::Cooling && run->last.heater == HeaterState::OffConfirmed;
        });
        run->plate.noAnswer = true;
        run->untilState(RunState::Ended, 120);
        EXPECT_NE(std::string(run->last.outcomeText.data()).find("take plate and strip for hot"),
                  std::string::npos);
    }
    EXPECT_EQ(tripped.last.outcome, Outcome::StoppedByLimit);
    EXPECT_EQ(stopped.last.outcome, Outcome::StoppedByOperator);
    EXPECT_EQ(ended.last.outcome, Outcome::Completed);
}

TEST(StripPlace, StaysOnThePlateInTheEstimateUntilItsLiftingIsConfirmed)
{
    HeatPlan plan = referencePlan();
    plan.liftAtS = 400;
    plan.cards = {{"lift-strip", 400, 430, "Lift the strip.", "", "", false}};
    BenchRun run(plan);
    run.untilProfile(399);
    EXPECT_EQ(run.last.strip, StripPlace::OnPlate);
    run.untilProfile(500); // the card is long over
    EXPECT_EQ(run.last.strip, StripPlace::LiftNotSaid);
    EXPECT_TRUE(run.last.jointHighC);
    EXPECT_TRUE(run.said("taken to lie on the plate until its lifting is confirmed"));
    run.loop.confirmCard("lift-strip");
    run.cycle();
    EXPECT_EQ(run.last.strip, StripPlace::Lifted);
    EXPECT_FALSE(run.last.jointHighC);
}

TEST(StripPlace, IsLiftedByAConfirmationThatCameBeforeItsTimeOnceTheHeatIsOff)
{
    HeatPlan plan = referencePlan();
    plan.liftAtS = 400;
    plan.cards = {{"lift-strip", 400, 430, "Lift the strip.", "", "", false}};
    BenchRun early(plan);
    early.loop.confirmCard("lift-strip"); // before the heat: it cannot be true
    early.untilProfile(401);
    EXPECT_EQ(early.last.strip, StripPlace::LiftNotSaid);

    BenchRun heating(plan);
    heating.untilProfile(300);
    heating.loop.confirmCard("lift-strip");
    heating.cycle();
    EXPECT_EQ(heating.last.strip, StripPlace::OnPlate);
    EXPECT_TRUE(heating.last.jointHighC) << "what watches the joints goes on while there is heat";
    heating.untilState(RunState::Cooling);
    EXPECT_EQ(heating.last.strip, StripPlace::Lifted);

    BenchRun stopped(plan);
    stopped.untilProfile(300);
    stopped.loop.requestStop();
    stopped.untilState(RunState::Cooling);
    stopped.loop.confirmCard("lift-strip");
    stopped.cycle();
    EXPECT_EQ(stopped.last.strip, StripPlace::Lifted) << "an ended heat's strip may be lifted, too";
}

} // namespace stripwright
