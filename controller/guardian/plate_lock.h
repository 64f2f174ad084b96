#pragma once

#include "link/plate_link.h"

namespace stripwright {

/// One controller per line: an exclusive lock on a file named by host and port, or by the serial device
/// however the link file calls it, in the user's run-time folder or /tmp, held until every process that
/// inherited it has ended. Throws PlateInUse.
struct PlateInUse : std::runtime_error {
    using std::runtime_error::runtime_error;
};

class PlateLock {
public:
    explicit PlateLock(const PlateLink& link);
    ~PlateLock();
    PlateLock(const PlateLock&) = delete;
    PlateLock& operator=(const PlateLock&) = delete;

private:
    int file_ = -1;
};

} // namespace stripwright
