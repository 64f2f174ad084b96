#pragma once

#include "interlocks/history.h"
#include "interlocks/observation.h"
#include "interlocks/plate_figures.h"

namespace stripwright {

/// Compares the heat that the reading shows with the heat that was given, both as shares of full power:
///
///     shown = (C dT/dt + losses(T)) / P,   dT/dt over 5 s
///     given = duty through element lag, sensor lag and dead time, mean over the same 5 s
///
/// The strip's own heat is left out: it is a few hundredths of the plate's.
class HeatBalance {
public:
    explicit HeatBalance(const PlateFigures& plate);
    void update(const Observation& seen);

    std::optional<double> shownShare() const { return shown_; }
    std::optional<double> givenShare() const { return given_; } ///< None while the duty is unknown.
    std::optional<double> slopeCPerS() const { return slope_; }

private:
    static constexpr double windowS = 5;
    PlateFigures plate_;
    History readings_, lagged_;
    bool started_ = false;
    double lastS_ = 0, element_ = 0, sensor_ = 0;
    std::optional<double> shown_, given_, slope_;
};

} // namespace stripwright
