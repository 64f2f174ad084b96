#pragma once

#include "loop/cycle_record.h"

#include <atomic>
#include <readerwriterqueue/readerwriterqueue.h>

namespace stripwright {

/// Something another thread wants to stand in the events of the run.
struct Remark {
    EventKind kind = EventKind::Note;
    Severity severity = Severity::Info;
    std::array<char, eventTextBytes> text{};
};

/// What passes between the threads, one writer and one reader each, made once: a full ring loses the new
/// entry.
struct Rings {
    static constexpr size_t records = 2048, remarks = 64;
    static constexpr size_t recordsToLog = 4096; ///< 13 min at 5 Hz, for a disk that does not answer.
    moodycamel::ReaderWriterQueue<CycleRecord> toLog{recordsToLog}, toDesk{records};
    moodycamel::ReaderWriterQueue<Remark> fromLog{remarks}, fromDesk{remarks};

    /// Counted up by each thread whenever it comes round; the control thread looks whether they move.
    std::atomic<unsigned> deskBeat = 0, logBeat = 0;
};

} // namespace stripwright
