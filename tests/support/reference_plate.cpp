#include "reference_plate.h"

#include "loop/tuning.h"

#include <algorithm>
#include <cmath>

namespace stripwright {

static constexpr double physicsStepS = 0.1, boardJPerK = 30, boardContactWPerK = 2.4;

PlateType referencePlateType()
{
    PlateType plate;
    plate.id = "reference";
    plate.powerW = 900;
    plate.heatCapacityJPerK = 700;
    plate.lossWPerK = 1.2;
    plate.radiatingAreaM2 = 0.06 * 0.9;
    plate.elementLagS = 4;
    plate.sensorLagS = 2.5;
    plate.deadTimeS = 1;
    plate.maxC = 300;
    return plate;
}

IdentifiedPlate asLearnt(const PlateType& plate)
{
    const PidGains gains = simcGains(figuresOf(plate, 25));
    return {.powerW = plate.powerW,
            .heatCapacityJPerK = plate.heatCapacityJPerK,
            .lossWPerK = plate.lossWPerK,
            .radiatingAreaM2 = plate.radiatingAreaM2,
            .elementLagS = plate.elementLagS,
            .sensorLagS = plate.sensorLagS,
            .deadTimeS = plate.deadTimeS,
            .dutyPerK = gains.kPerK,
            .integralS = gains.tiS,
            .derivativeS = gains.tdS,
            .ownLoop = plate.ownLoop};
}

ReferencePlate::ReferencePlate(double startC)
    : plateC_(startC), boardC_(startC), sensorC_(startC),
      delayed_(size_t(std::lround(1 / physicsStepS)), startC)
{
}

void ReferencePlate::advance(double dtS)
{
    const PlateFigures figures = figuresOf(referencePlateType(), 25);
    const int steps = int(std::lround(dtS / physicsStepS));
    for (int i = 0; i < steps; ++i) {
        const double h = physicsStepS;
        timeS_ += h;
        if (ownLoop)
            driveBySetpoint(h);
        if (duty_ > 0)
            heatingS_ += h;
        const double heater = (withEnable && !enabled_) || heaterOpen ? 0 : welded ? 1 : duty_;
        elementW_ +=
            (heater * figures.powerW * powerFactor - elementW_) * (1 - std::exp(-h / figures.elementLagS));
        const double boardW = lifted_ ? 0 : contactFactor * boardContactWPerK * (plateC_ - boardC_);
        const double boardLossW = thermocoupleOnBoard ? 0.1 * (boardC_ - 25) : 0;
        boardC_ += h * (boardW - boardLossW) / boardJPerK;
        const double fanW = fan_ ? fanLossWPerK * (plateC_ - 25) : 0;
        plateC_ += h * (elementW_ - lossFactor * figures.lossW(plateC_) - fanW - draughtW - boardW) /
                   (figures.heatCapacityJPerK * capacityFactor);
        delayed_.push_back(plateC_);
        const double seenC = detached ? 25 : delayed_.front();
        delayed_.pop_front();
        sensorC_ += (seenC - sensorC_) * (1 - std::exp(-h / figures.sensorLagS));
    }
    if (!counterStands)
        ++counter_;
}

std::optional<PlateReading> ReferencePlate::read()
{
    if (noAnswer)
        return {};
    PlateReading reading;
    if (!stuck)
        shownC_ = std::round((sensorC_ + noise_(random_)) * 10) / 10;
    reading.sensorC = shownC_ + spikeK;
    if (reportsDuty)
        reading.duty = duty_;
    if (ownLoop)
        reading.setpointC = setpointC_;
    if (withEnable)
        reading.enabled = enabled_;
    if (thermocoupleOnBoard)
        reading.stripC = std::round(boardC_ * 10) / 10;
    reading.toldToHeat = setpointC_ > 0 || (reportsDuty && duty_ > 0) || enabled_;
    reading.foreignWrite = foreignMaster;
    reading.sensorFault = sensorFault;
    reading.watchdogTripped = watchdogTripped;
    reading.counter = counter_;
    reading.extraCount = 1;
    reading.extraC[0] = plateC_;
    return reading;
}

bool ReferencePlate::setDuty(double duty)
{
    if (noAnswer || ignoresCommands)
        return false;
    duty_ = duty;
    return true;
}

bool ReferencePlate::setSetpointC(double setpointC)
{
    if (noAnswer || ignoresCommands)
        return false;
    setpointC_ = setpointC;
    return true;
}

bool ReferencePlate::heaterOff()
{
    ++heaterOffCalls;
    setpointC_ = noAnswer || ignoresCommands ? setpointC_ : 0;
    const bool disabled = setEnable(false);
    return setDuty(0) && disabled;
}

bool ReferencePlate::setEnable(bool on)
{
    if (noAnswer || ignoresCommands)
        return false;
    enabled_ = on;
    return true;
}

void ReferencePlate::driveBySetpoint(double dtS)
{
    if (!(setpointC_ > 0)) {
        duty_ = ownIntegral_ = 0;
        rampedC_.reset();
        return;
    }
    const double fromC = rampedC_.value_or(sensorC_), mostK = loopFigures.rampCPerS.value_or(INFINITY) * dtS;
    rampedC_ = std::clamp(setpointC_, fromC - mostK, fromC + mostK);
    const double errorK = *rampedC_ - sensorC_, wanted = loopFigures.gainPerK * errorK + ownIntegral_;
    duty_ = std::clamp(wanted, 0.0, loopFigures.mostDuty);
    if (wanted == duty_ || (wanted > duty_) == (errorK < 0))
        ownIntegral_ = std::clamp(ownIntegral_ + loopFigures.gainPerK * errorK * dtS / loopFigures.integralS,
                                  0.0, loopFigures.mostDuty);
}

bool ReferencePlate::setFan(bool on)
{
    fan_ = on;
    return !noAnswer;
}

bool ReferencePlate::setStripLifted(bool lifted)
{
    lifted_ = lifted;
    return !noAnswer;
}

HeatPlan referencePlan()
{
    HeatPlan plan;
    plan.sheet.heat = HeatKind::Fit; // by a paste's windows
    plan.runnable = true;
    plan.sheet.title = "reference";
    plan.sheet.plate = referencePlateType();
    plan.sheet.air.ambientC = 25;
    plan.sheet.paste.countLiquidusC = 217;
    plan.sheet.paste.aboveLiquidusS.max = 150;
    plan.sheet.strip.led.bodyMaxC = 260;
    plan.heaterOffS = 156.25 + 90 + 100 + 30;
    plan.tripAboveC = 255;
    plan.stages = {{"preheat", 0, 156.25}, {"soak", 156.25, 246.25}, {"reflow", 246.25, 376.25}};
    const PlateFigures figures = figuresOf(plan.sheet.plate, 25);
    auto heatedC = [](double t) {
        if (t < 156.25)
            return 25 + 0.8 * t;
        if (t < 246.25)
            return 150 + (t - 156.25) / 3;
        return std::min(180 + 0.6 * (t - 246.25), 240.0);
    };
    double coolingC = 240;
    for (int t = 0; t <= 1800; ++t) {
        plan.timeS.push_back(t);
        if (t < plan.heaterOffS) {
            plan.plateC.push_back(heatedC(t));
            const double ahead = t + 0.5 + plan.sheet.plate.elementLagS;
            const double ramp = heatedC(ahead + 0.5) - heatedC(ahead - 0.5);
            const double powerW = (figures.heatCapacityJPerK + boardJPerK) * std::max(ramp, 0.0) +
                                  figures.lossW(heatedC(ahead));
            plan.duty.push_back(std::clamp(powerW / figures.powerW, 0.0, 1.0));
        } else {
            coolingC -= figures.lossW(coolingC) / (figures.heatCapacityJPerK + boardJPerK);
            plan.plateC.push_back(coolingC);
            plan.duty.push_back(0);
        }
    }
    const JointModel::Fit low{0.90, 6, 1}, nominal{0.94, 4, 1}, high{0.97, 3, 1};
    plan.joints = {{6, low, nominal, high}};
    return plan;
}

} // namespace stripwright
