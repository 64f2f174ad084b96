#include "bench_heating.h"
#include "tuning/guided_heating.h"
#include "tuning/relay_heating.h"

#include "loop/tuning.h"

#include <cmath>
#include <gtest/gtest.h>

namespace stripwright {

/// A heating of the bare reference plate in virtual time.
template <class Heating> static void runOut(Heating& heating, ReferencePlate& plate, double longestS = 3000)
{
    for (double wallS = 1000; !heating.ended() && wallS < 1000 + longestS; wallS += 0.2) {
        plate.advance(0.2);
        heating.cycle(wallS);
    }
    ASSERT_TRUE(heating.ended());
    EXPECT_EQ(plate.duty(), 0);
}

static PlateFit fitOf(ReferencePlate& plate)
{
    plate.setStripLifted(true);
    GuidedHeating heating(plate, {}, 900, 25);
    runOut(heating, plate);
    EXPECT_EQ(heating.why(), "");
    return fitPlate(heating.record(), 900, 25);
}

TEST(GuidedHeating, FindsTheFiguresOfTheReferencePlate)
{
    ReferencePlate plate;
    const PlateFit fit = fitOf(plate);
    const PlateFigures truth = figuresOf(referencePlateType(), 25);
    EXPECT_TRUE(fit.refusals.empty()) << fit.refusals.front();
    EXPECT_NEAR(fit.figures.heatCapacityJPerK / truth.heatCapacityJPerK, 1, 0.03);
    for (double atC : {100.0, 150.0, 200.0})
        EXPECT_NEAR(fit.figures.lossW(atC) / truth.lossW(atC), 1, 0.08) << atC;
    EXPECT_NEAR(fit.figures.elementLagS + fit.figures.sensorLagS + fit.figures.deadTimeS, 7.5, 0.3);
    EXPECT_NEAR(fit.figures.elementLagS, 4, 0.8);
    EXPECT_NEAR(fit.figures.sensorLagS, 2.5, 0.8);
    EXPECT_LT(fit.rmsK, 0.12);
    std::printf("C %.1f, loss(150) %.1f of %.1f W, lags %.2f %.2f %.2f, rms %.3f K, errors %.3f %.3f %.3f\n",
                fit.figures.heatCapacityJPerK, fit.figures.lossW(150), truth.lossW(150),
                fit.figures.elementLagS, fit.figures.sensorLagS, fit.figures.deadTimeS, fit.rmsK,
                fit.capacityError, fit.lossError, fit.lagError);
}

TEST(GuidedHeating, HeavierPlateWithMoreLossIsFoundToo)
{
    ReferencePlate plate;
    plate.capacityFactor = 1.6;
    plate.lossFactor = 0.7;
    const PlateFit fit = fitOf(plate);
    const PlateFigures truth = figuresOf(referencePlateType(), 25);
    EXPECT_TRUE(fit.refusals.empty()) << fit.refusals.front();
    EXPECT_NEAR(fit.figures.heatCapacityJPerK / truth.heatCapacityJPerK, 1.6, 0.05);
    EXPECT_NEAR(fit.figures.lossW(150) / truth.lossW(150), 0.7, 0.06);
}

TEST(GuidedHeating, NeverGetsMuchHotterThanItsTopHoweverLightThePlate)
{
    for (const double capacity : {0.3, 1.0}) {
        ReferencePlate plate;
        plate.setStripLifted(true);
        plate.capacityFactor = capacity;
        GuidedHeating heating(plate, {.topC = 150}, 900, 25);
        double hottestC = 0;
        for (double wallS = 1000; !heating.ended() && wallS < 4000; wallS += 0.2) {
            plate.advance(0.2);
            heating.cycle(wallS);
            hottestC = std::max(hottestC, plate.plateC());
        }
        EXPECT_TRUE(heating.ended());
        EXPECT_EQ(heating.why(), "");
        EXPECT_LT(hottestC, 155) << capacity;
        EXPECT_GT(hottestC, 140) << capacity;
        EXPECT_TRUE(fitPlate(heating.record(), 900, 25).refusals.empty());
    }
}

TEST(GuidedHeating, DraughtInTheMiddleIsRefusedWithTheReason)
{
    ReferencePlate plate;
    plate.setStripLifted(true);
    GuidedHeating heating(plate, {}, 900, 25);
    for (double wallS = 1000; !heating.ended() && wallS < 4000; wallS += 0.2) {
        plate.draughtW = wallS > 1090 && wallS < 1130 ? 250 : 0;
        plate.advance(0.2);
        heating.cycle(wallS);
    }
    const PlateFit fit = fitPlate(heating.record(), 900, 25);
    ASSERT_FALSE(fit.refusals.empty());
    EXPECT_NE(fit.refusals.front().find("draught"), std::string::npos) << fit.refusals.front();
}

TEST(GuidedHeating, HeaterThatDoesNotHeatEndsItAfterThePulse)
{
    ReferencePlate plate;
    plate.heaterOpen = true;
    GuidedHeating heating(plate, {}, 900, 25);
    runOut(heating, plate, 200);
    EXPECT_NE(heating.why().find("heater"), std::string::npos) << heating.why();
}

TEST(GuidedHeating, WarmPlateIsLeftToCoolFirst)
{
    ReferencePlate plate(60);
    GuidedHeating heating(plate, {}, 900, 25);
    runOut(heating, plate, 60);
    EXPECT_NE(heating.why().find("starts below 40"), std::string::npos) << heating.why();
    EXPECT_EQ(plate.heatingS(), 0);
}

TEST(GuidedHeating, EveryCheckIsLive)
{
    for (const HeatingFault& fault : heatingFaults) {
        ReferencePlate plate;
        GuidedHeating heating(plate, {}, 900, 25);
        BenchHeating<GuidedHeating> bench{plate, heating};
        bench.goOn(75);
        ASSERT_GT(plate.duty(), 0.9) << heating.stepInWords();
        expectFound(bench, fault, 55);
    }
}

TEST(GuidedHeating, WatchdogBitThatStoodBeforeIsClearedOrLeftStandingAndStopsNothing)
{
    for (const bool canClear : {true, false}) {
        ReferencePlate plate;
        plate.watchdogTripped = true;
        plate.canClear = canClear;
        GuidedHeating heating(plate, {}, 900, 25);
        runOut(heating, plate, 1500);
        EXPECT_EQ(heating.why(), "");
        EXPECT_EQ(plate.watchdogTripped, !canClear);
        EXPECT_GT(plate.heatingS(), 60);
    }
}

TEST(GuidedHeating, WatchdogBitThatDoesNotClearRefusesHeat)
{
    ReferencePlate plate;
    plate.watchdogTripped = plate.canClear = plate.clearDoesNothing = true;
    GuidedHeating heating(plate, {}, 900, 25);
    runOut(heating, plate, 100);
    EXPECT_NE(heating.why().find("\"clear_watchdog\""), std::string::npos) << heating.why();
    EXPECT_EQ(plate.heatingS(), 0);
}

TEST(RelayHeating, BitSetWhileNobodyTalkedToThePlateStopsNothing)
{
    ReferencePlate plate;
    plate.watchdogTripped = true;
    RelayHeating heating(plate, {}, figuresOf(referencePlateType(), 25), 100);
    double wallS = 1000;
    for (; wallS < 1060; wallS += 0.2) {
        plate.advance(0.2);
        heating.cycle(wallS);
    }
    EXPECT_EQ(heating.why(), "");
    EXPECT_GT(plate.heatingS(), 40);
}

TEST(GuidedHeating, ReadingsLostNowAndThenDisarmNoCheck)
{
    for (const int everyNth : {2, 4}) {
        ReferencePlate plate;
        GuidedHeating heating(plate, {}, 900, 25);
        double wallS = 1000;
        int n = 0;
        const auto cycle = [&] {
            plate.noAnswer = ++n % everyNth == 0;
            plate.advance(0.2);
            heating.cycle(wallS += 0.2);
        };
        while (wallS < 1075)
            cycle();
        ASSERT_EQ(heating.why(), "");
        ASSERT_GT(plate.duty(), 0.9) << heating.stepInWords();
        plate.heaterOpen = true;
        const double faultS = wallS;
        while (heating.why().empty() && wallS < faultS + 60)
            cycle();
        EXPECT_NE(heating.why().find("no rise"), std::string::npos) << heating.why();
        EXPECT_LE(wallS - faultS, 16.5) << everyNth;
    }
}

TEST(WatchedHeating, LastsNoLongerThanItMayByTheWallsClockEither)
{
    ReferencePlate plate;
    WatchedHeating heating(plate, {.longestS = 100, .plantSPerWallS = 0.1});
    double wallS = 1000;
    for (; heating.why().empty() && wallS < 1200; wallS += 0.2) {
        plate.advance(0.2);
        heating.cycle(wallS, 0.05);
    }
    EXPECT_NE(heating.why().find("longer than 100 s"), std::string::npos) << heating.why();
    EXPECT_NEAR(wallS, 1100, 1);
    EXPECT_EQ(plate.duty(), 0);
}

TEST(WatchedHeating, CycleIsLateByThePlatesOwnPeriodNotByAFixedTime)
{
    const auto lateAfter = [](double gapS, double periodS) {
        ReferencePlate plate;
        WatchedHeating heating(plate, {.periodS = periodS});
        for (int n = 0; n < 20; ++n) {
            plate.advance(0.2);
            heating.cycle(1000 + periodS * n, 0.1);
        }
        EXPECT_EQ(heating.why(), "");
        plate.advance(0.2);
        heating.cycle(1000 + periodS * 19 + gapS, 0.1);
        return heating.why().find("came late") != std::string::npos;
    };
    EXPECT_FALSE(lateAfter(0.9, 0.2));
    EXPECT_TRUE(lateAfter(1.1, 0.2));
    EXPECT_FALSE(lateAfter(1.5, 0.8)) << "of a slow line";
    EXPECT_TRUE(lateAfter(1.7, 0.8));
}

TEST(WatchedHeating, ChecksSeeEnoughReadingsOfAPlateThatReadsSeldom)
{
    struct SeldomPlate final : ReferencePlate {
        double readingEveryS() const override { return 3; }
    } plate;
    plate.setStripLifted(true);
    WatchedHeating heating(plate, {.periodS = 3});
    heating.arm(figuresOf(referencePlateType(), 25));
    double wallS = 1000;
    const auto cyclesUntilStopped = [&](int most) {
        int n = 0;
        for (; n < most && heating.why().empty(); ++n) {
            plate.advance(3);
            heating.cycle(wallS += 3, 0.6);
        }
        return n;
    };
    cyclesUntilStopped(20);
    ASSERT_EQ(heating.why(), "");
    plate.heaterOpen = true;
    EXPECT_LE(cyclesUntilStopped(20), 10);
    EXPECT_NE(heating.why().find("no rise"), std::string::npos) << heating.why();
}

TEST(WatchedHeating, AnotherMasterThatKeepsWritingTheHeatEndsIt)
{
    ReferencePlate plate;
    WatchedHeating heating(plate, {});
    for (int n = 0; n < 20; ++n) {
        plate.foreignMaster = n > 10;
        plate.advance(0.2);
        heating.cycle(1000 + 0.2 * n, 0.2);
    }
    EXPECT_NE(heating.why().find("another controller writes"), std::string::npos) << heating.why();
    EXPECT_EQ(plate.duty(), 0);
}

TEST(PlateFit, NoPowerNoRiseAndTooShortARecordAreRefusedEachInWords)
{
    HeatingRecord still;
    for (int i = 0; i < 1000; ++i) {
        still.timeS.push_back(0.2 * i);
        still.duty.push_back(0.5);
        still.sensorC.push_back(25);
    }
    const PlateFit fit = fitPlate(still, 0, 25);
    ASSERT_EQ(fit.refusals.size(), 2u);
    EXPECT_NE(fit.refusals[0].find("power"), std::string::npos);
    EXPECT_NE(fit.refusals[1].find("rose by 0 K"), std::string::npos) << fit.refusals[1];
    EXPECT_FALSE(fitPlate({{0, 1}, {1, 1}, {25, 26}}, 900, 25).refusals.empty());
}

TEST(RelayHeating, FindsTheUltimatePeriodOfTheReferencePlate)
{
    ReferencePlate plate;
    plate.setStripLifted(true);
    RelayHeating heating(plate, {}, figuresOf(referencePlateType(), 25), 120);
    runOut(heating, plate);
    const RelayResult result = heating.result();
    EXPECT_TRUE(result.refusals.empty()) << result.refusals.front();
    // Phase -180 degrees of 1/s with lags 4 and 2.5 s and dead time 1 s: atan(4w) + atan(2.5w) + w = 90
    // degrees.
    double w = 0.01;
    while (std::atan(4 * w) + std::atan(2.5 * w) + w < std::acos(-1.0) / 2)
        w += 1e-4;
    EXPECT_NEAR(result.ultimatePeriodS / (2 * std::acos(-1.0) / w), 1, 0.2);
    const double gain = 900.0 / 700 / w / std::hypot(1, 4 * w) / std::hypot(1, 2.5 * w);
    // The swing is a triangle, of which a describing function sees 8/π² only.
    EXPECT_LT(result.ultimateDutyPerK * gain, 1);
    EXPECT_GT(result.ultimateDutyPerK * gain, 0.6);
    const PidGains simc = simcGains(figuresOf(referencePlateType(), 25));
    std::printf("relay Ku %.3f of %.3f, Tu %.1f of %.1f s, static %.0f K; K %.3f Ti %.1f Td %.1f, SIMC %.3f "
                "%.1f %.1f\n",
                result.ultimateDutyPerK, 1 / gain, result.ultimatePeriodS, 2 * std::acos(-1.0) / w,
                result.staticGainKPerDuty, result.gains.kPerK, result.gains.tiS, result.gains.tdS, simc.kPerK,
                simc.tiS, simc.tdS);
}

TEST(RelayHeating, PlateInADraughtThatComesAndGoesIsRefused)
{
    ReferencePlate plate;
    RelayHeating heating(plate, {}, figuresOf(referencePlateType(), 25), 120);
    for (double wallS = 1000; !heating.ended() && wallS < 4000; wallS += 0.2) {
        plate.draughtW = std::fmod(wallS, 70) < 30 ? 200 : 0;
        plate.advance(0.2);
        heating.cycle(wallS);
    }
    EXPECT_FALSE(heating.result().refusals.empty());
}

} // namespace stripwright
