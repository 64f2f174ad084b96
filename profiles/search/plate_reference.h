#pragma once

#include "materials/materials.h"

#include <array>
#include <span>
#include <vector>

namespace stripwright {

/// What a strip takes from the plate, as seen from the plate: some of its heat capacity at once, some late,
/// as fins and overhang warm up, and a loss above ambient.
struct StripDraw {
    double heatCapacityJPerK = 0;
    double conductanceWPerK = 0;
    struct Late {
        double heatCapacityJPerK = 0, lagS = 1;
    };
    std::array<Late, 3> late = {};

    double wholeHeatCapacityJPerK() const;
};

/// The few numbers that shape a heat. All temperatures are the plate's.
struct Shape {
    double soakRampCPerS = 1; ///< From cold to soak.
    double soakStartC = 100;
    double soakS = 60;
    double soakEndC = 130;
    double waitC = 130; ///< A stop on the way from soak to peak, as just below liquidus: from there the climb
    double waitS = 0;   ///< through it is the steepest. May lie below the soak's end.
    double peakRampCPerS = 1; ///< From there to peak.
    double peakC = 180;
    double holdS = 5; ///< At peak, before the heater goes off.

    static constexpr int count = 9;
    std::array<double, count> values() const;
    static Shape from(std::span<const double> values); ///< As many as count.
};

/// A plate curve that the plate's own heater and cooling produce, with the duty that does it.
struct PlateReference {
    double stepS = 1;
    std::vector<double> plateC; ///< Plate body at i * stepS, from ambient.
    std::vector<double> duty;   ///< Held from i * stepS to the next, 0 to 1.
    double heaterOffS = 0;
    std::vector<double> bendsS; ///< When the curve begins each of its legs; as many whatever the numbers.
};

/// The heater's power piece by piece, the last one until heater-off.
struct PowerSchedule {
    std::vector<double> fromS; ///< Rising.
    std::vector<double> duty;  ///< As many, 0 to plannedPowerShare.
    double offS = 0;
    double peakC = 1000; ///< Highest plate temperature aimed at, for a plate with a loop of its own.
};

/// Share of the heater's power a plan may use; the rest is the loop's to hold the curve when mains or losses
/// differ.
constexpr double plannedPowerShare = 0.85;

/// How far a set-point may be above a plate that nobody has seen cut its heater when the line falls silent:
/// what it would go on to, and stay at, when whoever drives it dies. As far as the plate gets in that time,
/// and that much more.
constexpr double unprovenLeadS = 2, unprovenLeadK = 3;
/// And above the highest plate temperature of a plan at most, whatever was proven.
constexpr double setpointOverPeakK = 15;

/// What a plate with a loop of its own comes to, at most, when whoever drives it along this curve dies at the
/// worst moment, its set-point as far up as it may be: to where heat is cut, or to its set-point and beyond.
double leftAloneAtMostC(const PlateReference& reference, const PlateType& plate, double ambientC);

/// The share of the heater's power that a plate's own loop can be brought to give. Its integral is its duty,
/// late by its integral time, however its set-point is moved:
///
///     duty = integral + gain (set-point - reading),   integral' = (duty - integral) / integral time
///
/// A ramp of its own lets that set-point go only so far in a step, up as down.
class OwnLoopReach {
public:
    /// `peakC`: highest plate temperature of this heat; `share`: of what it could give, to be used.
    OwnLoopReach(const PlateType& plate, double peakC, double share = 1);
    /// In the next dtS; `share` for a plate without a loop of its own.
    double mostDuty(double plateC, double rateCPerS, double dtS) const;
    double leastDuty(double plateC, double dtS) const; ///< While its heater is on at all. 0 without a ramp.
    double highestSetpointC(double plateC, double rateCPerS) const;
    double integral() const { return integral_; }
    void advance(double duty, double plateC, double dtS); ///< It gave that duty.

private:
    double dutyAt(double setpointC, double plateC) const;

    std::optional<OwnLoopFigures> loop_;
    double highestSetpointC_, share_, integral_ = 0;
    std::optional<double> setpointC_; // that gave the last duty
};

/// Follows a shape with element lag, losses, radiation and the strip's draw, at most plannedPowerShare of the
/// power; where the shape asks for more it lags behind and later corners wait for it. Heater off after the
/// hold, at latestOffS in any case; fan from then on if asked for.
PlateReference followShape(const Shape& shape, const PlateType& plate, const StripDraw& draw, double ambientC,
                           bool fan, double stepS, double latestOffS, double endS);

/// The plate as that power drives it; the rest as in followShape.
PlateReference followPower(const PowerSchedule& schedule, const PlateType& plate, const StripDraw& draw,
                           double ambientC, bool fan, double stepS, double endS);

/// Without what goes before the first power and after the last: a heat begins when the heater does, and its
/// heater-off is the last power's end, unless it keeps its moment: for a fan that waits for it, or for a
/// plate that is to be held to its path until then.
PlateReference withoutIdle(PlateReference reference, bool keepsHeaterOff);

/// What a plate loses to its surroundings, strip aside [W]; fanShare: of the time that the fan blows.
double lossW(const PlateType& plate, double plateC, double ambientC, double fanShare = 0);

/// Time for the plate to coast from one temperature to another, heater off [s]; capped at six hours.
double coastS(const PlateType& plate, double fromC, double toC, double ambientC, bool fan);

/// Shortest time from ambient to a plate temperature, strip aside, with the planned share of the power and as
/// far as a plate's own loop can be brought to give it [s]; capped at an hour.
double shortestClimbS(const PlateType& plate, double toC, double ambientC);

/// Steepest sustained rise at a plate temperature with the planned share of the power [K/s].
double strongestRampCPerS(const PlateType& plate, const StripDraw& draw, double plateC, double ambientC);

} // namespace stripwright
