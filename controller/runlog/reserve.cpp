#include "runlog/reserve.h"

#include "runlog/run_log.h"

#include <fcntl.h>
#include <unistd.h>

namespace stripwright {

static std::filesystem::path folderOf(const std::filesystem::path& file)
{
    return std::filesystem::absolute(file).parent_path();
}

void checkRoom(const std::filesystem::path& log)
{
    std::error_code error;
    const std::filesystem::path folder = folderOf(log);
    std::filesystem::create_directories(folder, error);
    if (error)
        throw RunLogError(folder.string() + ": cannot be made (" + error.message() +
                          "); choose a folder that this user may write to");
    const auto space = std::filesystem::space(folder, error);
    if (!error && space.available < freeBytesToStart)
        throw RunLogError(folder.string() + ": found " + std::to_string(space.available >> 20) +
                          " MiB free, expected at least 50 MiB to start a run; free some space");
}

void Reserve::take()
{
    const int file = open(file_.c_str(), O_WRONLY | O_CREAT | O_CLOEXEC, 0600);
    if (file < 0)
        return;
    taken_ = posix_fallocate(file, 0, bytes) == 0;
    close(file);
    if (!taken_)
        unlink(file_.c_str());
}

void Reserve::free()
{
    if (std::exchange(taken_, false))
        unlink(file_.c_str());
}

bool Reserve::roomAgain() const
{
    std::error_code error;
    const auto space = std::filesystem::space(folderOf(file_), error);
    return error || space.available > static_cast<std::uintmax_t>(2 * bytes);
}

} // namespace stripwright
