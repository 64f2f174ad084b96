#pragma once

#include "link/plate_link.h"

namespace stripwright {

/// Another controller drives the plate; names its process.
struct PlateInUse : LinkError {
    using LinkError::LinkError;
};

/// One controller per line, whoever started it and whatever the link file calls the line: by each address its
/// host has, or by the serial device. Held until every process that inherited it has ended. Throws
/// PlateInUse, and LinkError for a host that is not known.
class PlateLock {
public:
    explicit PlateLock(const PlateLink& link);
    ~PlateLock();
    PlateLock(const PlateLock&) = delete;
    PlateLock& operator=(const PlateLock&) = delete;

    /// From now on this process is the one that is named to others.
    void holdInThisProcess() const;
    /// As the host was found, in numbers; empty for a serial line.
    const std::vector<std::string>& addresses() const { return addresses_; }

private:
    void release();

    std::vector<std::string> addresses_;
    std::vector<int> sockets_;
};

} // namespace stripwright
