#pragma once

#include <chrono>
#include <memory>

namespace stripwright {

/// Keeps a reader that stands still or goes away from holding up this process: from here on whatever is
/// written to the descriptor is taken at once and handed on by a thread. What a reader does not take is
/// dropped beyond 4 MiB, and a line says how much. A reader that is gone is forgotten. Made after the last
/// fork, one for each descriptor.
class PatientOutput {
public:
    explicit PatientOutput(int descriptor);
    ~PatientOutput(); ///< As end().
    PatientOutput(const PatientOutput&) = delete;
    PatientOutput& operator=(const PatientOutput&) = delete;

    bool isTerminal() const; ///< isatty() no longer tells.
    /// The descriptor leads to its reader again. True: what was written has all been taken, within
    /// `patience`.
    bool end(std::chrono::milliseconds patience = std::chrono::milliseconds(500));
    bool readerGone() const; ///< A write has failed for good, such as on a closed pipe or a full disk.

private:
    struct Work;
    std::shared_ptr<Work> work_;
};

} // namespace stripwright
