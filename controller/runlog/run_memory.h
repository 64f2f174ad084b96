#pragma once

#include "runlog/run_log.h"

#include <deque>

namespace stripwright {

/// All of the open run that its writer must be able to write again into another file.
struct RunMemory {
    static constexpr size_t mostSamples = 36'000;

    std::string key, planText, plateLinkText, startedUtc;
    std::deque<Sample> samples; ///< The first samplesOnDisk of them are on disk.
    std::deque<Event> events;
    size_t samplesOnDisk = 0, eventsOnDisk = 0;
    long taken = 0, dropped = 0;
    long onlyOnDisk = 0; ///< Left memory after they were on disk.
    std::optional<Outcome> outcome;
    std::string outcomeText, endedUtc;
    bool endOnDisk = false;

    void add(const Sample& sample);
    KeptSamples kept() const;
    bool allOnDisk() const;
    std::string keptInWords() const; ///< "776 of 4676 samples are on disk".

    /// Another file has to be written: nothing is on its disk yet.
    void startOver();
};

} // namespace stripwright
