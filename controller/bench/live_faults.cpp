#include "bench/live_faults.h"

#include <cstdio>
#include <poll.h>
#include <stdexcept>
#include <unistd.h>

namespace stripwright {

void LiveFaults::take(SimulatedPlate& plate)
{
    pollfd wait{fd_, POLLIN, 0};
    if (fd_ < 0 || ::poll(&wait, 1, 0) <= 0)
        return;
    char bytes[512];
    const ssize_t got = ::read(fd_, bytes, sizeof bytes);
    if (got <= 0) {
        fd_ = -1; // nobody is left to send any
        return;
    }
    waiting_.append(bytes, static_cast<size_t>(got));
    for (size_t end; (end = waiting_.find('\n')) != std::string::npos; waiting_.erase(0, end + 1)) {
        try {
            plate.addFault(readFault(waiting_.substr(0, end)));
        } catch (const std::invalid_argument& wrong) {
            std::fprintf(stderr, "stripwright-plate: %s\n", wrong.what());
        }
    }
}

} // namespace stripwright
