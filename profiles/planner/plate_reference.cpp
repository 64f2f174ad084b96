#include "planner/plate_reference.h"

#include "thermal/heat_network.h"

#include <algorithm>
#include <cmath>

namespace stripwright {

std::array<double, Shape::count> Shape::values() const
{
    return {soakRampCPerS, soakStartC, soakS, soakEndC, peakRampCPerS, peakC, holdS};
}

Shape Shape::from(const std::array<double, count>& v)
{
    return {v[0], v[1], v[2], v[3], v[4], v[5], v[6]};
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

/// Where the shape wants the plate, as a position along its legs; moves on only when the plate keeps up.
class Wish {
public:
    Wish(const Shape& shape, double startC) : shape_(shape), wishC_(startC) {}

    /// Advances by dtS; `lagK` is how far the plate is behind.
    void advance(double dtS, double lagK)
    {
        constexpr double waitBeyondK = 2;
        if (lagK > waitBeyondK)
            return;
        switch (leg_) {
        case 0:
            climb(shape_.soakRampCPerS, shape_.soakStartC, dtS);
            break;
        case 1:
            climb((shape_.soakEndC - shape_.soakStartC) / std::max(shape_.soakS, dtS), shape_.soakEndC, dtS);
            break;
        case 2:
            climb(shape_.peakRampCPerS, shape_.peakC, dtS);
            break;
        case 3:
            heldS_ += dtS;
            if (heldS_ >= shape_.holdS)
                leg_ = 4;
            break;
        default:
            break;
        }
    }
    double wishC() const { return wishC_; }
    bool done() const { return leg_ == 4; }

private:
    void climb(double rampCPerS, double toC, double dtS)
    {
        wishC_ += std::max(rampCPerS, 1e-3) * dtS;
        if (wishC_ >= toC) {
            wishC_ = std::max(toC, wishC_ - rampCPerS * dtS);
            ++leg_;
        }
    }

    Shape shape_;
    double wishC_, heldS_ = 0;
    int leg_ = 0;
};

} // namespace

PlateReference followShape(const Shape& shape, const PlateType& plate, const StripDraw& draw, double ambientC,
                           bool fan, double stepS, double endS)
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
    // The wish runs ahead of the plate by the element's lag, so that the heat arrives when it is due.
    double wishBeforeC = ambientC;
    const long steps = std::lround(endS / stepS);
    for (long i = 0; i <= steps; ++i) {
        reference.plateC.push_back(plateC);
        double dutySum = 0;
        for (int k = 0; k < inner; ++k) {
            double heaterW = 0;
            if (!wish.done()) {
                wish.advance(dt, wishBeforeC - plateC - lag * plateRate);
                const double rise = (wish.wishC() - wishBeforeC) / dt;
                const double behind = wishBeforeC - rise * lag - plateC;
                wishBeforeC = wish.wishC();
                heaterW = capacity * (rise + behind / std::max(3 * lag, 6.0)) +
                          lossW(plate, plateC, ambientC, false) + draw.conductanceWPerK * (plateC - ambientC);
                heaterW = std::clamp(heaterW, 0.0, mostW);
                if (wish.done())
                    reference.heaterOffS = t + dt;
            }
            dutySum += heaterW / plate.powerW;
            elementW += lag > 0 ? (heaterW - elementW) * (1 - std::exp(-dt / lag)) : heaterW - elementW;
            const bool blowing = fan && wish.done();
            plateRate = (elementW - lossW(plate, plateC, ambientC, blowing) -
                         draw.conductanceWPerK * (plateC - ambientC)) /
                        capacity;
            plateC += dt * plateRate;
            t += dt;
        }
        reference.duty.push_back(dutySum / inner);
    }
    if (!wish.done())
        reference.heaterOffS = endS;
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
