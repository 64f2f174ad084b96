#pragma once

#include "interlocks/history.h"
#include "interlocks/observation.h"
#include "interlocks/plate_figures.h"

namespace stripwright {

/// Compares the heat that the reading shows with the heat that was given, both as shares of full power:
///
///     shown = (C dT/dt + losses(T)) / P,   dT/dt over a window of 5 s
///     given = duty through element lag, sensor lag and dead time, mean over the same window
///
/// (longer where readings come seldom, see windowOfReadingsS). The strip's own heat is left out: it is a few
/// hundredths of the plate's. While the duty is not known, and until the lags have forgotten it, what was
/// given is known only as a range, from nothing to full heat.
///
/// A cycle without a reading has no slope; the next one has, from the readings that there are.
class HeatBalance {
public:
    explicit HeatBalance(const PlateFigures& plate, double windowS = 5, double readingEveryS = 0);
    double windowS() const { return windowS_; }
    void update(const Observation& seen);

    std::optional<double> shownShare() const { return shown_; }
    /// With what the strip should draw by the plan, 3/10 of full power at most.
    std::optional<double> arrivesShare() const { return arrives_; }
    std::optional<double> givenShare() const; ///< None: known as a wide range at best.
    std::optional<double> givenAtLeast() const
    {
        return givenShare() ? least_.given : std::nullopt;
    }                                                                 ///< None: as givenShare().
    std::optional<double> givenAtMost() const { return most_.given; } ///< None before there is any.
    std::optional<double> slopeCPerS() const { return slope_; }
    /// Mean of what was told, or may have been, since what arrives now was given.
    std::optional<double> toldLately() const;
    /// What the steps and the noise of the sensor may add to the shown share; none before it has moved once.
    std::optional<double> unsureShare() const;

private:
    /// One end of the range of what was given, on its way to the reading.
    struct Given {
        double element = 0, sensor = 0;
        History lagged;
        std::optional<double> given;
    };
    void learnSteps(double sensorC);
    void give(Given& to, double duty, double plantS, double dtS);

    PlateFigures plate_;
    double windowS_;
    History readings_, told_;
    Given least_, most_;
    bool started_ = false;
    double lastS_ = 0, unsure_ = 0;
    std::optional<double> lastC_, lastStepK_;
    double smallestStepK_ = 0, noiseVarianceK2_ = 0;
    int steps_ = 0;
    std::optional<double> shown_, arrives_, slope_;
};

} // namespace stripwright
