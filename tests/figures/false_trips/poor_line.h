#pragma once

#include "bench/simulated_plate.h"

#include <random>

namespace stripwright {

/// How often a line fails, and a sensor jumps, for one cycle.
struct LineTrouble {
    double lostShare = 0;     ///< Of the readings and of the writes, one by one.
    double burstsPerHour = 0; ///< Two or three cycles in a row without an answer.
    double spikesPerHour = 0; ///< One reading up to 50 K off.
    double stepK = 0;         ///< Of the sensor; 0: as the plate tells.
    unsigned seed = 1;
};

/// A simulated plate behind a poor serial line. It never loses as many readings in a row as make a lost line:
/// those of a second, or three on a slow line.
class PoorLine final : public Plate {
public:
    PoorLine(SimulatedPlate& plate, const LineTrouble& trouble, double periodS);

    void nextCycle();
    int lost() const { return lost_; }
    int spikes() const { return spikes_; }

    std::optional<PlateReading> read() override;
    bool setDuty(double duty) override { return said(plate_.setDuty(duty)); }
    bool setSetpointC(double setpointC) override { return said(plate_.setSetpointC(setpointC)); }
    bool hasEnable() const override { return plate_.hasEnable(); }
    bool setEnable(bool on) override { return plate_.setEnable(on); }
    bool heaterOff() override { return said(plate_.heaterOff()); }
    bool setFan(bool on) override { return said(plate_.setFan(on)); }
    bool setStripLifted(bool lifted) override { return plate_.setStripLifted(lifted); }
    std::string lastError() const override { return "no answer in time"; }
    bool silent() const override { return silent_; }

private:
    bool happens(double probability) { return std::bernoulli_distribution(probability)(random_); }
    bool said(bool done); // carried out, and perhaps not heard back

    SimulatedPlate& plate_;
    const LineTrouble trouble_;
    const double periodS_;
    const int mostInARow_;
    std::mt19937 random_;
    bool silent_ = false, spiked_ = false;
    int deafCycles_ = 0, lostInARow_ = 0, lost_ = 0, spikes_ = 0;
};

} // namespace stripwright
