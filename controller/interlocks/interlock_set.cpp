#include "interlocks/interlock_set.h"

#include <algorithm>

namespace stripwright {

InterlockSet::InterlockSet(const PlateFigures& plate, double tripAboveC, double plateMaxC,
                           std::optional<double> highestC, double readingEveryS)
    : balance_(plate, 5, readingEveryS), quickBalance_(plate, 2.5, readingEveryS),
      overTemperature_(tripAboveC, plateMaxC, highestC), sensorFault_(plate), noRise_(plate),
      muchMissing_(plate), fallsTooFast_(plate)
{
}

void InterlockSet::take(const Finding& finding)
{
    if (finding.action == Action::None)
        return;
    const size_t which = static_cast<size_t>(finding.interlock);
    if (finding.action > seenLast_[which] && finding.action > seenNow_[which] &&
        newsCount_ < static_cast<int>(news_.size()))
        news_[static_cast<size_t>(newsCount_++)] = finding;
    seenNow_[which] = std::max(seenNow_[which], finding.action);
    latch_.take(finding);
    if (finding.action == Action::HeaterOff && causeCount_ < static_cast<int>(causes_.size()))
        causes_[static_cast<size_t>(causeCount_++)] = finding;
}

void InterlockSet::remember(const Observation& before)
{
    balance_.update(before);
    quickBalance_.update(before);
}

void InterlockSet::examine(Observation& seen)
{
    newsCount_ = causeCount_ = 0;
    seenNow_.fill(Action::None);
    seen.sensorC = sensorFault_.usable(seen);
    balance_.update(seen);
    quickBalance_.update(seen);
    take(overTemperature_.examine(seen));
    take(unexpectedHeat_.examine(seen, balance_, quickBalance_));
    take(excursion_.examine(seen));
    take(sensorFault_.examine(seen));
    take(linkLost_.examine(seen));
    take(commandNotConfirmed_.examine(seen));
    take(staleReading_.examine(seen));
    take(noRise_.examine(seen, balance_));
    take(muchMissing_.examine(seen, quickBalance_));
    take(fallsTooFast_.examine(seen, balance_));
    take(watchdogTripped_.examine(seen));
    take(cannotJudge_.examine(seen, balance_));
    seenLast_ = seenNow_;
    latch_.endCycle();
}

} // namespace stripwright
