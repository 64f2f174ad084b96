#include "commissioning/sensor_candidates.h"
#include "commissioning/watched_probe.h"
#include "proven_plate.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

using namespace stripwright;
using testing::AllOf;
using testing::Contains;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::Not;
using testing::StartsWith;
using enum RegisterType;
using enum WordOrder;

namespace {

CommissioningResult commissioned(ProvenPlate& plate, const CommissioningJob& job)
{
    CommissioningResult result = commissionPlate(job, plate);
    EXPECT_NE(result.link.has_value(), result.refusals.size() == 1);
    if (!plate.lineDiesAtS && !plate.offIgnored && plate.comesBack) {
        EXPECT_TRUE(result.heaterOff);
        EXPECT_EQ(plate.plate.dutyCommand(), 0);
        EXPECT_FALSE(plate.plate.enabled());
    }
    EXPECT_LT(plate.hottestC, 25 + 40);
    return result;
}

std::string refusal(ProvenPlate& plate, const CommissioningJob& job)
{
    const CommissioningResult result = commissioned(plate, job);
    return result.refusals.empty() ? "not refused" : result.refusals.front();
}

std::string refusal(ProvenPlate& plate)
{
    return refusal(plate, bareJob(plate.plate));
}

TEST(CommissionPlate, FindsHowTheSensorIsReadAndProvesWriteSensorAndWatchdog)
{
    for (const RegisterField& truth :
         {RegisterField{.type = Int16, .scale = 0.1}, RegisterField{.type = Float32, .order = CDAB},
          RegisterField{.type = Int32, .order = ABCD, .scale = 0.01},
          RegisterField{.type = Uint16, .order = BADC, .scale = 1 / 256.0}}) {
        ProvenPlate plate;
        plate.truth = truth;
        const auto result = commissioned(plate, bareJob(plate.plate));
        ASSERT_TRUE(result.link) << inWords(truth) << ": " << result.refusals.front();
        EXPECT_EQ(inWords(result.link->sensor), inWords(truth));
        EXPECT_THAT(plate.proofs, ElementsAre(StartsWith("write ok"), StartsWith("sensor ok"),
                                              StartsWith("watchdog ok: found cut after")));
    }
}

TEST(CommissionPlate, SilenceThatProvedTheWatchdogIsItsTimeAndALittleMore)
{
    ProvenPlate plate;
    const auto result = commissioned(plate, bareJob(plate.plate));
    ASSERT_TRUE(result.link);
    EXPECT_GT(result.link->watchdogProvenS, 3);
    EXPECT_LT(result.link->watchdogProvenS, 3 * 1.1 + 1 + 0.5);
}

TEST(CommissionPlate, NeverAsksForMoreThanATenthOfTheHeat)
{
    ProvenPlate plate;
    commissioned(plate, bareJob(plate.plate));
    EXPECT_NEAR(plate.mostDuty, 0.1, 1e-6);
}

TEST(CommissionPlate, TellsTheHeatThatWasReadOrWrittenAndNoneWhereNobodyKnowsIt)
{
    for (const DriveKind drive : {DriveKind::Duty, DriveKind::Setpoint})
        for (const bool hides : {false, true}) {
            ProvenPlate plate({{}, drive});
            plate.hidesDuty = hides;
            commissionPlate(bareJob(plate.plate), plate);
            EXPECT_EQ(plate.mostDutyTold.has_value(), drive == DriveKind::Duty || !hides);
            EXPECT_NE(plate.mostDutyTold, 0.0);
        }
}

TEST(CommissionPlate, FindsItOnAPlateDrivenByItsSetpoint)
{
    ProvenPlate plate({{}, DriveKind::Setpoint});
    const auto result = commissioned(plate, bareJob(plate.plate));
    ASSERT_TRUE(result.link) << result.refusals.front();
    EXPECT_GT(result.link->watchdogProvenS, 3);
}

TEST(CommissionPlate, RegisterThatStandsStillIsRefused)
{
    ProvenPlate plate;
    plate.words = [](double, double) { return SensorWords{250, 0}; };
    EXPECT_THAT(refusal(plate), StartsWith("no candidate moved with the heat: int16 x 0.1 reads 25 °C"));
}

TEST(CommissionPlate, WrongRegisterIsRefusedWithWhatItReadsAndWhatToTry)
{
    ProvenPlate plate;
    plate.words = [](double, double) { return SensorWords{1234, 0}; };
    const std::string words = refusal(plate);
    EXPECT_THAT(words, HasSubstr("int16 x 0.1 reads 123.4 °C (not within 0 to 60 °C)"));
    EXPECT_THAT(words, HasSubstr("counts from 1"));
    EXPECT_EQ(plate.mostDuty, 0);
}

TEST(CommissionPlate, TwoMeaningsThatBothMoveAreRefused)
{
    // Tenths in one register, and the high half of a float in the next.
    ProvenPlate plate;
    plate.words = [](double sensorC, double) {
        SensorWords tenths{}, number{};
        encodeValue(sensorC, {.type = Int16, .scale = 0.1}, tenths.data());
        encodeValue(sensorC, {.type = Float32, .order = ABCD}, number.data());
        return SensorWords{tenths[0], number[0]};
    };
    const std::string words = refusal(plate);
    EXPECT_THAT(words, StartsWith("more than one candidate moved with the heat"));
    EXPECT_THAT(words, HasSubstr("int16 x 0.1 reads"));
    EXPECT_THAT(words, HasSubstr("float32 CDAB x 1 reads"));
}

TEST(CommissionPlate, ScalesThatHeatCannotTellApartAreRefusedCold)
{
    ProvenPlate plate;
    CommissioningJob job = bareJob(plate.plate);
    job.plateC.reset();
    EXPECT_THAT(refusal(plate, job),
                HasSubstr("Say what a thermometer on the plate reads (in the terminal --plate-C)"));
    EXPECT_EQ(plate.mostDuty, 0);
}

TEST(CommissionPlate, RightMeaningIsFoundWithoutAThermometerWhereScalesAreFarApart)
{
    ProvenPlate plate;
    plate.truth = {.type = Float32, .order = ABCD};
    CommissioningJob job = bareJob(plate.plate);
    job.plateC.reset();
    const auto result = commissioned(plate, job);
    ASSERT_TRUE(result.link) << result.refusals.front();
    EXPECT_EQ(inWords(result.link->sensor), "float32 ABCD x 1");
}

TEST(CommissionPlate, NumberThatCountsUpByItselfIsNoTemperature)
{
    ProvenPlate plate;
    plate.words = [](double, double plantS) {
        return SensorWords{static_cast<std::uint16_t>(240 + plantS * 3), 0};
    };
    EXPECT_THAT(refusal(plate), StartsWith("what makes sense moves without any heat asked for"));
}

TEST(CommissionPlate, CandidateThatJumpsUnderHeatTurnsItOff)
{
    ProvenPlate plate;
    plate.words = [&](double sensorC, double plantS) {
        SensorWords words{};
        encodeValue(sensorC + (plantS > 7 ? 30 : 0), plate.truth, words.data());
        return words;
    };
    EXPECT_THAT(refusal(plate), HasSubstr("reading jumped"));
}

TEST(CommissionPlate, FortyKelvinAboveTheFirstReadingTurnsItOff)
{
    ProvenPlate plate;
    plate.words = [&](double sensorC, double plantS) {
        SensorWords words{};
        encodeValue(sensorC + std::max(0.0, 4 * (plantS - 6)), plate.truth, words.data()); // 4 K/s is no jump
        return words;
    };
    EXPECT_THAT(refusal(plate), HasSubstr("over temperature"));
    EXPECT_LT(plate.plate.timeS(), 6 + 40 / 4.0 + 1);
}

TEST(CommissionPlate, HeaterThatIsOpenIsRefused)
{
    ProvenPlate plate({{}, DriveKind::Duty, {{Fault::HeaterOpen}}});
    EXPECT_THAT(refusal(plate), HasSubstr("Is the heater connected"));
}

TEST(CommissionPlate, CounterThatStandsStillIsRefusedBeforeAnyHeat)
{
    ProvenPlate plate({{}, DriveKind::Duty, {{Fault::CounterStuck}}});
    EXPECT_THAT(refusal(plate), HasSubstr("\"counter\""));
    EXPECT_EQ(plate.mostDuty, 0);
}

TEST(CommissionPlate, WatchdogThatDoesNotCutIsRefusedInPlainWords)
{
    ProvenPlate plate;
    plate.watchdogDead = true;
    const std::string words = refusal(plate);
    EXPECT_THAT(words, HasSubstr("the heater was not cut"));
    EXPECT_THAT(words, HasSubstr("this plate goes on heating"));
    EXPECT_THAT(plate.proofs, Contains(StartsWith("watchdog not")));
}

TEST(CommissionPlate, CutIsFoundByADutyThatReadsZero)
{
    ProvenPlate plate;
    plate.saysCut = false;
    plate.forgetsDutyOnCut = true;
    ASSERT_TRUE(commissioned(plate, bareJob(plate.plate)).link);
    EXPECT_THAT(plate.proofs, Contains(HasSubstr("its duty reads 0")));
}

TEST(CommissionPlate, CutThatNothingShowsIsFoundByTheHeatThatIsMissing)
{
    for (const bool coil : {false, true}) {
        ProvenPlate plate;
        plate.saysCut = false;
        CommissioningJob job = bareJob(plate.plate);
        if (coil)
            job.draft.link.duty->table = RegisterTable::Coil;
        const auto result = commissioned(plate, job);
        ASSERT_TRUE(result.link) << result.refusals.front();
        EXPECT_GT(result.link->watchdogProvenS, job.draft.link.watchdogSeconds);
        EXPECT_THAT(plate.proofs, Contains(AllOf(StartsWith("watchdog ok: found cut"),
                                                 HasSubstr("with the same heat and no silence"))));
    }
}

// A sensor module and a relay module on one line, neither of which has a bit for it.
TEST(CommissionPlate, CutOfARelayModuleThatEndsWhenItIsTalkedToAgainIsFound)
{
    ProvenPlate plate;
    plate.saysCut = false;
    plate.cutEndsWithTalk = true;
    CommissioningJob job = bareJob(plate.plate);
    PlateLink& link = job.draft.link;
    link.status.reset();
    link.watchdogTrippedMask = 0;
    link.duty->table = RegisterTable::Coil;
    link.duty->unit = link.watchdogS->unit = 2;
    const auto result = commissioned(plate, job);
    ASSERT_TRUE(result.link) << result.refusals.front();
    EXPECT_GT(result.link->watchdogProvenS, link.watchdogSeconds);
}

TEST(CommissionPlate, WhatItSaysOfAWatchdogThatNothingShowsIsNeverWrong)
{
    int proven = 0, refused = 0, leftOpen = 0;
    for (const double mass : {0.4, 1.5})
        for (const double watchdogS : {1.0, 3.0, 8.0})
            for (const DriveKind drive : {DriveKind::Duty, DriveKind::Setpoint})
                for (const bool coil : {false, true})
                    for (const bool cuts : {false, true}) {
                        if (coil && drive == DriveKind::Setpoint)
                            continue;
                        Plant plant;
                        plant.heatCapacityFactor = mass;
                        ProvenPlate plate({plant, drive});
                        plate.saysCut = false;
                        plate.hidesDuty = drive == DriveKind::Setpoint;
                        plate.watchdogDead = !cuts;
                        plate.plate.setWatchdogSeconds(watchdogS);
                        CommissioningJob job = bareJob(plate.plate);
                        job.draft.link.watchdogSeconds = watchdogS;
                        if (coil)
                            job.draft.link.duty->table = RegisterTable::Coil;
                        const auto result = commissionPlate(job, plate);
                        SCOPED_TRACE(testing::Message()
                                     << mass << " of the mass, watchdog " << watchdogS << " s, coil " << coil
                                     << ", drive " << int(drive) << ", cuts " << cuts);
                        const bool says = result.link && result.link->watchdogProvenS > 0;
                        EXPECT_FALSE(says && !cuts);
                        const std::string why = result.refusals.empty() ? "" : result.refusals.front();
                        EXPECT_FALSE(cuts && why.find("was not cut") != std::string::npos) << why;
                        proven += says;
                        refused += !result.link;
                        leftOpen += !result.leftOpen.empty();
                        EXPECT_LT(plate.hottestC, 25 + 40);
                    }
    EXPECT_GE(proven, 11) << "of 18 that cut";
    EXPECT_GT(refused, 0);
    EXPECT_GT(leftOpen, 0);
}

TEST(CommissionPlate, PlateOfWhichNothingShowsThatItHeatsOnIsRefusedOnlyAfterItWasSeenTo)
{
    for (const bool coil : {false, true}) {
        ProvenPlate plate;
        plate.saysCut = false;
        plate.watchdogDead = true;
        CommissioningJob job = bareJob(plate.plate);
        if (coil)
            job.draft.link.duty->table = RegisterTable::Coil;
        EXPECT_THAT(refusal(plate, job), AllOf(HasSubstr("the heater was not cut: with"),
                                               HasSubstr("this plate goes on heating")));
    }
}

TEST(CommissionPlate, CutThatNoTemperatureCanShowIsLeftOpenAndTheLinkKeptUnproven)
{
    ProvenPlate plate;
    plate.saysCut = false;
    CommissioningJob job = bareJob(plate.plate);
    job.draft.link.watchdogSeconds = 30; // longer than a silence under heat may be
    plate.plate.setWatchdogSeconds(30);
    const auto result = commissioned(plate, job);
    ASSERT_TRUE(result.link) << result.refusals.front();
    EXPECT_EQ(result.link->watchdogProvenS, 0);
    EXPECT_THAT(result.leftOpen, HasSubstr("make \"watchdog_s\" shorter"));
    EXPECT_THAT(plate.proofs,
                Contains(AllOf(StartsWith("watchdog open: "), HasSubstr("watchdog_tripped_mask"))));
}

TEST(CommissionPlate, PlateThatDoesNotHeatAgainAfterTheSilenceIsLeftOpenWithWhatWasSeen)
{
    ProvenPlate plate;
    plate.saysCut = false;
    plate.staysCut = true;
    const auto result = commissioned(plate, bareJob(plate.plate));
    ASSERT_TRUE(result.link) << result.refusals.front();
    EXPECT_EQ(result.link->watchdogProvenS, 0);
    EXPECT_THAT(result.leftOpen, HasSubstr("keep it cut until it is enabled again"));
}

TEST(CommissionPlate, OwnLoopThatNothingShowsTheCutOfIsFoundByTheHeatThatIsMissing)
{
    ProvenPlate plate({{}, DriveKind::Setpoint});
    plate.saysCut = false;
    plate.hidesDuty = true;
    const CommissioningJob job = bareJob(plate.plate);
    const auto result = commissioned(plate, job);
    ASSERT_TRUE(result.link) << result.refusals.front();
    EXPECT_GT(result.link->watchdogProvenS, job.draft.link.watchdogSeconds);
}

TEST(CommissionPlate, CutOfAnOwnLoopIsFoundByAnOutputThatStaysAtZeroFarBelowItsSetpoint)
{
    ProvenPlate plate({{}, DriveKind::Setpoint});
    plate.saysCut = false;
    ASSERT_TRUE(commissioned(plate, bareJob(plate.plate)).link);
    EXPECT_THAT(plate.proofs, Contains(AllOf(StartsWith("watchdog ok"), HasSubstr("its output stays at 0"))));
}

TEST(CommissionPlate, OutputThatStaysAtZeroTellsNothingOfAPlateWithARampOfItsOwn)
{
    ProvenPlate plate({{}, DriveKind::Setpoint});
    plate.saysCut = false;
    CommissioningJob job = bareJob(plate.plate);
    job.draft.link.ownRampCPerS = 0.1; // nobody sees where its set-point is on its way
    commissioned(plate, job);
    EXPECT_THAT(plate.proofs, Not(Contains(HasSubstr("its output stays at 0"))));
}

TEST(CommissionPlate, OwnLoopThatRestsForAMomentHasNotBeenCut)
{
    for (const double restsS : {0.3, 1.0, 2.5}) {
        ProvenPlate plate({{}, DriveKind::Setpoint});
        plate.watchdogDead = true;
        plate.saysCut = false;
        plate.restsS = restsS;
        const auto result = commissioned(plate, bareJob(plate.plate));
        EXPECT_FALSE(result.link && result.link->watchdogProvenS > 0) << restsS;
        EXPECT_THAT(plate.proofs, Not(Contains(StartsWith("watchdog ok")))) << restsS;
    }
}

TEST(CommissionPlate, OwnLoopThatHasNoMoreHeatToGiveNearItsSetpointHasNotBeenCut)
{
    ProvenPlate plate({{}, DriveKind::Setpoint});
    plate.watchdogDead = true;
    plate.saysCut = false;
    plate.restsS = 60;
    plate.plate.setWatchdogSeconds(8); // time enough to come near
    CommissioningJob job = bareJob(plate.plate);
    job.draft.link.watchdogSeconds = 8;
    const auto result = commissioned(plate, job);
    EXPECT_FALSE(result.link && result.link->watchdogProvenS > 0);
    EXPECT_THAT(plate.proofs, Not(Contains(StartsWith("watchdog ok"))));
}

TEST(CommissionPlate, StopWhileItIsLookedAtWhetherTheOutputStaysAtZeroProvesNothing)
{
    ProvenPlate whole({{}, DriveKind::Setpoint});
    whole.saysCut = false;
    ASSERT_TRUE(commissioned(whole, bareJob(whole.plate)).link);
    const double lookedAtS = whole.openedAgainAtS + 1;
    for (const bool byCheck : {false, true}) {
        ProvenPlate stopped({{}, DriveKind::Setpoint});
        stopped.saysCut = false;
        if (byCheck)
            stopped.words = [&](double sensorC, double plantS) { // its sensor comes loose
                SensorWords words{};
                encodeValue(sensorC - (plantS > lookedAtS ? 20 : 0), stopped.truth, words.data());
                return words;
            };
        else
            stopped.stopAtS = lookedAtS;
        const auto result = commissioned(stopped, bareJob(stopped.plate));
        EXPECT_TRUE(result.heaterOff);
        EXPECT_FALSE(result.link);
        EXPECT_LT(stopped.plate.timeS(), lookedAtS + 5) << byCheck;
        EXPECT_THAT(stopped.proofs, Not(Contains(StartsWith("watchdog")))) << byCheck;
    }
}

TEST(CommissionPlate, HoldingRegisterThatIsSwitchedIsLeftOnInTheSilenceAsACoilIs)
{
    for (const bool coil : {false, true}) {
        ProvenPlate plate;
        CommissioningJob job = bareJob(plate.plate);
        if (coil)
            job.draft.link.duty->table = RegisterTable::Coil;
        job.draft.link.switched = !coil;
        ASSERT_TRUE(commissioned(plate, job).link);
        EXPECT_EQ(plate.mostDuty, 1) << coil;
    }
}

TEST(CommissionPlate, BitThatStoodBeforeIsSaidAndProvesNothing)
{
    ProvenPlate plate;
    plate.latchesCut = plate.bitStands = true;
    const auto result = commissioned(plate, bareJob(plate.plate));
    ASSERT_TRUE(result.link) << result.refusals.front();
    EXPECT_THAT(plate.steps, Contains(HasSubstr("set since before this heat")));
    EXPECT_THAT(plate.proofs, Contains(HasSubstr("with the same heat and no silence")))
        << "the temperature tells, not the bit";
    EXPECT_THAT(plate.steps, Contains(HasSubstr("stands set from this proof")));
}

TEST(CommissionPlate, BitIsClearedBeforeTheFirstHeatAndAtTheEndWhereTheLinkSaysHow)
{
    ProvenPlate plate;
    plate.latchesCut = plate.bitStands = true;
    CommissioningJob job = bareJob(plate.plate);
    job.draft.link.clearWatchdog.emplace(
        CommandField{{.table = RegisterTable::Coil, .address = 3, .type = RegisterType::Uint16}});
    const auto result = commissioned(plate, job);
    ASSERT_TRUE(result.link) << result.refusals.front();
    EXPECT_THAT(plate.proofs, Contains(HasSubstr("its status says so")));
    EXPECT_FALSE(plate.bitStands);
    EXPECT_EQ(plate.clearings, 2);
}

TEST(CommissionPlate, BitThatDoesNotClearIsRefusedBeforeAnyHeat)
{
    ProvenPlate plate;
    plate.latchesCut = plate.bitStands = plate.clearDoesNothing = true;
    CommissioningJob job = bareJob(plate.plate);
    job.draft.link.clearWatchdog.emplace(
        CommandField{{.table = RegisterTable::Coil, .address = 3, .type = RegisterType::Uint16}});
    EXPECT_THAT(refusal(plate, job), HasSubstr("stays set although the plate was told to clear it"));
    EXPECT_EQ(plate.mostDuty, 0);
}

TEST(CommissionPlate, WithoutAWatchdogItIsConnectedWithALoudWarning)
{
    ProvenPlate plate;
    CommissioningJob job = bareJob(plate.plate);
    job.draft.link.watchdogS.reset();
    const auto result = commissioned(plate, job);
    ASSERT_TRUE(result.link) << result.refusals.front();
    EXPECT_EQ(result.link->watchdogProvenS, 0);
    EXPECT_THAT(plate.steps, Contains(StartsWith("WARNING: no watchdog")));
    EXPECT_THAT(plate.proofs, Contains(StartsWith("watchdog open: none is named")));
}

TEST(CommissionPlate, LongWatchdogOnAQuickPlateIsNotTriedUnderHeat)
{
    Plant quick;
    quick.heatCapacityFactor = 0.15; // 9 K/s at full heat
    ProvenPlate plate({quick});
    CommissioningJob job = bareJob(plate.plate);
    job.draft.link.watchdogSeconds = 60;
    EXPECT_THAT(refusal(plate, job), HasSubstr("make \"watchdog_s\" shorter"));
}

TEST(CommissionPlate, EnableOutputIsProvenBothWays)
{
    SimulatedPlateOptions options;
    options.hasEnable = true;
    ProvenPlate plate(options);
    ASSERT_TRUE(commissioned(plate, bareJob(plate.plate)).link);
    EXPECT_THAT(plate.proofs, Contains(StartsWith("enable ok: with it off the plate moved by")));
}

TEST(CommissionPlate, EnableOutputThatDoesNothingIsRefused)
{
    SimulatedPlateOptions options;
    options.hasEnable = true;
    options.faults = {{Fault::EnableWelded}};
    ProvenPlate plate(options);
    EXPECT_THAT(refusal(plate), StartsWith("the enable output does not take the heat away"));
}

TEST(CommissionPlate, RelayThatSticksBehindTheEnableOutputIsRefused)
{
    SimulatedPlateOptions options;
    options.hasEnable = true;
    options.faults = {{Fault::RelayWelded}};
    ProvenPlate plate(options);
    EXPECT_THAT(refusal(plate), HasSubstr("a relay sticks"));
}

TEST(CommissionPlate, HeatThatIsNotReadBackIsRefused)
{
    ProvenPlate plate({{}, DriveKind::Duty, {{Fault::WriteIgnored}}});
    EXPECT_THAT(refusal(plate), HasSubstr("does not take its heat"));
}

TEST(CommissionPlate, HeatThatDoesNotEndIsFoundWithinSeconds)
{
    ProvenPlate plate({{}, DriveKind::Duty, {{Fault::WriteIgnored, 5.5}}});
    const auto result = commissionPlate(bareJob(plate.plate), plate);
    EXPECT_THAT(result.refusals, ElementsAre(HasSubstr("heater off is not read back")));
    EXPECT_FALSE(result.heaterOff);
    EXPECT_LT(plate.plate.timeS(), 10 + 2 + 60 + 1); // its 5 s of heat, 5 cycles, a minute of trying
}

TEST(CommissionPlate, LineThatDiesUnderHeatLeavesTheHeaterUnconfirmed)
{
    ProvenPlate plate;
    plate.lineDiesAtS = 7;
    const auto result = commissioned(plate, bareJob(plate.plate));
    EXPECT_FALSE(result.heaterOff);
    EXPECT_FALSE(result.link);
}

TEST(CommissionPlate, PlateThatDoesNotComeBackAfterTheSilenceLeavesTheHeaterUnconfirmed)
{
    ProvenPlate plate;
    plate.comesBack = false;
    const auto result = commissioned(plate, bareJob(plate.plate));
    EXPECT_FALSE(result.heaterOff);
    EXPECT_THAT(result.refusals, ElementsAre(HasSubstr("no connection")));
}

TEST(CommissionPlate, PlateThatCanOnlyBeWrittenAfterTheSilenceIsTurnedOffAtOnce)
{
    ProvenPlate plate;
    plate.opensInFull = false;
    const auto result = commissioned(plate, bareJob(plate.plate));
    EXPECT_TRUE(result.heaterOff);
    EXPECT_EQ(plate.openedAgain, 1);
    EXPECT_THAT(result.refusals, ElementsAre(HasSubstr("cannot be read")));
}

TEST(CommissionPlate, StopInTheSilenceIsHeaterOffBeforeAnythingIsRead)
{
    ProvenPlate plate;
    ASSERT_TRUE(commissioned(plate, bareJob(plate.plate)).link);
    ASSERT_THAT(plate.steps.back(), HasSubstr("of silence"));

    ProvenPlate stopped;
    stopped.stopAtS = plate.lastStepAtS + 15 + 5 + 2; // settled, heated, silent
    const auto result = commissioned(stopped, bareJob(stopped.plate));
    EXPECT_TRUE(result.heaterOff);
    EXPECT_EQ(stopped.openedAgain, 0);
    EXPECT_LT(stopped.plate.timeS(), *stopped.stopAtS + 0.5);
}

TEST(CommissionPlate, OperatorStopsItAtAnyTimeWithTheHeaterOff)
{
    for (double atS = 1; atS < 60; atS += 4) {
        ProvenPlate plate;
        plate.stopAtS = atS;
        const auto result = commissioned(plate, bareJob(plate.plate));
        EXPECT_EQ(result.stopped, plate.plate.timeS() >= atS) << atS;
        EXPECT_TRUE(result.heaterOff) << atS;
        EXPECT_FALSE(result.stopped && result.link) << atS;
    }
}

TEST(CommissionPlate, LateCycleTurnsItOff)
{
    ProvenPlate plate;
    plate.comesLateAtS = 8;
    EXPECT_THAT(refusal(plate), HasSubstr("came late"));
}

TEST(WatchedProbe, HeatsNoLongerThanItMayByTheWallsClockEither)
{
    ProvenPlate plate;
    plate.wallSPerPlantS = 4;
    const CommissioningJob job = bareJob(plate.plate);
    const PlateLink link = probingLink(job.draft, job.widths, false);
    const SensorWords words = sensorWordsOf(*plate.open(link)->read());
    CandidateTable table(sensorCandidates(job.draft, words, job.widths),
                         {job.plateC, job.draft.link.noSensorRaw});
    table.take(words);
    WatchedProbe probe(plate, link, table);
    EXPECT_FALSE(probe.hold({.duty = 0.1}, 100));
    EXPECT_THAT(probe.why(), HasSubstr("heated for longer than 150 s"));
    EXPECT_NEAR(plate.plate.timeS(), WatchedProbe::mostHeatS / 4, 1);
    EXPECT_EQ(plate.plate.dutyCommand(), 0);
}

TEST(ProbingLink, GivesALittleHeatWhateverTheLeastTimeAndLooksWithoutAnySetting)
{
    CommissioningJob job;
    PlateLink& link = job.draft.link;
    link.duty.emplace(RegisterField{.table = RegisterTable::Coil, .type = Uint16});
    link.leastOnS = 20;
    link.settings = {{"automatic", {.table = RegisterTable::Coil, .address = 9, .type = Uint16}, 1}};
    EXPECT_EQ(probingLink(job.draft, job.widths, false).leastOnS, 0);
    EXPECT_EQ(probingLink(job.draft, job.widths, false).settings.size(), 1u);
    EXPECT_TRUE(probingLink(job.draft, job.widths, true).settings.empty());
}

TEST(ListCandidates, TellsWhatMakesSenseAndNeverHeats)
{
    ProvenPlate plate;
    plate.stopAtS = 5;
    listCandidates(bareJob(plate.plate), plate);
    EXPECT_EQ(plate.sensibleSeen, 1u);
    EXPECT_EQ(plate.mostDuty, 0);
}

} // namespace
