#include "bench/plate_works.h"

#include <algorithm>
#include <cmath>

namespace stripwright {

static BenchSheet truly(BenchSheet sheet, const Plant& plant)
{
    sheet.plate = platePutRight(sheet.plate, plant);
    return sheet;
}

static OwnLoopFigures ownLoopOf(const PlateType& plate, const Plant& plant)
{
    const OwnLoopFigures usual = simcOwnLoop(plate);
    return {.gainPerK = plant.ownLoopGainPerK.value_or(plant.ownLoopGain * usual.gainPerK),
            .integralS = plant.ownLoopIntegralS.value_or(usual.integralS),
            .derivativeS = plant.ownLoopDerivativeS.value_or(usual.derivativeS),
            .mostDuty = plant.ownLoopMostDuty.value_or(usual.mostDuty),
            .cutAfterS = {}};
}

PlateWorks::PlateWorks(const BenchSheet& given, const SimulatedPlateOptions& wanted)
    : options(wanted), faults(wanted.faults), sheet(truly(given, wanted)),
      plant(sheet, wanted.truth, wanted.cellMm), burden(faults, sheet.air.ambientC),
      loop(ownLoopOf(sheet.plate, wanted), wanted.ownLoopEveryS),
      output(wanted.outputWindowS, wanted.leastOnS),
      sensor({.deadTimeS = sheet.plate.deadTimeS,
              .offsetK = wanted.sensorOffsetK,
              .noiseK = wanted.noiseK,
              .stepK = wanted.readingStepK},
             SimulatedPlate::stepS, sheet.air.ambientC, wanted.seed),
      stripSensor({.lagS = 1}, SimulatedPlate::stepS, sheet.air.ambientC, wanted.seed + 1),
      spoilt(faults, sheet.air.ambientC, wanted.seed + 2), ownRampCPerS(wanted.ownRampCPerS)
{
    plant.setStripOn(!options.bare);
    const std::vector<int> targets = options.bare ? std::vector<int>{} : sheet.targets();
    if (!targets.empty())
        stripSensorStation = {StationKind::Dielectric, targets.front()}; // the core below its pads
    if (!options.tellsTruth)
        return;
    const auto tell = [&](StationId station) {
        truthStations.push_back(station);
        truthNames.push_back("truth_" + station.name() + "_C");
    };
    tell({StationKind::Plate});
    for (const StationKind kind : {StationKind::Joint, StationKind::Body})
        for (int site : targets) {
            if (truthNames.size() == static_cast<size_t>(maxExtraChannels))
                return;
            tell({kind, site});
        }
}

bool PlateWorks::heatIsCommanded() const
{
    return options.drive == DriveKind::Duty ? duty > 0 : setpointC > SimulatedPlate::setpointFloorC;
}

// Told to be off, a set-point that ramps is not there yet.
bool PlateWorks::comesDown() const
{
    return options.drive == DriveKind::Setpoint && ownRampCPerS > 0 && rampedC.value_or(sensorC) > sensorC;
}

void PlateWorks::sample()
{
    const double readC = sensor.sample(); // drawn always: one fault leaves the rest alike
    stripC = stripSensor.sample();
    sensorC = spoilt.shows(readC, timeS(), SimulatedPlate::sampleS, options.noiseK, options.readingStepK);
    if (timeS() - readS >= options.readingEveryS - 1e-9) {
        readS = timeS();
        shownC = sensorC;
        if (!has(Fault::CounterStuck))
            counter = (counter + 1) & 0xffff;
    }
    if (options.drive == DriveKind::Setpoint)
        driveByLoop();
}

void PlateWorks::driveByLoop()
{
    if ((!heatIsCommanded() && !comesDown()) || !powered() || has(Fault::SensorOpen) || tripped) {
        loop.rest();
        loopDuty = 0;
        rampedC.reset();
        return;
    }
    const double mostK = ownRampCPerS * SimulatedPlate::sampleS, fromC = rampedC.value_or(sensorC);
    rampedC = ownRampCPerS > 0 ? std::clamp(setpointC, fromC - mostK, fromC + mostK) : setpointC;
    loopDuty = loop.step(*rampedC, sensorC, SimulatedPlate::sampleS);
}

// Something was written: the cut of the watchdog, or its bit, may end.
void PlateWorks::noteCommand()
{
    if (!heatIsCommanded())
        tripped = false;
    const bool latches = options.watchdogBit == WatchdogBit::Latches;
    coldSinceTrip = coldSinceTrip || !tripped;
    const bool enabledAgain = options.hasEnable ? enabled && !tripped : coldSinceTrip && heatIsCommanded();
    trippedBit = trippedBit && (latches ? !enabledAgain : tripped);
}

double PlateWorks::supply() const
{
    const double mains = faults.valueOf(Fault::Mains, timeS()).value_or(1);
    return mains * mains * (has(Fault::HalfPower) ? 0.5 : 1);
}

void PlateWorks::watch()
{
    if (options.hasWatchdog && heatIsCommanded() && timeS() - lastContactS > options.watchdogSeconds + 1e-9) {
        tripped = true;
        trippedBit = options.watchdogBit != WatchdogBit::None;
        coldSinceTrip = false;
        enabled = false;
    }
}

void PlateWorks::reboot()
{
    if (has(Fault::Reboot) && !rebooting) {
        duty = 0;
        setpointC = SimulatedPlate::setpointFloorC;
        counter = 0;
        tripped = trippedBit = fan = enabled = false;
        ownRampCPerS = options.ownRampCPerS;
        plant.setFan(false);
        options.watchdogSeconds = SimulatedPlateOptions{}.watchdogSeconds;
    }
    rebooting = has(Fault::Reboot);
}

void PlateWorks::obeyForeignMaster()
{
    if (!has(Fault::ForeignMaster) || timeS() < foreignDueS)
        return;
    foreignDueS = timeS() + 1;
    lastContactS = timeS();
    if (options.drive == DriveKind::Duty)
        duty = 1;
    else
        setpointC = SimulatedPlate::setpointMaxC;
}

double PlateWorks::heat() const
{
    if (!powered())
        return 0;
    if (has(Fault::RelayWelded))
        return 1;
    if (has(Fault::HeaterOpen) || tripped || (!heatIsCommanded() && !comesDown()))
        return 0;
    if (has(Fault::OverTemperature))
        return 1;
    return options.drive == DriveKind::Duty ? duty : loopDuty;
}

void PlateWorks::step()
{
    reboot();
    obeyForeignMaster();
    watch();
    burden.act(plant, timeS(), SimulatedPlate::stepS);
    told = heat();
    if (told == 0 && (tripped || !powered() || has(Fault::HeaterOpen)))
        output.cut();
    const bool pastIt = powered() && (has(Fault::RelayWelded) || has(Fault::OverTemperature));
    applied = pastIt ? told : output.give(told, SimulatedPlate::stepS);
    plant.advance(SimulatedPlate::stepS, applied, supply());
    ++steps;
    sensor.advance(plant.sensorC());
    stripSensor.advance(stripSensorStation ? plant.stationC(*stripSensorStation) : sheet.air.ambientC);
    if (steps % std::lround(SimulatedPlate::sampleS / SimulatedPlate::stepS) == 0)
        sample();
}

bool PlateWorks::answers()
{
    if (!reachable()) {
        error = "no answer in time";
        return false;
    }
    lastContactS = timeS();
    error.clear();
    return true;
}

} // namespace stripwright
