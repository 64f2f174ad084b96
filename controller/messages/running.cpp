#include "messages/running.h"

#include "materials/problem.h"

#include <nlohmann/json.hpp>

#include <algorithm>
#include <cerrno>
#include <cstdlib>
#include <cstring>
#include <fcntl.h>
#include <fstream>
#include <optional>
#include <sstream>
#include <stdexcept>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

namespace stripwright {

using nlohmann::json;

static std::vector<std::filesystem::path> possibleFolders()
{
    std::vector<std::filesystem::path> folders;
    if (const char* named = std::getenv("STRIPWRIGHT_RUNNING"); named && *named) {
        std::istringstream all(named);
        for (std::string one; std::getline(all, one, ':');)
            folders.push_back(one);
        return folders;
    }
    const std::string user = std::to_string(geteuid());
    return {"/run/user/" + user + "/stripwright", "/tmp/stripwright-" + user};
}

static bool isOwn(const std::filesystem::path& folder)
{
    struct stat found {};
    return lstat(folder.c_str(), &found) == 0 && S_ISDIR(found.st_mode) && found.st_uid == geteuid() &&
           (found.st_mode & 077) == 0;
}

std::filesystem::path runningFolder()
{
    const std::vector<std::filesystem::path> folders = possibleFolders();
    for (const std::filesystem::path& folder : folders) {
        mkdir(folder.c_str(), 0700);
        if (isOwn(folder))
            return folder;
    }
    const std::filesystem::path& last = folders.back();
    std::error_code none;
    const bool there = std::filesystem::is_directory(last, none);
    throw BadInput(
        {{last.string(), "",
          there ? "a folder that is another user's, or that others may enter"
                : "no folder, and none can be made",
          "a folder of this user's own that nobody else may enter: chmod 700 it, or name another in "
          "STRIPWRIGHT_RUNNING"}});
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
        {"work", controller.work},
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

// Its lock is let go by the system when the last process that has it ends, however it ends; a number may be
// another process's.
static bool isHeld(const std::filesystem::path& file)
{
    const int fd = open(file.c_str(), O_RDONLY | O_CLOEXEC);
    if (fd < 0)
        return false;
    const bool held = flock(fd, LOCK_SH | LOCK_NB) != 0;
    close(fd);
    return held;
}

// A guardian that goes on alone holds it still, and must be found.
RunningMark::~RunningMark()
{
    close(held_);
    if (!isHeld(file_))
        unlink(file_.c_str());
}

static std::optional<RunningController> readEntry(const std::filesystem::path& file)
{
    std::ifstream in(file);
    const json one = json::parse(in, nullptr, false);
    const auto text = [&](const char* key) {
        const auto value = one.find(key);
        return value != one.end() && value->is_string() ? value->get<std::string>() : std::string();
    };
    if (!one.is_object() || !one.contains("pid") || !one["pid"].is_number_integer())
        return {};
    return RunningController{.pid = one["pid"].get<pid_t>(),
                             .plate = text("plate"),
                             .plateLink = text("plate_link"),
                             .socket = text("socket"),
                             .runsFile = text("runs"),
                             .startedUtc = text("started_utc"),
                             .simulated = one.contains("simulated") && one["simulated"] == true,
                             .work = text("work"),
                             .entry = file};
}

std::vector<RunningController> runningHeats()
{
    runningFolder(); // says what is wrong if there is none
    std::vector<RunningController> found;
    std::error_code error;
    for (const std::filesystem::path& folder : possibleFolders()) {
        if (!isOwn(folder))
            continue;
        for (const auto& entry : std::filesystem::directory_iterator(folder, error)) {
            if (entry.path().extension() != ".running")
                continue;
            if (!isHeld(entry.path()))
                std::filesystem::remove(entry.path(), error);
            else if (const auto one = readEntry(entry.path()))
                found.push_back(*one);
        }
    }
    // A plate has one heat at a time: the process in front holds its entry still, and can do no more.
    std::erase_if(found, [&, all = found](const RunningController& one) {
        return !one.goesOnAlone() && std::ranges::any_of(all, [&](const RunningController& other) {
            return other.goesOnAlone() && other.plate == one.plate;
        });
    });
    std::ranges::sort(found, {}, &RunningController::startedUtc);
    return found;
}

std::vector<RunningController> runningControllers()
{
    std::vector<RunningController> found = runningHeats();
    std::erase_if(found, [](const RunningController& one) { return one.socket.empty(); });
    return found;
}

EntryState lookAt(const RunningController& one)
{
    if (isHeld(one.entry))
        return EntryState::Held;
    std::error_code error;
    return std::filesystem::exists(one.entry, error) ? EntryState::Killed : EntryState::Ended;
}

} // namespace stripwright
