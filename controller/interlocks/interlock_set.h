#pragma once

#include "interlocks/cannot_judge.h"
#include "interlocks/command_not_confirmed.h"
#include "interlocks/excursion.h"
#include "interlocks/falls_too_fast.h"
#include "interlocks/latch.h"
#include "interlocks/link_lost.h"
#include "interlocks/much_missing.h"
#include "interlocks/no_rise.h"
#include "interlocks/over_temperature.h"
#include "interlocks/sensor_fault.h"
#include "interlocks/stale_reading.h"
#include "interlocks/unexpected_heat.h"
#include "interlocks/watchdog_tripped.h"

namespace stripwright {

/// Every check, run in one cycle over one observation. To add a check: a file pair of its own, a member here,
/// a line in examine(), a value of Interlock in the order of strength.
class InterlockSet {
public:
    /// `highestC`: of the plate's link, which nothing may exceed; none or no positive number: it says none.
    /// `readingEveryS`: as Plate has it.
    InterlockSet(const PlateFigures& plate, double tripAboveC, double plateMaxC,
                 std::optional<double> highestC = {}, double readingEveryS = 0);

    /// Takes out of `seen` a reading that may not be used, then runs every check.
    void examine(Observation& seen);

    /// What went on before the checks begin, in its order: judged by none of them.
    void remember(const Observation& before);
    /// What is known of the plate's watchdog bit, when one set of checks follows another.
    void takeOverWatchdog(const InterlockSet& before) { watchdogTripped_ = before.watchdogTripped_; }

    const Latch& latch() const { return latch_; }
    bool reset() { return latch_.reset(); }

    /// Every finding of this cycle that ends heat.
    const std::array<Finding, interlockCount>& causes() const { return causes_; }
    int causeCount() const { return causeCount_; }
    /// Findings that were not there, or only warned, in the last cycle: this cycle's news.
    const std::array<Finding, interlockCount>& news() const { return news_; }
    int newsCount() const { return newsCount_; }
    const HeatBalance& balance() const { return balance_; }
    bool readingFellTooFast() const { return fallsTooFast_.everSeen(); }
    double tripLimitC() const { return overTemperature_.limitC(); }

private:
    void take(const Finding& finding);

    HeatBalance balance_, quickBalance_;
    OverTemperature overTemperature_;
    SensorFault sensorFault_;
    StaleReading staleReading_;
    LinkLost linkLost_;
    CommandNotConfirmed commandNotConfirmed_;
    WatchdogTripped watchdogTripped_;
    NoRise noRise_;
    MuchMissing muchMissing_;
    FallsTooFast fallsTooFast_;
    UnexpectedHeat unexpectedHeat_;
    CannotJudge cannotJudge_;
    Excursion excursion_;
    Latch latch_;
    std::array<Action, interlockCount> seenLast_{}, seenNow_{};
    std::array<Finding, interlockCount> news_{}, causes_{};
    int newsCount_ = 0, causeCount_ = 0;
};

} // namespace stripwright
