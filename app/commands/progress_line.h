#pragma once

#include "commands/unasked_heat.h"

#include <chrono>
#include <string>

namespace stripwright {

/// Where a run stands, in one line. `trouble` comes before it and in place of the calm names of states.
std::string progressText(const Status& status, const std::optional<Sample>& newest,
                         const std::string& trouble);

/// The same on standard error: one line that is written over on a terminal, a line every 5 s elsewhere.
class ProgressLine {
public:
    explicit ProgressLine(bool terminal) : terminal_(terminal) {}
    ~ProgressLine(); ///< Ends the line.
    void show(const Status& status, const std::optional<Sample>& newest);
    void take(const Event& event);     ///< Says it unless it is only for the record.
    void say(const std::string& text); ///< A line of its own that stays.

private:
    const bool terminal_;
    bool open_ = false;
    UnaskedHeat unasked_;
    std::string trouble_;
    std::chrono::steady_clock::time_point next_{};
};

} // namespace stripwright
