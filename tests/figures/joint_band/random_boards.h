#pragma once

#include "loop/joint_estimate.h"
#include "planner/heat_plan.h"

#include <cstdint>

namespace stripwright::figures {

/// The plans that all boards are driven along: one for each strip type of the shelf, three targets on the
/// plate, the thermocouple beside the first.
std::vector<HeatPlan> plansOf(const Shelf& shelf, HeatKind heat = HeatKind::Fit);

enum class Seating { AsPlanned, Unseated };

/// How one board differs from its sheet.
struct Board {
    BenchSheet truth; ///< Contact by segments, films and room as they are.
    double power = 1, losses = 1;
    double plateOffsetK = 0, plateShare = 0; ///< Plate under the strip above what the sensor says.
    double gradientPerMm = 0; ///< Of the plate's rise, along the strip, from the plate's middle.
    double sensorOffsetK = 0, sensorShare = 0;
    double contactFactor = 1; ///< Mean over the plate, of nominal.
    std::uint64_t noiseSeed = 0;
};

/// Unseated: a tenth to three tenths of the contact's low.
Board randomBoard(const HeatPlan& plan, std::uint64_t seed, int number, Seating seating);

/// Standard normal values, the same everywhere.
class Dice {
public:
    explicit Dice(std::uint64_t seed);
    double between(double low, double high);
    double normal();

private:
    std::uint64_t state_;
};

} // namespace stripwright::figures
