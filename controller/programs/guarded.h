#pragma once

#include "link/plate_link.h"
#include "messages/running.h"

#include <atomic>
#include <functional>
#include <memory>

namespace stripwright {

/// Work that may heat a plate, in a child process: told where to send a byte at the end of each completed
/// cycle, and whether to stop. It sets `mayHeat` before it heats. What it writes never blocks it; isatty() of
/// its output does not tell.
using GuardedWork = std::function<int(int heartbeat, const std::atomic<int>& stop, bool& mayHeat)>;

/// Who would notice if nobody were there.
enum class Attended {
    AtTheTerminal, ///< A front that stands still for 30 s ends the work.
    ByItsClients,  ///< The work itself watches them.
};

/// Takes the plate's lock and does the work under a guardian, which turns the heater off if the work dies,
/// stalls, or ends with 1 or by an exception after it may have heated. This process stays in front of both
/// until they have ended. A guardian that goes on alone is found among the heats that run, as itself.
/// RunLogError becomes 8, LinkError and a plate in use 5, anything else 1, with its
/// words on standard error.
int guarded(const PlateLink& link, const std::string& linkFile, Attended attended, const GuardedWork& work);

/// So that the heat is found, and can be stopped, when its window or command line is gone; for as long as
/// this process or one forked under it lives. Plate and time are set here. Nothing, after complaining on
/// standard error: it works all the same.
std::unique_ptr<RunningMark> makeMark(RunningController controller, const PlateLink& link,
                                      const std::string& linkFile);

/// Worker: sends one heartbeat. Once the guardian is gone the stop flag is set, and guardianLost() true.
void beat(int heartbeat);
bool guardianLost();
inline constexpr const char* guardianLostText =
    "broken off: the process that guards the heater was killed; start again to be guarded";

/// Nothing, after complaining on standard error.
std::optional<PlateLink> readLinkOrComplain(const std::string& file, std::string* text = nullptr);

/// Why such a plate may not be driven at this speed; empty: it may.
std::string speedRefusal(double speed, const PlateLink& link, const std::string& file);
/// Complains of it on standard error; true: there is one.
bool speedRefused(double speed, const PlateLink& link, const std::string& file);

} // namespace stripwright
