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

struct BoardResult {
    std::vector<SiteResult> sites; ///< In the order of the plan's joints.
    std::optional<double> calibratedAtS, notSeatedAtS, endedEarlyAtS;
    std::string endText;
    double widening = 1;
    Band contact;
};

/// Drives one board along the plan, the estimate running on noisy readings, until the heat ends; unseated
/// boards until the seat watch speaks, preheat at most.
BoardResult runBoard(const HeatPlan& plan, const Board& board, bool withThermocouple, Seating seating);

} // namespace stripwright::figures
