#include "bench_run.h"
#include "loop/own_loop_model.h"
#include "loop/own_loop_reach.h"

#include "search/plate_reference.h"

#include <cmath>
#include <gmock/gmock.h>

namespace stripwright {

using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;

static const OwnLoopFigures slowLoop{.gainPerK = 0.02, .integralS = 90};

TEST(OwnLoopModel, SetpointIsTheLawTurnedRound)
{
    OwnLoopModel loop({.gainPerK = 0.05, .integralS = 40, .derivativeS = 6});
    loop.rest(25);
    for (int i = 1; i <= 50; ++i)
        loop.advance(40, 25 + 0.1 * i, 0.2);
    for (double duty : {0.1, 0.5, 0.9})
        EXPECT_NEAR(loop.duty(loop.setpointForC(duty, 30), 30), duty, 1e-12);
}

TEST(OwnLoopModel, ErrorThatStaysGivesItsShareOnceMoreInTheIntegralTime)
{
    OwnLoopModel loop({.gainPerK = 0.01, .integralS = 40});
    loop.rest(25);
    EXPECT_NEAR(loop.duty(35, 25), 0.1, 1e-12);
    double given = 0;
    for (int i = 0; i < 200; ++i)
        given += loop.advance(35, 25, 0.2) * 0.2;
    EXPECT_NEAR(loop.duty(35, 25), 0.2, 1e-9);
    EXPECT_NEAR(given / 40, 0.15, 0.001); // it rose evenly
}

TEST(OwnLoopModel, IntegralStandsStillAtItsBoundsAndIsForgottenAtRest)
{
    OwnLoopModel loop({.gainPerK = 0.1, .integralS = 10, .mostDuty = 0.8});
    loop.rest(25);
    for (int i = 0; i < 500; ++i)
        EXPECT_LE(loop.advance(125, 25, 0.2), 0.8);
    EXPECT_NEAR(loop.duty(26, 25), 0.1, 1e-9); // nothing was wound up beyond it
    for (int i = 0; i < 20; ++i)
        loop.advance(30, 25, 0.2);
    EXPECT_GT(loop.duty(25, 25), 0.1);
    loop.rest(25);
    EXPECT_EQ(loop.duty(25, 25), 0);
}

TEST(OwnLoopModel, ToldDutySaysWhatItsIntegralIs)
{
    OwnLoopModel loop({.gainPerK = 0.05, .integralS = 40});
    loop.rest(25);
    loop.correct(30, 25, 0.6);
    EXPECT_NEAR(loop.duty(30, 25), 0.6, 1e-12);
    loop.correct(30, 25, 1); // it may want more
    EXPECT_NEAR(loop.duty(30, 25), 0.6, 1e-12);
}

TEST(OwnLoopModel, RampOfItsOwnStartsAtTheReadingAndGoesUpAsDown)
{
    OwnLoopModel loop({.gainPerK = 0.01, .integralS = 1e5, .rampCPerS = 0.5});
    loop.rest(25);
    loop.advance(100, 25, 20);
    EXPECT_NEAR(loop.duty(100, 25), 0.1, 0.001); // 10 K up by then
    EXPECT_NEAR(loop.furthestC(4), 37, 1e-9);
    EXPECT_NEAR(loop.setpointForC(0.05, 25), 30, 0.1);
    loop.advance(30, 25, 6);
    EXPECT_NEAR(loop.duty(30, 25), 0.07, 0.001);
    loop.advance(30, 25, 60);
    EXPECT_NEAR(loop.duty(30, 25), 0.05, 0.001);
    loop.rest(25);
    EXPECT_NEAR(loop.duty(100, 25), 0, 1e-9);
    EXPECT_EQ(OwnLoopModel({.gainPerK = 0.01, .integralS = 40}).furthestC(1), INFINITY);
}

static LoopSettings learnt(const OwnLoopFigures& loop, bool proven)
{
    PlateType plate = referencePlateType();
    plate.ownLoop = loop;
    return {.drive = DriveKind::Setpoint,
            .identified = asLearnt(plate),
            .tellsDuty = false,
            .watchdogProvenS = proven ? 3.0 : 0.0};
}

namespace {

struct Followed {
    double rmsK = 0, worstK = 0, highestSetpointC = 0, furthestK = 0; ///< Beyond two seconds of the path.
    std::string ended;
    bool completed = false;
};

Followed follow(const OwnLoopFigures& truth, const LoopSettings& settings, bool tellsDuty = false)
{
    const HeatPlan plan = referencePlan();
    BenchRun run(plan, settings);
    run.plate.ownLoop = true;
    run.plate.reportsDuty = tellsDuty;
    run.plate.loopFigures = truth;
    Followed found;
    double sum = 0;
    int count = 0;
    run.until([&] {
        if (run.last.state == RunState::Running || run.last.state == RunState::Holding) {
            const double errorK = run.plate.plateC() - run.last.referenceC;
            sum += errorK * errorK, ++count;
            found.worstK = std::max(found.worstK, std::abs(errorK));
            found.highestSetpointC = std::max(found.highestSetpointC, run.plate.setpointC());
            found.furthestK =
                std::max(found.furthestK,
                         run.plate.setpointC() - planValue(plan.timeS, plan.plateC, run.last.profileS + 2));
        }
        return run.last.state == RunState::Ended;
    });
    found.rmsK = std::sqrt(sum / std::max(count, 1));
    found.completed = run.last.outcome == Outcome::Completed;
    found.ended = run.last.outcomeText.data();
    return found;
}

} // namespace

TEST(OwnLoop, ThatWasLearntIsDrivenAsWellAsByDuty)
{
    for (const double slower : {1.0, 3.0})
        for (const bool tellsDuty : {false, true}) {
            const OwnLoopFigures loop{.gainPerK = 0.07 / slower, .integralS = 45 * slower};
            const Followed found = follow(loop, learnt(loop, true), tellsDuty);
            EXPECT_TRUE(found.completed) << found.ended;
            EXPECT_LT(found.rmsK, 0.5) << slower;
            EXPECT_LT(found.worstK, 2) << slower;
            EXPECT_GT(found.furthestK, 5) << "its set-point leads by what it needs";
            EXPECT_LE(found.highestSetpointC, referencePlan().tripAboveC);
        }
}

TEST(OwnLoop, ThatIsAFifthOffWhatWasLearntIsStillFollowed)
{
    const Followed found =
        follow({.gainPerK = 0.025, .integralS = 75}, learnt({.gainPerK = 0.02, .integralS = 90}, true));
    EXPECT_TRUE(found.completed) << found.ended;
    EXPECT_LT(found.rmsK, 1);
    EXPECT_LT(found.worstK, 4);
}

TEST(OwnLoop, OfAPlateThatWasNotSeenToCutIsLedByLittle)
{
    const OwnLoopFigures loop{.gainPerK = 0.07, .integralS = 45};
    const Followed found = follow(loop, learnt(loop, false));
    EXPECT_LE(found.furthestK, unprovenLeadK + 1e-6);
    EXPECT_GT(found.furthestK, 0);
}

TEST(OwnLoop, OpenHeaterAndWeldedRelayAreFoundThoughThePlateTellsNoDuty)
{
    for (const bool welded : {false, true}) {
        BenchRun run(referencePlan(), learnt(slowLoop, true));
        run.plate.ownLoop = true;
        run.plate.reportsDuty = false;
        run.plate.loopFigures = slowLoop;
        run.untilProfile(welded ? 220 : 100); // in the soak; in the climb to it
        (welded ? run.plate.welded : run.plate.heaterOpen) = true;
        const double faultS = run.wallS;
        run.until([&] { return run.last.state == RunState::Stopping || run.last.state == RunState::Cooling; },
                  120);
        ASSERT_TRUE(run.firstTrip());
        EXPECT_THAT(run.firstTrip()->text.data(), HasSubstr(welded ? "unexpected heat" : "no rise"));
        EXPECT_LE(run.wallS - faultS, 25) << welded;
    }
}

TEST(OwnLoop, OpenHeaterIsFoundThoughReadingsAreLostNowAndThen)
{
    BenchRun run(referencePlan(), learnt(slowLoop, true));
    run.plate.ownLoop = true;
    run.plate.reportsDuty = false;
    run.plate.loopFigures = slowLoop;
    run.untilProfile(100);
    run.plate.heaterOpen = true;
    const double faultS = run.wallS;
    int n = 0;
    run.until(
        [&] {
            run.plate.noAnswer = ++n % 5 == 0;
            return run.last.state == RunState::Stopping || run.last.state == RunState::Cooling;
        },
        120);
    ASSERT_TRUE(run.firstTrip());
    EXPECT_THAT(run.firstTrip()->text.data(), HasSubstr("no rise"));
    EXPECT_LE(run.wallS - faultS, 30);
}

TEST(OwnLoop, ReadingThatCannotBeUsedMovesNoSetpoint)
{
    BenchRun run(referencePlan(), learnt(slowLoop, true));
    run.plate.ownLoop = true;
    run.plate.reportsDuty = false;
    run.plate.loopFigures = slowLoop;
    run.untilProfile(100);
    const double setpointC = run.plate.setpointC();
    run.plate.spikeK = 60;
    run.cycle();
    EXPECT_FALSE(run.last.sensorC);
    EXPECT_EQ(run.plate.setpointC(), setpointC);
    run.plate.spikeK = 0;
    run.cycle();
    EXPECT_NEAR(run.plate.setpointC(), setpointC, 10);
}

TEST(OwnLoop, ThatGivesItsMostSlowsThePlanDown)
{
    const OwnLoopFigures limited{.gainPerK = 0.05, .integralS = 60, .mostDuty = 0.6};
    const HeatPlan plan = referencePlan();
    BenchRun run(plan, learnt(limited, true));
    run.plate.ownLoop = true;
    run.plate.reportsDuty = false;
    run.plate.loopFigures = limited;
    run.untilProfile(150);
    EXPECT_GT(run.last.timeS, 160); // the climb wants more than 60 % of the heater
    EXPECT_LT(run.last.expectedC - run.last.sensorC.value(), 4);
}

TEST(OwnLoop, WithARampOfItsOwnThatWasLearntIsFollowed)
{
    for (const double rampCPerS : {3.0, 0.9}) { // the plan, not made for it, climbs at 0.8
        const OwnLoopFigures loop{.gainPerK = 0.05, .integralS = 60, .rampCPerS = rampCPerS};
        const Followed found = follow(loop, learnt(loop, true));
        EXPECT_TRUE(found.completed) << found.ended;
        EXPECT_LT(found.rmsK, 0.7) << rampCPerS;
        EXPECT_LT(found.worstK, 4) << rampCPerS;
    }
}

TEST(OwnLoop, PlateThatGetsNoWarmerAtTheMostItsLoopGivesIsFound)
{
    const OwnLoopFigures limited{.gainPerK = 0.05, .integralS = 60, .mostDuty = 0.6};
    BenchRun run(referencePlan(), learnt(limited, true));
    run.plate.ownLoop = true;
    run.plate.reportsDuty = false;
    run.plate.loopFigures = limited;
    run.untilProfile(180);
    run.plate.powerFactor = 0.4; // one of its heaters is gone
    run.until([&] { return run.firstTrip() || run.last.state == RunState::Ended; });
    ASSERT_TRUE(run.firstTrip());
    EXPECT_THAT(run.firstTrip()->text.data(), HasSubstr("at or near full power"));
}

TEST(WhyOwnLoopCannot, SaysBeforeTheHeatWhatWouldHoldItUp)
{
    const HeatPlan plan = referencePlan();
    EXPECT_THAT(whyOwnLoopCannot(plan, {}), IsEmpty());
    EXPECT_THAT(whyOwnLoopCannot(plan, learnt(slowLoop, true)), IsEmpty());
    EXPECT_THAT(whyOwnLoopCannot(plan, learnt(slowLoop, false)),
                ElementsAre(testing::AllOf(HasSubstr("cannot be brought to give this plan's heat"),
                                           HasSubstr("connect proves it"))));
    OwnLoopFigures ramping{.gainPerK = 0.07, .integralS = 45, .rampCPerS = 0.4};
    EXPECT_THAT(whyOwnLoopCannot(plan, learnt(ramping, true)),
                ElementsAre(HasSubstr("cannot be brought to give this plan's heat"))); // it climbs at 0.8
    ramping.rampCPerS = 3;
    EXPECT_THAT(whyOwnLoopCannot(plan, learnt(ramping, true)), IsEmpty());
    LoopSettings unlearnt{.drive = DriveKind::Setpoint, .tellsDuty = true};
    EXPECT_THAT(whyOwnLoopCannot(plan, unlearnt), IsEmpty());
    unlearnt.tellsDuty = false;
    EXPECT_THAT(whyOwnLoopCannot(plan, unlearnt), ElementsAre(HasSubstr("never learnt: tune it")));
}

} // namespace stripwright
