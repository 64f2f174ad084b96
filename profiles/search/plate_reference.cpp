#include "search/plate_reference.h"

#include "thermal/heat_network.h"

#include <algorithm>
#include <cmath>

namespace stripwright {

std::array<double, Shape::count> Shape::values() const
{
    return {soakRampCPerS, soakStartC, soakS, soakEndC, waitC, waitS, peakRampCPerS, peakC, holdS};
}

Shape Shape::from(std::span<const double> v)
{
    return {v[0], v[1], v[2], v[3], v[4], v[5], v[6], v[7], v[8]};
}

double StripDraw::wholeHeatCapacityJPerK() const
{
    double sum = heatCapacityJPerK;
    for (const Late& one : late)
        sum += one.heatCapacityJPerK;
    return sum;
}

double lossW(const PlateType& plate, double plateC, double ambientC, double fanShare)
{
    const double above = plateC - ambientC;
    const double hot = plateC + zeroCelsiusK, cold = ambientC + zeroCelsiusK;
    return (plate.lossWPerK + fanShare * plate.fanLossWPerK) * above +
           plate.radiatingAreaM2 * stefanBoltzmannWPerM2K4 *
               (hot * hot * hot * hot - cold * cold * cold * cold);
}

OwnLoopReach::OwnLoopReach(const PlateType& plate, double peakC, double share)
    : loop_(plate.ownLoop), highestSetpointC_(std::min(peakC + setpointOverPeakK, plate.maxC)), share_(share)
{
}

double OwnLoopReach::dutyAt(double setpointC, double plateC) const
{
    return std::clamp(integral_ + loop_->gainPerK * (setpointC - plateC), 0.0, loop_->mostDuty);
}

double OwnLoopReach::mostDuty(double plateC, double rateCPerS, double dtS) const
{
    if (!loop_)
        return share_;
    const double most = share_ * dutyAt(highestSetpointC(plateC, rateCPerS), plateC);
    if (!loop_->rampCPerS)
        return most;
    return std::min(most, dutyAt(setpointC_.value_or(plateC) + *loop_->rampCPerS * dtS, plateC));
}

double OwnLoopReach::leastDuty(double plateC, double dtS) const
{
    if (!loop_ || !loop_->rampCPerS)
        return 0;
    return dutyAt(setpointC_.value_or(plateC) - *loop_->rampCPerS * dtS, plateC);
}

double OwnLoopReach::highestSetpointC(double plateC, double rateCPerS) const
{
    if (!loop_ || loop_->cutAfterS)
        return highestSetpointC_;
    return std::min(highestSetpointC_, plateC + unprovenLeadS * std::max(rateCPerS, 0.0) + unprovenLeadK);
}

void OwnLoopReach::advance(double duty, double plateC, double dtS)
{
    if (!loop_)
        return;
    setpointC_ = plateC + (duty - integral_) / loop_->gainPerK;
    integral_ += (1 - std::exp(-dtS / loop_->integralS)) * (duty - integral_);
}

namespace {

/// Where the shape wants the plate, as a place along its legs; moves on only when the plate keeps up. A
/// smooth function of the shape's numbers, so that a search may follow slopes.
class ShapeSetPoint {
public:
    ShapeSetPoint(const Shape& shape, double startC)
    {
        constexpr double slowestCPerS = 1e-3;
        const auto climbS = [&](double fromC, double toC, double rampCPerS) {
            return std::abs(toC - fromC) / std::max(rampCPerS, slowestCPerS);
        };
        const double soakStartC = std::max(startC, shape.soakStartC);
        const double soakEndC = std::max(soakStartC, shape.soakEndC);
        corner(startC, 0);
        corner(soakStartC, climbS(startC, soakStartC, shape.soakRampCPerS));
        corner(soakEndC, std::max(shape.soakS, 0.0));
        const double waitC = std::max(startC, shape.waitC), peakC = std::max(waitC, shape.peakC);
        corner(waitC, climbS(soakEndC, waitC, shape.soakRampCPerS));
        corner(waitC, std::max(shape.waitS, 0.0));
        corner(peakC, climbS(waitC, peakC, shape.peakRampCPerS));
        corner(peakC, std::max(shape.holdS, 0.0));
    }

    /// Advances by at most dtS, less at the end; `lagK` is how far the plate is behind. Returns the time the
    /// set point still lasts in this step.
    double advance(double dtS, double lagK)
    {
        constexpr double waitBeyondK = 2, fullStopK = 3;
        const double lastsS = std::min(dtS, atS_[legs] - placeS_);
        const double pace = std::clamp((fullStopK - lagK) / (fullStopK - waitBeyondK), 0.0, 1.0);
        placeS_ = pace * dtS >= lastsS ? placeS_ + lastsS : placeS_ + pace * dtS;
        for (; passed_ < legs && pace > 0 && placeS_ >= atS_[passed_]; ++passed_)
            passedS_[passed_] = timeS_ + std::min(dtS, lastsS / pace) - (placeS_ - atS_[passed_]) / pace;
        timeS_ += dtS;
        return pace * dtS >= lastsS ? lastsS : dtS;
    }
    /// When the plate was due at each corner between the legs; those not reached: now.
    std::vector<double> bendsS() const
    {
        std::vector<double> bends(passedS_.begin() + 1, passedS_.begin() + passed_);
        bends.resize(legs - 1, timeS_);
        return bends;
    }
    double setPointC() const
    {
        int leg = 0;
        while (leg + 1 < legs && placeS_ > atS_[leg + 1])
            ++leg;
        const double lengthS = atS_[leg + 1] - atS_[leg];
        const double share = lengthS > 0 ? std::clamp((placeS_ - atS_[leg]) / lengthS, 0.0, 1.0) : 1;
        return cornerC_[leg] + share * (cornerC_[leg + 1] - cornerC_[leg]);
    }
    bool done() const { return placeS_ >= atS_[legs]; }

private:
    static constexpr int legs = 6;
    void corner(double toC, double lastsS)
    {
        cornerC_[corners_] = toC;
        atS_[corners_] = corners_ == 0 ? 0 : atS_[corners_ - 1] + lastsS;
        ++corners_;
    }

    std::array<double, legs + 1> cornerC_{}, atS_{}, passedS_{};
    int corners_ = 0, passed_ = 0;
    double placeS_ = 0, timeS_ = 0;
};

/// Plate and element under power, losses and the strip's draw.
class DrivenPlate {
public:
    DrivenPlate(const PlateType& plate, const StripDraw& draw, double ambientC, double stepS)
        : plate_(plate), draw_(draw), ambientC_(ambientC), stepS_(stepS), plateC_(ambientC)
    {
        const auto follows = [&](double lagS) { return lagS > 0 ? 1 - std::exp(-stepS / lagS) : 1.0; };
        elementFollows_ = follows(plate.elementLagS);
        for (size_t i = 0; i < draw.late.size(); ++i)
            lateFollows_[i] = follows(draw.late[i].lagS);
        lateC_.fill(ambientC);
    }
    double plateC() const { return plateC_; }
    double rateCPerS() const { return rateCPerS_; }
    double takenW(double fanShare) const
    {
        double late = 0;
        for (size_t i = 0; i < lateC_.size(); ++i)
            late += draw_.late[i].heatCapacityJPerK * lateFollows_[i] / stepS_ * (plateC_ - lateC_[i]);
        return lossW(plate_, plateC_, ambientC_, fanShare) + draw_.conductanceWPerK * (plateC_ - ambientC_) +
               late;
    }
    double capacityJPerK() const { return plate_.heatCapacityJPerK + draw_.heatCapacityJPerK; }
    void advance(double heaterW, double fanShare)
    {
        elementW_ += elementFollows_ * (heaterW - elementW_);
        rateCPerS_ = (elementW_ - takenW(fanShare)) / capacityJPerK();
        for (size_t i = 0; i < lateC_.size(); ++i)
            lateC_[i] += lateFollows_[i] * (plateC_ - lateC_[i]);
        plateC_ += stepS_ * rateCPerS_;
    }

private:
    const PlateType& plate_;
    const StripDraw draw_;
    const double ambientC_, stepS_;
    double plateC_, rateCPerS_ = 0, elementW_ = 0, elementFollows_ = 1;
    std::array<double, std::tuple_size_v<decltype(StripDraw::late)>> lateC_{}, lateFollows_{};
};

/// Left alone at a set-point, from a moment of a heat on.
double comesToC(const PlateType& plate, double plateC, double duty, double integral, double setpointC,
                double ambientC)
{
    constexpr double longestS = 900, dt = 0.5;
    const OwnLoopFigures& loop = *plate.ownLoop;
    const double elementFollows = plate.elementLagS > 0 ? 1 - std::exp(-dt / plate.elementLagS) : 1;
    const double seenLagS = plate.sensorLagS + plate.deadTimeS;
    const double readingFollows = seenLagS > 0 ? 1 - std::exp(-dt / seenLagS) : 1;
    double element = duty, readingC = plateC, highestC = plateC;
    for (double t = 0; t < longestS; t += dt) {
        const double errorK = setpointC - readingC, wanted = integral + loop.gainPerK * errorK;
        if (wanted >= 0 && wanted <= loop.mostDuty)
            integral =
                std::clamp(integral + loop.gainPerK * errorK * dt / loop.integralS, 0.0, loop.mostDuty);
        const bool cut = loop.cutAfterS && t >= *loop.cutAfterS;
        element += elementFollows * ((cut ? 0 : std::clamp(wanted, 0.0, loop.mostDuty)) - element);
        plateC += dt * (plate.powerW * element - lossW(plate, plateC, ambientC)) / plate.heatCapacityJPerK;
        readingC += readingFollows * (plateC - readingC);
        highestC = std::max(highestC, plateC);
        if (cut && element < 0.01)
            break;
    }
    return highestC;
}

int innerSteps(double stepS)
{
    constexpr double innerS = 0.5;
    return std::max(1, static_cast<int>(std::lround(stepS / innerS)));
}

} // namespace

PlateReference followShape(const Shape& shape, const PlateType& plate, const StripDraw& draw, double ambientC,
                           bool fan, double stepS, double latestOffS, double endS)
{
    const int inner = innerSteps(stepS);
    const double dt = stepS / inner, lag = plate.elementLagS;
    OwnLoopReach reach(plate, shape.peakC, plannedPowerShare);

    PlateReference reference;
    reference.stepS = stepS;
    DrivenPlate driven(plate, draw, ambientC, dt);
    ShapeSetPoint setPoint(shape, ambientC);
    bool off = false;
    // The set point runs ahead of the plate by the element's lag, so that the heat arrives when it is due.
    double setPointBeforeC = ambientC, t = 0;
    const long steps = std::lround(endS / stepS);
    for (long i = 0; i <= steps; ++i) {
        reference.plateC.push_back(driven.plateC());
        double dutySum = 0;
        for (int k = 0; k < inner; ++k) {
            double heaterW = 0, lastsS = 0;
            if (!off) {
                lastsS = setPoint.advance(dt, setPointBeforeC - driven.plateC() - lag * driven.rateCPerS());
                const double rise = (setPoint.setPointC() - setPointBeforeC) / dt;
                const double behind = setPointBeforeC - rise * lag - driven.plateC();
                setPointBeforeC = setPoint.setPointC();
                heaterW =
                    driven.capacityJPerK() * (rise + behind / std::max(3 * lag, 6.0)) + driven.takenW(0);
                const double mostW = plate.powerW * reach.mostDuty(driven.plateC(), driven.rateCPerS(), dt);
                const double leastW = std::min(plate.powerW * reach.leastDuty(driven.plateC(), dt), mostW);
                heaterW = std::clamp(heaterW, leastW, mostW) * lastsS / dt;
                off = setPoint.done() || t + dt >= latestOffS;
                if (off)
                    reference.heaterOffS = t + lastsS;
            }
            dutySum += heaterW / plate.powerW;
            reach.advance(heaterW / plate.powerW, driven.plateC(), dt);
            driven.advance(heaterW, fan && off ? 1 - lastsS / dt : 0);
            t += dt;
        }
        reference.duty.push_back(dutySum / inner);
    }
    reference.bendsS = setPoint.bendsS();
    return reference;
}

PlateReference followPower(const PowerSchedule& schedule, const PlateType& plate, const StripDraw& draw,
                           double ambientC, bool fan, double stepS, double endS)
{
    const int inner = innerSteps(stepS);
    const double dt = stepS / inner;
    PlateReference reference;
    reference.stepS = stepS;
    reference.heaterOffS = schedule.offS;
    reference.bendsS = schedule.fromS;
    DrivenPlate driven(plate, draw, ambientC, dt);
    OwnLoopReach reach(plate, schedule.peakC, plannedPowerShare);
    const size_t pieces = schedule.duty.size();
    const auto endOf = [&](size_t piece) {
        return piece + 1 < pieces ? std::min(schedule.fromS[piece + 1], schedule.offS) : schedule.offS;
    };
    size_t piece = 0;
    double t = 0;
    const long steps = std::lround(endS / stepS);
    for (long i = 0; i <= steps; ++i) {
        reference.plateC.push_back(driven.plateC());
        double dutySum = 0;
        for (int k = 0; k < inner; ++k, t += dt) {
            // A share of a step, so that the curve is smooth in the moment of heater-off.
            double duty = 0;
            for (size_t one = piece; one < pieces && schedule.fromS[one] < t + dt; ++one) {
                duty += schedule.duty[one] *
                        std::max(0.0, std::min(endOf(one), t + dt) - std::max(schedule.fromS[one], t)) / dt;
                if (endOf(one) <= t + dt)
                    piece = one + 1;
            }
            if (t + dt <= schedule.offS)
                duty = std::max(duty, reach.leastDuty(driven.plateC(), dt));
            duty = std::min(duty, reach.mostDuty(driven.plateC(), driven.rateCPerS(), dt));
            reach.advance(duty, driven.plateC(), dt);
            dutySum += duty;
            driven.advance(duty * plate.powerW,
                           fan ? std::clamp((t + dt - schedule.offS) / dt, 0.0, 1.0) : 0);
        }
        reference.duty.push_back(dutySum / inner);
    }
    return reference;
}

double leftAloneAtMostC(const PlateReference& reference, const PlateType& plate, double ambientC)
{
    constexpr double everyS = 5;
    const double stepS = reference.stepS,
                 peakC = *std::max_element(reference.plateC.begin(), reference.plateC.end());
    OwnLoopReach reach(plate, peakC);
    double highestC = peakC, lookS = 0;
    for (size_t i = 0;
         i + 1 < reference.plateC.size() && static_cast<double>(i) * stepS < reference.heaterOffS; ++i) {
        const double plateC = reference.plateC[i], rate = (reference.plateC[i + 1] - plateC) / stepS;
        if (static_cast<double>(i) * stepS >= lookS) {
            lookS += everyS;
            highestC = std::max(highestC, comesToC(plate, plateC, reference.duty[i], reach.integral(),
                                                   reach.highestSetpointC(plateC, rate), ambientC));
        }
        reach.advance(reference.duty[i], plateC, stepS);
    }
    return highestC;
}

PlateReference withoutIdle(PlateReference reference, bool keepsHeaterOff)
{
    constexpr double noDuty = 0.002;
    std::vector<double>& duty = reference.duty;
    const auto powered = [](double one) { return one > noDuty; };
    const auto first = std::find_if(duty.begin(), duty.end(), powered);
    if (first == duty.end())
        return reference;
    if (!keepsHeaterOff) {
        const auto last = std::find_if(duty.rbegin(), duty.rend(), powered);
        reference.heaterOffS = static_cast<double>(duty.rend() - last) * reference.stepS;
    }
    const auto idle = first - duty.begin();
    const double idleS = static_cast<double>(idle) * reference.stepS;
    duty.erase(duty.begin(), first);
    reference.plateC.erase(reference.plateC.begin(), reference.plateC.begin() + idle);
    reference.heaterOffS -= idleS;
    for (double& bendS : reference.bendsS)
        bendS -= idleS;
    return reference;
}

double coastS(const PlateType& plate, double fromC, double toC, double ambientC, bool fan)
{
    constexpr double longestS = 6 * 3600, dt = 1;
    double t = 0;
    for (double plateC = fromC; plateC > toC && t < longestS; t += dt)
        plateC -= dt / plate.heatCapacityJPerK * lossW(plate, plateC, ambientC, fan ? 1 : 0);
    return t;
}

double shortestClimbS(const PlateType& plate, double toC, double ambientC)
{
    constexpr double longestS = 3600, dt = 1;
    OwnLoopReach reach(plate, toC, plannedPowerShare);
    DrivenPlate driven(plate, {}, ambientC, dt);
    double t = 0;
    for (; driven.plateC() < toC && t < longestS; t += dt) {
        const double duty = reach.mostDuty(driven.plateC(), driven.rateCPerS(), dt);
        reach.advance(duty, driven.plateC(), dt);
        driven.advance(duty * plate.powerW, 0);
    }
    return t;
}

double strongestRampCPerS(const PlateType& plate, const StripDraw& draw, double plateC, double ambientC)
{
    const double spareW = plate.powerW * plannedPowerShare - lossW(plate, plateC, ambientC, 0) -
                          draw.conductanceWPerK * (plateC - ambientC);
    return spareW / (plate.heatCapacityJPerK + draw.wholeHeatCapacityJPerK());
}

} // namespace stripwright
