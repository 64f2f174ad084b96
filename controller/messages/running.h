#pragma once

#include <filesystem>
#include <string>
#include <sys/types.h>
#include <vector>

namespace stripwright {

/// What a process that may heat says of itself to whoever looks for it later, after its window or command
/// line is gone.
struct RunningController {
    pid_t pid = 0;
    std::string plate;     ///< "Bench plate at 192.168.1.20 port 502".
    std::string plateLink; ///< Its link file.
    std::string socket, runsFile;
    std::string startedUtc;
    bool simulated = false; ///< The link says so.
    /// What it does if it is no controller to talk to, and has no socket: "learning a plate". SIGTERM ends
    /// it.
    std::string work;
    bool goesOnAlone() const;    ///< A guardian whose worker is gone: the heater was not read back off yet.
    std::filesystem::path entry; ///< Its file; set by whoever finds it.
};

/// The work of a guardian that goes on alone. It ends by itself once the heater was read back off; a second
/// signal ends it before.
inline constexpr const char* turnsOffAlone = "turning the heater off";
inline bool RunningController::goesOnAlone() const
{
    return work == turnsOffAlone;
}

/// Folder of this user's controllers, mode 0700: in /run/user, else in /tmp, so that one and the same is
/// found from every session of the user, whatever its environment. Made if need be; one that is not this
/// user's own is passed over. Throws std::runtime_error if none can be used. STRIPWRIGHT_RUNNING names other
/// folders, parted by colons, in place of these.
std::filesystem::path runningFolder();

/// The entry of this process in runningFolder(), for as long as this or any process forked under it lives.
class RunningMark {
public:
    explicit RunningMark(const RunningController& controller); ///< `pid` is set here. Throws as above.
    ~RunningMark();
    RunningMark(const RunningMark&) = delete;
    RunningMark& operator=(const RunningMark&) = delete;

private:
    std::filesystem::path file_;
    int held_ = -1;
};

/// Those of this user that live and can be talked to, oldest first, from every folder where one may be. An
/// entry whose process is gone is taken away.
std::vector<RunningController> runningControllers();
/// Those too that have no socket: they prove or learn a plate.
/// Of a heat whose guardian goes on alone the guardian only, whatever stands in front of it.
std::vector<RunningController> runningHeats();

/// What became of the process behind an entry. Ended: it took its entry away itself, as the last thing it
/// did.
enum class EntryState { Held, Ended, Killed };
EntryState lookAt(const RunningController& one);

} // namespace stripwright
