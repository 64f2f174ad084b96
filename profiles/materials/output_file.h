#pragma once

#include <filesystem>
#include <stdexcept>
#include <string>
#include <string_view>
#include <vector>

namespace stripwright {

/// With the path, the reason and what to do.
struct CannotWrite : std::runtime_error {
    using std::runtime_error::runtime_error;
};

/// Puts a whole file in place: written and synced beside it, then renamed over it. Whatever fails, an old
/// file of that name stays as it was, and so does what is no regular file. Throws CannotWrite.
void writeWholeFile(const std::string& path, std::string_view content);

/// Throws CannotWrite if writeWholeFile() to this path would fail by rights or by a missing folder: to be
/// asked before long work. Leaves nothing behind.
void checkCanWrite(const std::string& path);

/// What an output is. Curves are CSV that this program wrote, not a plate curve from elsewhere; a run log is
/// added to.
enum class OutputKind {
    BenchSheet,
    HeatPlan,
    PlateLink,
    Review,
    PredictedCurves,
    RecordedCurves,
    Picture,
    RunLog
};

/// Throws CannotWrite unless a document of this kind may take the path: it can be written, is none of the
/// files that the same command reads or writes, by whatever name, and does not hold anything but an earlier
/// document of the same kind. To be asked before anything is read. Leaves nothing behind.
void checkOutput(const std::string& path, OutputKind kind, const std::vector<std::filesystem::path>& others);

} // namespace stripwright
