#pragma once

#include "interlocks/history.h"
#include "interlocks/sensor_fault.h"
#include "loop/foreign_heat.h"

namespace stripwright {

/// Watches the plate while no run is on. Heater off is written before anything is read, until it was read
/// back, and again whenever the plate is found told to heat or getting warmer, after a lost link, and every
/// few seconds in any case: somebody may have driven or restarted the plate.
///
/// Seen as a cause that ends heat: the plate gets warmer by more than 0.1 K/s for 5 s, or by 60 K in all, or
/// reads above the highest its link allows; its sensor is faulty.
class IdleWatch {
public:
    IdleWatch(Plate& plate, double plantSPerWallS);
    CycleRecord cycle(double wallS);
    void restart(); ///< After a run: the heater must be read back off again.
    /// Heater off was sent a moment ago, before the next cycle: that cycle need not send it again. What was
    /// seen of the plate so far stays: a stop takes no evidence away.
    void heaterOffSent(bool readBack, double wallS);

private:
    void say(CycleRecord& record, EventKind kind, Severity severity, const char* text);
    void turnOff(double wallS);
    void followLink(CycleRecord& record, double wallS);
    void followHeat(CycleRecord& record, double wallS);
    void cause(CycleRecord& record, bool seen, bool& said, const char* text);

    Plate& plate_;
    double plantSPerWallS_;
    std::optional<PlateReading> reading_;
    bool started_ = false, off_ = false, everOff_ = false, lost_ = false, warming_ = false;
    bool offSent_ = false, readSkipped_ = false, wasOff_ = false;
    bool warmingSaid_ = false, hotSaid_ = false, faultSaid_ = false;
    double lastAnswerWallS_ = 0, lastOffWallS_ = 0;
    std::optional<double> coldestC_, lastC_;
    ForeignHeat foreign_;
    SensorFault sensorFault_{PlateFigures{}};
    History readings_;
    Persistence rising_;
    long eventSeq_ = 0;
};

} // namespace stripwright
