#pragma once

#include "random_boards.h"

namespace stripwright::figures {

constexpr double periodS = 0.2; ///< Control period.

struct SiteResult {
    int samples = 0, inBand = 0; ///< One a second while heat is on.
    double peakC = 0;            ///< True, while heat is on.
    bool peakInBand = false;     ///< At that moment.
    double halfWidthK = 0;       ///< At the end of the heat.
    double medianErrorK = 0;     ///< There too, estimate less truth.
    int calibratedSamples = 0, calibratedInBand = 0;
};

/// What tells of the joints besides the plate's sensor.
enum class Told { Nothing, ByThermocouple, ByMarks };

struct BoardResult {
    std::vector<SiteResult> sites; ///< In the order of the plan's joints.
    std::optional<double> calibratedAtS, notSeatedAtS, endedEarlyAtS;
    std::string endText;
    std::optional<double> liquidAtS, hopelessAtS; ///< Marked liquid; said that no target can get so.
    double leastHope = 1; ///< That a target gets liquid, while the hands say "not yet".
    bool melted = false;  ///< The marked target, truly, while heat was on.
    double widening = 1;
    Band contact;
};

/// Drives one board along the plan, the estimate running on noisy readings, until the heat ends; unseated
/// boards with a thermocouple until the seat watch speaks, preheat at most.
///
/// Hands that mark watch the target that else has the thermocouple. Its solder turns within 1.5 K (one
/// deviation) of what the sheet says; they say so 0.5 to 2 s later, one in ten up to half a minute later.
/// From where the plan has it surely liquid on, they say "not yet" every 8 s while it is not.
BoardResult runBoard(const HeatPlan& plan, const Board& board, Told told, Seating seating);

} // namespace stripwright::figures
