#pragma once

#include <stdexcept>
#include <string>

namespace stripwright {

/// One controller per plate: an exclusive lock on a file named by host and port, in the user's run-time
/// folder or /tmp, held until every process that inherited it has ended. Throws PlateInUse.
struct PlateInUse : std::runtime_error {
    using std::runtime_error::runtime_error;
};

class PlateLock {
public:
    PlateLock(const std::string& host, int port);
    ~PlateLock();
    PlateLock(const PlateLock&) = delete;
    PlateLock& operator=(const PlateLock&) = delete;

private:
    int file_ = -1;
};

} // namespace stripwright
