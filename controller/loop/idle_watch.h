#pragma once

#include "interlocks/finding.h"
#include "interlocks/history.h"
#include "loop/cycle_record.h"

namespace stripwright {

/// Watches the plate while no run is on: heater off until it was read back, and again whenever the plate is
/// found heating or getting warmer by itself.
class IdleWatch {
public:
    IdleWatch(Plate& plate, double plantSPerWallS);
    CycleRecord cycle(double wallS);
    void restart(); ///< After a run: the heater must be read back off again.

private:
    void say(CycleRecord& record, EventKind kind, Severity severity, const char* text);

    Plate& plate_;
    double plantSPerWallS_;
    bool started_ = false, off_ = false, heatSaid_ = false, lostSaid_ = false;
    double lastAnswerWallS_ = 0;
    History readings_;
    Persistence rising_;
    long eventSeq_ = 0;
};

} // namespace stripwright
