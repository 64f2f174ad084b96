#pragma once

#include "tuning/cooling_down.h"
#include "tuning/guided_heating.h"
#include "tuning/relay_heating.h"
#include "tuning/setpoint_heating.h"

#include <atomic>
#include <functional>

namespace stripwright {

struct TuningJob {
    double powerW = 0; ///< Of the heater, as on its plate.
    double ambientC = 23;
    bool cutsWhenSilent = false; ///< The plate was found to, which lets its set-point go further.
    bool relay = false; ///< Gains from a relay test after the guided heating, else by SIMC from its figures.
    HeatingBounds bounds;
};

/// One line about what goes on: what is done, and what the plate reads.
struct TuningNews {
    std::string step;
    double timeS = 0, sensorC = 0;
    std::optional<double> duty; ///< None: the plate does not tell.
    bool cooling = false;       ///< The heating is over, and what it told is known.
    std::string brokenOff;      ///< Why a check has ended the heating; it is watched until it gets colder.
};

/// What came of it.
struct TuningResult {
    PlateFit fit;
    std::optional<RelayResult> relay;
    CoolingResult cooling;             ///< Of the bare plate afterwards; a stop then ends no more than this.
    IdentifiedPlate identified;        ///< measuredUtc left empty. Only to be used without refusals.
    std::vector<std::string> refusals; ///< Why nothing was learnt, one sentence each.
    bool stopped = false, heaterOff = false;
};

/// Heats the bare plate in this thread and real time, a cycle at every deadline, until it is over and the
/// heater was read back off, or 60 s after a stop. `stop` ends it; `cycleDone` is called at the end of every
/// cycle, `offForNow` once the heater was read back off and no cycle comes until more has been worked out.
TuningResult tunePlate(Plate& plate, const TuningJob& job, const std::atomic<int>& stop,
                       const std::function<void()>& cycleDone, const std::function<void()>& offForNow,
                       const std::function<void(const TuningNews&)>& tell);

} // namespace stripwright
