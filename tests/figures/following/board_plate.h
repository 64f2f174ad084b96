#pragma once

#include "interlocks/plate_figures.h"
#include "link/plate.h"
#include "thermal/powered_plate.h"

#include <deque>
#include <random>

namespace stripwright {

/// A plate with a whole strip on it in virtual time: heat by the strip model, sensor with dead time, 0.05 K
/// of noise and steps of 0.1 K. With a loop of its own, which goes by that, it is driven by its set-point.
class BoardPlate final : public Plate {
public:
    struct Kind {
        std::optional<OwnLoopFigures> ownLoop = {};
        bool tellsDuty = true;
        bool coarse = false; ///< It is read in whole degrees, once a second.
    };
    BoardPlate(const BenchSheet& truth, const TruthFactors& factors, unsigned seed, const Kind& kind);

    void advance(double dtS); ///< A multiple of 0.1 s.
    double plateC() const { return plant_.plateC(); }
    double stationC(StationId station) const { return plant_.stationC(station); }
    double setpointC() const { return setpointC_; }
    double shownC() const { return kind_.coarse ? coarseC_ : fineC_; }

    double readingEveryS() const override { return kind_.coarse ? 1 : 0; }
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
    Kind kind_;
    double duty_ = 0, setpointC_ = 0, integral_ = 0, fineC_, coarseC_;
    std::optional<double> rampedC_;
    long steps_ = 0;
    unsigned counter_ = 0;
    std::deque<double> delayed_;
    std::mt19937 random_;
    std::normal_distribution<double> noise_{0, 0.05};
};

} // namespace stripwright
