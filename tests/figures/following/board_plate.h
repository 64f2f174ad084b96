#pragma once

#include "interlocks/plate_figures.h"
#include "link/plate.h"
#include "thermal/powered_plate.h"

#include <deque>
#include <random>

namespace stripwright {

/// A plate with a whole strip on it in virtual time: heat by the strip model, reading with dead time, 0.05 K
/// of noise and steps of 0.1 K. With a loop of its own it is driven by its set-point.
class BoardPlate final : public Plate {
public:
    BoardPlate(const BenchSheet& truth, const TruthFactors& factors, unsigned seed,
               const std::optional<OwnLoopFigures>& ownLoop = {}, bool tellsDuty = true);

    void advance(double dtS); ///< A multiple of 0.1 s.
    double plateC() const { return plant_.plateC(); }
    double stationC(StationId station) const { return plant_.stationC(station); }
    double setpointC() const { return setpointC_; }
    double shownC() const { return shownC_; }

    std::optional<PlateReading> read() override;
    bool setDuty(double duty) override;
    bool setSetpointC(double setpointC) override;
    bool heaterOff() override;
    bool setFan(bool on) override;
    bool setStripLifted(bool lifted) override;
    std::string lastError() const override { return {}; }

private:
    static constexpr double stepS = 0.1;
    void driveByOwnLoop();

    PoweredPlate plant_;
    std::optional<OwnLoopFigures> ownLoop_;
    bool tellsDuty_;
    double duty_ = 0, setpointC_ = 0, integral_ = 0, shownC_;
    unsigned counter_ = 0;
    std::deque<double> delayed_;
    std::mt19937 random_;
    std::normal_distribution<double> noise_{0, 0.05};
};

} // namespace stripwright
