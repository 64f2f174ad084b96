#include "loop/bench_latch.h"

#include <cstdio>

namespace stripwright {

// An end of heat that no check has seen, such as a suspend, is known by its event alone. One that only lacks
// somebody to watch or to write (a note) leaves nothing at the bench to be looked at.
static const char* causeIn(const CycleRecord& record)
{
    if (record.causeSeen)
        return record.causeText.data();
    for (int i = 0; i < record.eventCount; ++i) {
        const LoopEvent& event = record.events[static_cast<size_t>(i)];
        if (event.severity == Severity::Trip && event.kind != EventKind::Note)
            return event.text.data();
    }
    return nullptr;
}

void BenchLatch::take(CycleRecord& record)
{
    causeSeen_ = record.causeSeen;
    const char* cause = causeIn(record);
    if (cause && !latched_) {
        latched_ = true;
        acknowledged_ = false;
        std::snprintf(text_.data(), text_.size(), "%s", cause);
    }
    record.tripLatched = latched_;
    record.tripAcknowledged = acknowledged_;
    record.tripText = text_;
}

bool BenchLatch::acknowledge()
{
    if (!latched_ || acknowledged_)
        return false;
    acknowledged_ = true;
    return true;
}

bool BenchLatch::reset()
{
    if (!latched_ || !acknowledged_ || causeSeen_)
        return false;
    *this = {};
    return true;
}

} // namespace stripwright
