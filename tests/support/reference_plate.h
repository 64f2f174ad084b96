#pragma once

#include "interlocks/plate_figures.h"
#include "link/plate.h"
#include "link/plate_link.h"
#include "planner/heat_plan.h"

#include <deque>
#include <random>

namespace stripwright {

/// The reference plate of the control benchmarks, stepped in virtual time: 700 J/K, 900 W, losses 1.2 W/K and
/// radiation of 0.06 m² at emissivity 0.9, element lag 4 s, sensor lag 2.5 s, dead time 1 s, a board of 30
/// J/K on 2.4 W/K, readings in steps of 0.1 K with 0.05 K of noise. Faults are plain members.
class ReferencePlate : public Plate {
public:
    double powerFactor = 1, capacityFactor = 1, lossFactor = 1, draughtW = 0;
    bool noAnswer = false, sensorFault = false, stuck = false, heaterOpen = false, welded = false,
         ignoresCommands = false;
    bool detached = false, counterStands = false, watchdogTripped = false, reportsDuty = true;
    bool canClear = false, clearDoesNothing = false; ///< The watchdog bit.
    double contactFactor = 1;                        ///< Of the board on the plate.
    bool thermocoupleOnBoard = false;                ///< The board's temperature is read as the strip sensor.
    bool withEnable = false; ///< It has an enable output, which takes the power from the heater.
    bool ownLoop = false;    ///< It drives its heater by the set-point, as loopFigures say.
    OwnLoopFigures loopFigures{.gainPerK = 0.07, .integralS = 45}; ///< PI, slower than a good one.
    bool fanByHand = false;                                        ///< Nothing switches its fan but hands.
    double fanLossWPerK = 0;                                       ///< What its fan adds while it blows.
    double spikeK = 0;
    bool foreignMaster = false; ///< Somebody else writes its duty before every reading.
    long heaterOffCalls = 0;

    explicit ReferencePlate(double startC = 25);
    void advance(double dtS);

    double plateC() const { return plateC_; }
    double duty() const { return duty_; }
    double heatingS() const { return heatingS_; } ///< Time with any duty.
    double setpointC() const { return setpointC_; }
    bool lifted() const { return lifted_; }
    bool fan() const { return fan_; }

    std::optional<PlateReading> read() override;
    bool setDuty(double duty) override;
    bool setSetpointC(double setpointC) override;
    bool heaterOff() override;
    bool hasEnable() const override { return withEnable; }
    bool setEnable(bool on) override;
    bool enabled() const { return enabled_; }
    bool canClearWatchdog() const override { return canClear; }
    bool clearWatchdog() override
    {
        watchdogTripped = watchdogTripped && (clearDoesNothing || noAnswer);
        return !noAnswer;
    }
    bool hasFan() const override { return !fanByHand; }
    bool setFan(bool on) override;
    bool setStripLifted(bool lifted) override;
    std::string lastError() const override { return noAnswer ? "no answer within 200 ms" : ""; }

private:
    void driveBySetpoint(double dtS);

    double timeS_ = 0, duty_ = 0, setpointC_ = 0, elementW_ = 0, plateC_, boardC_, sensorC_, heatingS_ = 0,
           shownC_ = 0;
    bool fan_ = false, lifted_ = false, enabled_ = false;
    double ownIntegral_ = 0;
    std::optional<double> rampedC_;
    unsigned counter_ = 0;
    std::deque<double> delayed_; // plate at 0.1 s steps, dead time long
    std::mt19937 random_{1};
    std::normal_distribution<double> noise_{0, 0.05};
};

PlateType referencePlateType();

/// What tuning would have learnt of such a plate, without an error.
IdentifiedPlate asLearnt(const PlateType& plate);

/// 25 to 150 °C at 0.8 K/s, to 180 in 90 s, to 240 at 0.6 K/s, 30 s held, then natural cooling; one target
/// joint.
HeatPlan referencePlan();

} // namespace stripwright
