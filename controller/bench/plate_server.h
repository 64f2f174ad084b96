#pragma once

#include "bench/register_map.h"

namespace stripwright {

/// Serves a simulated plate as a Modbus TCP device on 127.0.0.1, several clients at once. Requests are taken
/// apart and checked here, libmodbus builds the answers: its server is only safe for well-formed requests
/// (its issues #614, #748), and sleeps half a second before some refusals.
class PlateServer {
public:
    /// port 0: any free one. Throws std::system_error if it cannot listen.
    PlateServer(SimulatedPlate& plate, int port);
    ~PlateServer();
    PlateServer(const PlateServer&) = delete;
    PlateServer& operator=(const PlateServer&) = delete;

    int port() const;

    /// Waits at most timeoutMs for something to do, or for `alsoWake` to become readable, and answers every
    /// request that has arrived. True if `alsoWake` woke it.
    bool serve(int timeoutMs, int alsoWake = -1);

    int clientCount() const;

private:
    struct Work;
    std::unique_ptr<Work> work_;
};

} // namespace stripwright
