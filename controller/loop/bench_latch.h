#pragma once

#include "loop/cycle_record.h"

namespace stripwright {

/// What turned the heat off for good, kept beyond the run and in idle: the first cause, whatever follows,
/// until somebody has acknowledged it and then reset it with no cause seen any more. One thread.
class BenchLatch {
public:
    /// Takes over what this cycle saw, and writes into the record how the latch stands.
    void take(CycleRecord& record);

    bool latched() const { return latched_; }
    const char* text() const { return text_.data(); }
    bool acknowledge(); ///< False if there was nothing to acknowledge.
    bool reset();       ///< False, and nothing changed, before it was acknowledged or while a cause is seen.

private:
    bool latched_ = false, acknowledged_ = false, causeSeen_ = false;
    std::array<char, 200> text_{};
};

} // namespace stripwright
