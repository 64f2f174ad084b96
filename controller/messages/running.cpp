#include "messages/running.h"

#include <nlohmann/json.hpp>

#include <algorithm>
#include <cerrno>
#include <cstdlib>
#include <cstring>
#include <fcntl.h>
#include <fstream>
#include <stdexcept>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

namespace stripwright {

using nlohmann::json;

std::filesystem::path runningFolder()
{
    const char* runtime = std::getenv("XDG_RUNTIME_DIR");
    const std::filesystem::path folder =
        runtime && *runtime ? std::filesystem::path(runtime) / "stripwright"
                            : std::filesystem::path("/tmp/stripwright-" + std::to_string(geteuid()));
    mkdir(folder.c_str(), 0700);
    struct stat found {};
    if (lstat(folder.c_str(), &found) != 0 || !S_ISDIR(found.st_mode) || found.st_uid != geteuid() ||
        (found.st_mode & 077) != 0)
        throw std::runtime_error(
            folder.string() + ": expected a folder of this user's own that nobody else may enter; take away "
                              "what stands there");
    return folder;
}

RunningMark::RunningMark(const RunningController& controller)
{
    file_ = runningFolder() / (std::to_string(getpid()) + ".running");
    // Under another name until it is whole and held: who looks meanwhile would take it for a dead one's.
    const std::filesystem::path making = file_.string() + ".new";
    held_ = open(making.c_str(), O_RDWR | O_CREAT | O_TRUNC | O_CLOEXEC, 0600);
    const std::string text = json{
        {"pid", getpid()},
        {"plate", controller.plate},
        {"plate_link", controller.plateLink},
        {"socket", controller.socket},
        {"runs", controller.runsFile},
        {"started_utc", controller.startedUtc},
        {"simulated",
         controller.simulated}}.dump(-1, ' ', false, json::error_handler_t::replace);
    const bool written = held_ >= 0 && flock(held_, LOCK_EX | LOCK_NB) == 0 &&
                         write(held_, text.data(), text.size()) == static_cast<ssize_t>(text.size()) &&
                         rename(making.c_str(), file_.c_str()) == 0;
    if (!written) {
        const int error = errno;
        if (held_ >= 0)
            close(held_);
        throw std::runtime_error(file_.string() + ": cannot be written (" + std::strerror(error) + ")");
    }
}

RunningMark::~RunningMark()
{
    unlink(file_.c_str());
    close(held_);
}

// Its lock is let go by the system when the process ends, however it ends; a number may be another process's.
static bool lives(const std::filesystem::path& file)
{
    const int fd = open(file.c_str(), O_RDONLY | O_CLOEXEC);
    if (fd < 0)
        return false;
    const bool held = flock(fd, LOCK_SH | LOCK_NB) != 0;
    close(fd);
    return held;
}

std::vector<RunningController> runningControllers()
{
    std::vector<RunningController> found;
    std::error_code error;
    for (const auto& entry : std::filesystem::directory_iterator(runningFolder(), error)) {
        if (entry.path().extension() != ".running")
            continue;
        if (!lives(entry.path())) {
            std::filesystem::remove(entry.path(), error);
            continue;
        }
        std::ifstream in(entry.path());
        const json one = json::parse(in, nullptr, false);
        const auto text = [&](const char* key) {
            const auto value = one.find(key);
            return value != one.end() && value->is_string() ? value->get<std::string>() : std::string();
        };
        if (!one.is_object() || !one.contains("pid") || !one["pid"].is_number_integer())
            continue;
        found.push_back({one["pid"].get<pid_t>(), text("plate"), text("plate_link"), text("socket"),
                         text("runs"), text("started_utc"),
                         one.contains("simulated") && one["simulated"] == true});
    }
    std::ranges::sort(found, {}, &RunningController::startedUtc);
    return found;
}

} // namespace stripwright
