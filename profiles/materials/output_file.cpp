#include "materials/output_file.h"

#include <nlohmann/json.hpp>

#include <cerrno>
#include <cstring>
#include <fcntl.h>
#include <fstream>
#include <optional>
#include <sys/stat.h>
#include <unistd.h>

namespace stripwright {

namespace {

[[noreturn]] void fail(const std::string& path, int error)
{
    throw CannotWrite(path + ": cannot be written (" + std::strerror(error) +
                      "); name a file in a folder that exists, that you may write to and that has room");
}

// A rename would take the place of a device, a pipe or a socket too.
void refuseIrregular(const std::string& path)
{
    std::error_code error;
    const auto type = std::filesystem::status(path, error).type();
    using enum std::filesystem::file_type;
    if (type != none && type != not_found && type != regular)
        throw CannotWrite(path + ": is " + (type == directory ? "a folder" : "a device, pipe or socket") +
                          "; name a regular file or a new one");
}

// A file beside `path` that goes away unless it was put in place.
class FileBeside {
public:
    explicit FileBeside(const std::string& path) : path_(path)
    {
        refuseIrregular(path);
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

// In the order of OutputKind.
constexpr const char* kindNames[] = {
    "bench sheet",           "heat plan", "plate link", "review", "CSV of predicted curves",
    "CSV of a recorded run", "picture",   "run log"};

struct JsonFormat {
    const char* format;
    OutputKind kind;
};
constexpr JsonFormat jsonFormats[] = {{"stripwright-bench-sheet", OutputKind::BenchSheet},
                                      {"stripwright-heat-plan", OutputKind::HeatPlan},
                                      {"stripwright-plate-link", OutputKind::PlateLink},
                                      {"stripwright-review", OutputKind::Review}};
constexpr std::string_view predictionStart = "time_s,plate_C,joint_",
                           recordingStart = "time_s,profile_s,plate_C,";
constexpr std::string_view pictureStart = "\x89PNG\r\n\x1a\n", runLogStart = "SQLite format 3";
constexpr std::uintmax_t largestDocument = 64'000'000;

std::string startOf(const std::string& path)
{
    std::ifstream in(path, std::ios::binary);
    std::string start(64, '\0');
    in.read(start.data(), static_cast<std::streamsize>(start.size()));
    start.resize(static_cast<size_t>(in.gcount()));
    return start;
}

std::optional<OutputKind> kindOf(const std::string& path)
{
    const std::string start = startOf(path);
    if (start.starts_with(pictureStart))
        return OutputKind::Picture;
    if (start.starts_with(runLogStart))
        return OutputKind::RunLog;
    if (start.starts_with(predictionStart))
        return OutputKind::PredictedCurves;
    if (start.starts_with(recordingStart))
        return OutputKind::RecordedCurves;
    std::error_code error;
    if (!(std::filesystem::file_size(path, error) <= largestDocument))
        return {};
    using nlohmann::json;
    std::ifstream in(path, std::ios::binary);
    const json document = json::parse(in, nullptr, false);
    if (document.is_object())
        for (const JsonFormat& known : jsonFormats)
            if (document.value("format", json()) == known.format)
                return known.kind;
    return {};
}

// An older document of the same kind, or an empty file, may be replaced; nothing else.
void refuseOtherDocument(const std::string& path, OutputKind kind)
{
    std::error_code error;
    const auto size = std::filesystem::file_size(path, error);
    if (error || size == 0)
        return;
    const std::optional<OutputKind> found = kindOf(path);
    if (found == kind)
        return;
    const std::string holds =
        found ? std::string("a ") + kindNames[static_cast<size_t>(*found)] : "something else";
    throw CannotWrite(path + ": holds " + holds + ", and only an earlier " +
                      kindNames[static_cast<size_t>(kind)] +
                      " would be replaced by the one to be written; name a new file");
}

bool sameFile(const std::filesystem::path& one, const std::filesystem::path& other)
{
    std::error_code error;
    if (std::filesystem::equivalent(one, other, error))
        return true;
    const auto place = [&](const std::filesystem::path& path) {
        return std::filesystem::weakly_canonical(std::filesystem::absolute(path, error), error);
    };
    return place(one) == place(other); // One that is not there yet.
}

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

void checkOutput(const std::string& path, OutputKind kind, const std::vector<std::filesystem::path>& others)
{
    refuseIrregular(path);
    for (const std::filesystem::path& other : others)
        if (!other.empty() && sameFile(path, other))
            throw CannotWrite(path + ": is the same file as " + other.string() +
                              ", which this command needs otherwise; name a new file");
    refuseOtherDocument(path, kind);
    checkCanWrite(path);
}

} // namespace stripwright
