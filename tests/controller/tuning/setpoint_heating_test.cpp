#include "reference_plate.h"
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

TEST(SetpointHeating, LoopThatNeverGivesFullHeatIsRefusedWithTheReason)
{
    ReferencePlate plate;
    plate.reportsDuty = false;
    plate.loopFigures = {.gainPerK = 0.004, .integralS = 400};
    const Learnt learnt = learn(plate);
    ASSERT_FALSE(learnt.fit.refusals.empty());
    EXPECT_NE(learnt.fit.refusals.front().find("full heat"), std::string::npos)
        << learnt.why << learnt.fit.refusals.front();
}

TEST(SetpointHeating, EveryCheckIsLiveOnTheWayUp)
{
    struct Fault {
        const char* words;
        void (*happen)(ReferencePlate&);
    };
    const Fault faults[] = {
        {"sensor", [](ReferencePlate& plate) { plate.sensorFault = true; }},
        {"link lost", [](ReferencePlate& plate) { plate.noAnswer = true; }},
        {"take commands", [](ReferencePlate& plate) { plate.ignoresCommands = true; }},
        {"stale", [](ReferencePlate& plate) { plate.counterStands = true; }},
        {"no rise", [](ReferencePlate& plate) { plate.heaterOpen = true; }},
        {"watchdog", [](ReferencePlate& plate) { plate.watchdogTripped = true; }},
    };
    for (const Fault& fault : faults)
        for (const bool fullHeat : {true, false}) {
            ReferencePlate plate;
            plate.setStripLifted(true);
            plate.ownLoop = true;
            plate.reportsDuty = false;
            plate.loopFigures = {.gainPerK = fullHeat ? 0.07 : 0.02, .integralS = 120};
            SetpointHeating heating(plate, {.drive = DriveKind::Setpoint}, 900, 25, true);
            double wallS = 1000;
            for (; wallS < 1600 && std::string(heating.stepInWords()) != "up to the top"; wallS += 0.2) {
                plate.advance(0.2);
                heating.cycle(wallS);
            }
            for (double fromS = wallS; wallS < fromS + 10; wallS += 0.2) {
                plate.advance(0.2);
                heating.cycle(wallS);
            }
            ASSERT_EQ(heating.why(), "");
            ASSERT_GT(plate.duty(), 0.5) << heating.stepInWords();
            fault.happen(plate);
            for (double fromS = wallS; wallS < fromS + 150 && heating.why().empty(); wallS += 0.2) {
                plate.advance(0.2);
                if (std::string(fault.words) == "take commands")
                    plate.setSetpointC(0); // as a plate in local mode would show
                heating.cycle(wallS);
            }
            EXPECT_NE(heating.why().find(fault.words), std::string::npos)
                << fault.words << ": " << heating.why();
            plate.noAnswer = plate.ignoresCommands = false;
            for (int n = 0; n < 5; ++n, wallS += 0.2) {
                plate.advance(0.2);
                heating.cycle(wallS);
            }
            EXPECT_EQ(plate.setpointC(), 0) << fault.words;
            EXPECT_TRUE(heating.ended()) << fault.words;
        }
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
