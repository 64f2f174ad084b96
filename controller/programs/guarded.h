#pragma once

#include "link/plate_link.h"

#include <csignal>
#include <functional>

namespace stripwright {

/// Work that may heat a plate, in a child process: told where to send a byte at the end of each completed
/// cycle, and whether to stop. It sets `mayHeat` before it heats.
using GuardedWork = std::function<int(int heartbeat, const volatile std::sig_atomic_t& stop, bool& mayHeat)>;

/// Takes the plate's lock and does the work under a guardian, which turns the heater off if the work dies,
/// stalls, or ends with 1 after it may have heated. RunLogError becomes 8, LinkError 5, anything else 1, with
/// its words on standard error.
int guarded(const PlateLink& link, const GuardedWork& work);

/// Nothing, after complaining on standard error.
std::optional<PlateLink> readLinkOrComplain(const std::string& file, std::string* text = nullptr);

} // namespace stripwright
