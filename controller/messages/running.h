#pragma once

#include <filesystem>
#include <string>
#include <sys/types.h>
#include <vector>

namespace stripwright {

/// What a controller says of itself to whoever looks for it later, after its window or command line is gone.
struct RunningController {
    pid_t pid = 0;
    std::string plate;     ///< "Bench plate at 192.168.1.20 port 502".
    std::string plateLink; ///< Its link file.
    std::string socket, runsFile;
    std::string startedUtc;
    bool simulated = false; ///< The link says so.
};

/// Folder of this user's controllers, mode 0700: in XDG_RUNTIME_DIR, else in /tmp. Made if need be. Throws
/// std::runtime_error if it cannot be made, or belongs to somebody else.
std::filesystem::path runningFolder();

/// The entry of this process in runningFolder(), for as long as this lives.
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

/// Those of this user that live, oldest first. An entry whose process is gone is taken away.
std::vector<RunningController> runningControllers();

} // namespace stripwright
