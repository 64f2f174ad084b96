#include "planner/plate_reference.h"

#include "thermal/heat_network.h"

#include <algorithm>
#include <cmath>

namespace stripwright {

std::array<double, Shape::count> Shape::values() const
{
    return {soakRampCPerS, soakStartC, soakS, soakEndC, waitC, waitS, peakRampCPerS, peakC, holdS};
}

Shape Shape::from(const std::array<double, count>& v)
{
    return {v[0], v[1], v[2], v[3], v[4], v[5], v[6], v[7], v[8]};
}

static double lossW(const PlateType& plate, double plateC, double ambientC, bool fan)
{
    const double above = plateC - ambientC;
    const double hot = plateC + zeroCelsiusK, cold = ambientC + zeroCelsiusK;
    return (plate.lossWPerK + (fan ? plate.fanLossWPerK : 0)) * above +
           plate.radiatingAreaM2 * stefanBoltzmannWPerM2K4 *
               (hot * hot * hot * hot - cold * cold * cold * cold);
}

namespace {

/// Where the shape wants the plate, as a place along its legs; moves on only when the plate keeps up. A
/// smooth function of the shape's numbers, so that a search may follow slopes.
class Wish {
public:
    Wish(const Shape& shape, double startC)
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
    /// wish still lasts in this step.
    double advance(double dtS, double lagK)
    {
        constexpr double waitBeyondK = 2, fullStopK = 3;
        const double lastsS = std::min(dtS, atS_[legs] - placeS_);
        const double pace = std::clamp((fullStopK - lagK) / (fullStopK - waitBeyondK), 0.0, 1.0);
        placeS_ = pace * dtS >= lastsS ? placeS_ + lastsS : placeS_ + pace * dtS;
        return pace * dtS >= lastsS ? lastsS : dtS;
    }
    double wishC() const
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

    std::array<double, legs + 1> cornerC_{}, atS_{};
    int corners_ = 0;
    double placeS_ = 0;
};

} // namespace

PlateReference followShape(const Shape& shape, const PlateType& plate, const StripDraw& draw, double ambientC,
                           bool fan, double stepS, double latestOffS, double endS)
{
    constexpr double innerS = 0.5;
    const int inner = std::max(1, static_cast<int>(std::lround(stepS / innerS)));
    const double dt = stepS / inner;
    const double capacity = plate.heatCapacityJPerK + draw.heatCapacityJPerK;
    const double mostW = plate.powerW * plannedPowerShare;
    const double lag = plate.elementLagS;

    PlateReference reference;
    reference.stepS = stepS;
    double plateC = ambientC, plateRate = 0, elementW = 0, t = 0;
    Wish wish(shape, ambientC);
    bool off = false;
    // The wish runs ahead of the plate by the element's lag, so that the heat arrives when it is due.
    double wishBeforeC = ambientC;
    const long steps = std::lround(endS / stepS);
    for (long i = 0; i <= steps; ++i) {
        reference.plateC.push_back(plateC);
        double dutySum = 0;
        for (int k = 0; k < inner; ++k) {
            double heaterW = 0;
            if (!off) {
                const double lastsS = wish.advance(dt, wishBeforeC - plateC - lag * plateRate);
                const double rise = (wish.wishC() - wishBeforeC) / dt;
                const double behind = wishBeforeC - rise * lag - plateC;
                wishBeforeC = wish.wishC();
                heaterW = capacity * (rise + behind / std::max(3 * lag, 6.0)) +
                          lossW(plate, plateC, ambientC, false) + draw.conductanceWPerK * (plateC - ambientC);
                heaterW = std::clamp(heaterW, 0.0, mostW) * lastsS / dt;
                off = wish.done() || t + dt >= latestOffS;
                if (off)
                    reference.heaterOffS = t + lastsS;
            }
            dutySum += heaterW / plate.powerW;
            elementW += lag > 0 ? (heaterW - elementW) * (1 - std::exp(-dt / lag)) : heaterW - elementW;
            const bool blowing = fan && off;
            plateRate = (elementW - lossW(plate, plateC, ambientC, blowing) -
                         draw.conductanceWPerK * (plateC - ambientC)) /
                        capacity;
            plateC += dt * plateRate;
            t += dt;
        }
        reference.duty.push_back(dutySum / inner);
    }
    return reference;
}

double coastS(const PlateType& plate, double fromC, double toC, double ambientC, bool fan)
{
    constexpr double longestS = 6 * 3600, dt = 1;
    double t = 0;
    for (double plateC = fromC; plateC > toC && t < longestS; t += dt)
        plateC -= dt / plate.heatCapacityJPerK * lossW(plate, plateC, ambientC, fan);
    return t;
}

double strongestRampCPerS(const PlateType& plate, const StripDraw& draw, double plateC, double ambientC)
{
    const double spareW = plate.powerW * plannedPowerShare - lossW(plate, plateC, ambientC, false) -
                          draw.conductanceWPerK * (plateC - ambientC);
    return spareW / (plate.heatCapacityJPerK + draw.heatCapacityJPerK);
}

} // namespace stripwright
