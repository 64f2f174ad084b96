#include "runlog/run_memory.h"

namespace stripwright {

void RunMemory::add(const Sample& sample)
{
    samples.push_back(sample);
    ++taken;
    if (samples.size() <= mostSamples)
        return;
    if (samplesOnDisk > 0) {
        samples.pop_front();
        --samplesOnDisk;
        ++onlyOnDisk;
        return;
    }
    // Nothing was written for hours: a coarser beginning says more than none.
    std::deque<Sample> thinned;
    for (size_t i = 0; i < samples.size(); ++i)
        if (i >= samples.size() / 2 || i % 2 == 0)
            thinned.push_back(std::move(samples[i]));
    dropped += static_cast<long>(samples.size() - thinned.size());
    samples = std::move(thinned);
}

KeptSamples RunMemory::kept() const
{
    return {taken, onlyOnDisk + static_cast<long>(samplesOnDisk), dropped};
}

bool RunMemory::allOnDisk() const
{
    return samplesOnDisk == samples.size() && eventsOnDisk == events.size() && (!outcome || endOnDisk);
}

std::string RunMemory::keptInWords() const
{
    return std::to_string(kept().onDisk) + " of " + std::to_string(taken) + " samples are on disk";
}

void RunMemory::startOver()
{
    dropped += onlyOnDisk; // the old file may still have them
    onlyOnDisk = 0;
    samplesOnDisk = eventsOnDisk = 0;
    endOnDisk = false;
}

} // namespace stripwright
