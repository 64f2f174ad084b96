#pragma once

#include "bench/register_device.h"

namespace stripwright {

/// Answers on one line for a simulated plate. One thread.
class PlateServer {
public:
    virtual ~PlateServer() = default;

    /// Waits at most timeoutMs for something to do, or for `alsoWake` to become readable, and does what is
    /// due. True if `alsoWake` woke it.
    virtual bool serve(int timeoutMs, int alsoWake = -1) = 0;

    virtual bool hasClients() const { return false; } ///< Of a line that knows.
    virtual std::string place() const = 0;            ///< What a client needs to find it: port, or tty.
    virtual void putInto(PlateLink& link) const = 0;  ///< Host and port, or serial line.
};

/// The link file's content for who wants to reach this plate over this server.
PlateLink linkTo(const RegisterDevice& device, const PlateServer& server);

/// Seconds of the monotonic clock.
double lineClockS();

} // namespace stripwright
