#pragma once

#include "loop/control_loop.h"
#include "reference_plate.h"

#include <functional>
#include <gtest/gtest.h>

namespace stripwright {

/// One run on the reference plate in virtual time.
struct BenchRun {
    ReferencePlate plate;
    ControlLoop loop;
    double wallS = 1000, periodS = 0.2;
    CycleRecord last;
    std::vector<CycleRecord> records;
    std::vector<LoopEvent> events;

    explicit BenchRun(HeatPlan plan = referencePlan(), LoopSettings settings = {}, double startC = 25)
        : plate(startC), loop(plate, std::move(plan), inVirtualTime(settings))
    {
    }

    static LoopSettings inVirtualTime(LoopSettings settings)
    {
        settings.virtualTime = true;
        return settings;
    }

    const CycleRecord& cycle()
    {
        wallS += periodS;
        plate.advance(periodS);
        last = loop.cycle(wallS);
        records.push_back(last);
        for (int i = 0; i < last.eventCount; ++i)
            events.push_back(last.events[size_t(i)]);
        return last;
    }

    /// Cycles until this is true; fails the test after `longestS`.
    bool until(const std::function<bool()>& done, double longestS = 5000)
    {
        for (double s = 0; s < longestS; s += periodS) {
            cycle();
            if (done())
                return true;
        }
        ADD_FAILURE() << "not reached in " << longestS << " s; state " << inWords(last.state);
        return false;
    }
    bool untilProfile(double profileS)
    {
        return until([&] { return last.profileS >= profileS; });
    }
    bool untilState(RunState state, double longestS = 5000)
    {
        return until([&] { return last.state == state; }, longestS);
    }

    const LoopEvent* firstTrip() const
    {
        for (const LoopEvent& event : events)
            if (event.severity == Severity::Trip)
                return &event;
        return nullptr;
    }
    bool said(const std::string& words) const
    {
        for (const LoopEvent& event : events)
            if (std::string(event.text.data()).find(words) != std::string::npos)
                return true;
        return false;
    }
};

} // namespace stripwright
