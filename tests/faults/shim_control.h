#pragma once

namespace stripwright::faults {

/// What the shim does to the process it is loaded into; in a file that both map. Zero: nothing.
struct ShimControl {
    volatile double bootAheadS; ///< Of the clock that counts sleep too: the computer was asleep that long.
    volatile double realAheadS; ///< Of the wall clock.
    volatile int writeErrno;    ///< Of writes to files whose name has ".runs" in it.
    volatile int syncErrno;     ///< Of fsync and fdatasync on them.
    volatile double syncTakesS; ///< More than it would.
};

constexpr const char* shimVariable = "STRIPWRIGHT_FAULT_SHIM"; ///< Names the file.

} // namespace stripwright::faults
