#include "bench_heating.h"
#include "tuning/setpoint_heating.h"

#include <cmath>
#include <gtest/gtest.h>

namespace stripwright {

namespace {

struct Learnt {
    PlateFit fit;
    std::string why;
    double hottestC = 0, lastedS = 0, leadK = 0; ///< leadK: of the set-point over the reading, at most.
};

/// A set-point heating of the bare reference plate in virtual time.
Learnt learn(ReferencePlate& plate, bool cutsWhenSilent = true)
{
    plate.ownLoop = true;
    plate.setStripLifted(true);
    SetpointHeating heating(plate,
                            {.drive = DriveKind::Setpoint, .ownRampCPerS = plate.loopFigures.rampCPerS}, 900,
                            25, cutsWhenSilent);
    Learnt learnt;
    double wallS = 1000;
    for (; !heating.ended() && wallS < 4000; wallS += 0.2) {
        plate.advance(0.2);
        heating.cycle(wallS);
        learnt.hottestC = std::max(learnt.hottestC, plate.plateC());
        if (!heating.record().sensorC.empty())
            learnt.leadK = std::max(learnt.leadK, plate.setpointC() - heating.record().sensorC.back());
    }
    EXPECT_TRUE(heating.ended());
    EXPECT_EQ(plate.setpointC(), 0);
    learnt.lastedS = wallS - 1000;
    learnt.why = heating.why();
    learnt.fit = fitPlate(heating.record(), 900, 25);
    return learnt;
}

void expectTruth(const Learnt& learnt, const OwnLoopFigures& truth, double share)
{
    EXPECT_EQ(learnt.why, "");
    ASSERT_TRUE(learnt.fit.refusals.empty()) << learnt.fit.refusals.front();
    ASSERT_TRUE(learnt.fit.ownLoop);
    const PlateFigures plate = figuresOf(referencePlateType(), 25);
    EXPECT_NEAR(learnt.fit.figures.heatCapacityJPerK / plate.heatCapacityJPerK, 1, share);
    EXPECT_NEAR(learnt.fit.figures.lossW(150) / plate.lossW(150), 1, 2 * share);
    EXPECT_NEAR(learnt.fit.ownLoop->gainPerK / truth.gainPerK, 1, share);
    EXPECT_NEAR(learnt.fit.ownLoop->integralS / truth.integralS, 1, 2 * share);
}

} // namespace

TEST(SetpointHeating, FindsPlateAndLoopWithoutToldDuty)
{
    for (const OwnLoopFigures& truth : {OwnLoopFigures{.gainPerK = 0.07, .integralS = 45},
                                        OwnLoopFigures{.gainPerK = 0.02, .integralS = 150},
                                        OwnLoopFigures{.gainPerK = 0.2, .integralS = 60}}) {
        SCOPED_TRACE(truth.gainPerK);
        ReferencePlate plate;
        plate.reportsDuty = false;
        plate.loopFigures = truth;
        const Learnt learnt = learn(plate);
        expectTruth(learnt, truth, 0.05);
        EXPECT_LT(learnt.hottestC, 195);
    }
}

TEST(SetpointHeating, FindsThemFromToldDutyToo)
{
    ReferencePlate plate;
    plate.loopFigures = {.gainPerK = 0.04, .integralS = 90, .mostDuty = 0.8};
    const Learnt learnt = learn(plate);
    expectTruth(learnt, plate.loopFigures, 0.05);
    EXPECT_NEAR(learnt.fit.ownLoop->mostDuty, 0.8, 0.01);
}

TEST(SetpointHeating, SetpointOfAPlateThatWasNotSeenToCutStaysNearItsReading)
{
    ReferencePlate plate;
    plate.loopFigures = {.gainPerK = 0.012, .integralS = 400};
    const Learnt learnt = learn(plate, false);
    EXPECT_LT(learnt.leadK, 15.5); // a reading's noise and step
    expectTruth(learnt, plate.loopFigures, 0.05);
}

TEST(SetpointHeating, GoesAsFarAsFullHeatNeedsWhereNoDutyIsTold)
{
    ReferencePlate plate;
    plate.reportsDuty = false;
    plate.loopFigures = {.gainPerK = 0.012, .integralS = 400};
    const Learnt learnt = learn(plate, false);
    expectTruth(learnt, plate.loopFigures, 0.05);
    EXPECT_LT(learnt.hottestC, 185);
}

TEST(SetpointHeating, RampOfItsOwnThatIsKnownDoesNotSpoilWhatIsLearnt)
{
    ReferencePlate plate;
    plate.reportsDuty = false;
    plate.loopFigures = {.gainPerK = 0.07, .integralS = 45, .rampCPerS = 2};
    expectTruth(learn(plate), plate.loopFigures, 0.05);
}

TEST(SetpointHeating, RampThatKeepsTheLoopFromFullHeatIsSaidHalfWayUp)
{
    ReferencePlate plate;
    plate.reportsDuty = false;
    plate.loopFigures = {.gainPerK = 0.07, .integralS = 45, .rampCPerS = 0.5};
    const Learnt learnt = learn(plate);
    EXPECT_NE(learnt.why.find("its own ramp keeps the plate's loop from full heat"), std::string::npos)
        << learnt.why;
    EXPECT_LT(learnt.hottestC, 120);
}

TEST(SetpointHeating, LoopThatNeverGivesFullHeatIsRefusedWithTheReason)
{
    ReferencePlate plate;
    plate.reportsDuty = false;
    plate.loopFigures = {.gainPerK = 0.004, .integralS = 400};
    const Learnt learnt = learn(plate);
    ASSERT_FALSE(learnt.fit.refusals.empty());
    for (const char* words : {"full heat", "switch off its own ramp or soft start"})
        EXPECT_NE(learnt.fit.refusals.front().find(words), std::string::npos)
            << learnt.why << learnt.fit.refusals.front();
}

namespace {

/// Ten seconds on its way up to the top.
struct OnTheWayUp {
    explicit OnTheWayUp(const OwnLoopFigures& loop, bool cutsWhenSilent = true, bool tellsDuty = false)
        : heating(plate, {.drive = DriveKind::Setpoint}, 900, 25, cutsWhenSilent)
    {
        plate.setStripLifted(true);
        plate.ownLoop = true;
        plate.reportsDuty = tellsDuty;
        plate.loopFigures = loop;
        EXPECT_TRUE(bench.until([&] { return std::string(heating.stepInWords()) == "up to the top"; }, 600));
        bench.goOn(10);
    }

    ReferencePlate plate;
    SetpointHeating heating;
    BenchHeating<SetpointHeating> bench{plate, heating};
};

} // namespace

TEST(SetpointHeating, EveryCheckIsLiveOnTheWayUp)
{
    for (const HeatingFault& fault : heatingFaults)
        for (const bool fullHeat : {true, false}) {
            OnTheWayUp up({.gainPerK = fullHeat ? 0.07 : 0.02, .integralS = 120});
            expectFound(up.bench, fault, 150);
        }
}

TEST(SetpointHeating, ReadingsLostNowAndThenDisarmNoCheckThoughThePlateTellsNoDuty)
{
    for (const int everyNth : {2, 4}) {
        OnTheWayUp up({.gainPerK = 0.07, .integralS = 120});
        int n = 0;
        const auto broken = [&] {
            up.plate.noAnswer = ++n % everyNth == 0;
            return !up.heating.why().empty();
        };
        EXPECT_FALSE(up.bench.until(broken, 10)) << up.heating.why();
        up.plate.heaterOpen = true;
        const double faultS = up.bench.wallS;
        EXPECT_TRUE(up.bench.until(broken, 60));
        EXPECT_NE(up.heating.why().find("no rise"), std::string::npos) << up.heating.why();
        EXPECT_LE(up.bench.wallS - faultS, 16.5) << everyNth;
    }
}

TEST(SetpointHeating, SetpointOfAPlateThatWasNotSeenToCutComesDownWithItsReading)
{
    OnTheWayUp up({.gainPerK = 0.07, .integralS = 45}, false, true);
    up.plate.draughtW = 3000; // water on it: the checks end the heat, but not at once
    double leadK = 0, highestC = 0, lastC = 0;
    const auto ended = [&] {
        if (up.plate.setpointC() > 0) {
            lastC = up.plate.setpointC();
            highestC = std::max(highestC, lastC);
            leadK = std::max(leadK, lastC - up.heating.record().sensorC.back());
        }
        return !up.heating.why().empty();
    };
    EXPECT_TRUE(up.bench.until(ended, 20));
    EXPECT_LT(lastC, highestC - 1);
    EXPECT_LT(leadK, 16);
}

TEST(SetpointHeating, LoopThatOvershootsFarGetsNoMoreHeat)
{
    OnTheWayUp up({.gainPerK = 0.008, .integralS = 25});
    const double topC = HeatingBounds{}.topC;
    ASSERT_TRUE(up.bench.until([&] { return up.heating.record().sensorC.back() > topC + 5; }, 600));
    EXPECT_STREQ(up.heating.stepInWords(), "coasting");
    up.bench.cycle();
    EXPECT_EQ(up.plate.setpointC(), 0);
    EXPECT_EQ(up.heating.why(), "") << "what it has told by then counts";
}

TEST(SetpointHeating, LoopThatNeverWantedMoreIsNotTakenToBeAtItsMost)
{
    ReferencePlate plate;
    plate.loopFigures = {.gainPerK = 0.012, .integralS = 400};
    const Learnt learnt = learn(plate, false);
    EXPECT_EQ(learnt.why, "");
    ASSERT_TRUE(learnt.fit.ownLoop);
    EXPECT_EQ(learnt.fit.ownLoop->mostDuty, 1);
}

TEST(SetpointHeating, WeldedRelayEndsItOnceTheLoopIsKnown)
{
    ReferencePlate plate;
    plate.setStripLifted(true);
    plate.ownLoop = true;
    plate.reportsDuty = false;
    SetpointHeating heating(plate, {.drive = DriveKind::Setpoint}, 900, 25, true);
    double wallS = 1000;
    for (; heating.why().empty() && wallS < 2000; wallS += 0.2) {
        plate.welded = std::string(heating.stepInWords()) == "a step down";
        plate.advance(0.2);
        heating.cycle(wallS);
    }
    EXPECT_NE(heating.why().find("unexpected heat"), std::string::npos) << heating.why();
    EXPECT_LT(plate.plateC(), 195);
}

TEST(SetpointHeating, WaitsForTheHeatThatAnEarlierOneHasLeftInTheElement)
{
    ReferencePlate plate;
    plate.ownLoop = true;
    plate.reportsDuty = false;
    plate.setSetpointC(60);
    for (int i = 0; i < 20; ++i) {
        plate.advance(0.2);
        plate.read();
    }
    plate.heaterOff();
    const Learnt learnt = learn(plate);
    expectTruth(learnt, plate.loopFigures, 0.05);
}

} // namespace stripwright
