#include "materials/output_file.h"

#include <cerrno>
#include <cstring>
#include <fcntl.h>
#include <filesystem>
#include <sys/stat.h>
#include <unistd.h>

namespace stripwright {

namespace {

[[noreturn]] void fail(const std::string& path, int error)
{
    throw CannotWrite(path + ": cannot be written (" + std::strerror(error) +
                      "); name a file in a folder that exists, that you may write to and that has room");
}

// A file beside `path` that goes away unless it was put in place.
class FileBeside {
public:
    explicit FileBeside(const std::string& path) : path_(path)
    {
        if (std::filesystem::is_directory(path))
            fail(path, EISDIR);
        // Through a link to the file it stands for, so that the link stays one.
        std::error_code error;
        if (const auto target = std::filesystem::weakly_canonical(path, error); !error)
            path_ = target;
        name_ = path_.string() + ".XXXXXX";
        file_ = mkostemp(name_.data(), O_CLOEXEC);
        if (file_ < 0)
            fail(path, errno);
    }
    ~FileBeside()
    {
        if (file_ >= 0)
            close(file_);
        if (!name_.empty())
            unlink(name_.c_str());
    }
    FileBeside(const FileBeside&) = delete;
    FileBeside& operator=(const FileBeside&) = delete;

    void write(std::string_view content)
    {
        while (!content.empty()) {
            const ssize_t written = ::write(file_, content.data(), content.size());
            if (written < 0 && errno == EINTR)
                continue;
            if (written <= 0)
                fail(path_, errno);
            content.remove_prefix(static_cast<size_t>(written));
        }
    }

    void putInPlace()
    {
        struct stat old {};
        const mode_t mask = umask(0);
        umask(mask);
        fchmod(file_, stat(path_.c_str(), &old) == 0 ? old.st_mode & 0777 : 0666 & ~mask);
        if (fsync(file_) != 0 || rename(name_.c_str(), path_.c_str()) != 0)
            fail(path_, errno);
        name_.clear();
    }

private:
    std::filesystem::path path_;
    std::string name_;
    int file_ = -1;
};

} // namespace

void writeWholeFile(const std::string& path, std::string_view content)
{
    FileBeside file(path);
    file.write(content);
    file.putInPlace();
}

void checkCanWrite(const std::string& path)
{
    FileBeside{path};
}

} // namespace stripwright
