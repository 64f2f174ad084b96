#pragma once

#include "commands/unasked_heat.h"

#include <chrono>
#include <string>

namespace stripwright {

/// Where a run stands, in one line. `trouble` comes before it and in place of the calm names of states.
/// `brokenOff`: the plan's times tell nothing any more.
std::string progressText(const Status& status, const std::optional<Sample>& newest,
                         const std::string& trouble, bool brokenOff = false);

/// The same on standard error: one line that is written over on a terminal, a line every 5 s elsewhere.
/// Trouble is said at once, then once a minute, and whenever the plate has moved by 10 K.
class ProgressLine {
public:
    using Clock = std::chrono::steady_clock;
    explicit ProgressLine(bool terminal) : terminal_(terminal) {}
    ~ProgressLine(); ///< Ends the line.
    void show(const Status& status, const std::optional<Sample>& newest, bool brokenOff = false,
              Clock::time_point now = Clock::now());
    void take(const Event& event);     ///< Says it unless it is only for the record.
    void say(const std::string& text); ///< A line of its own that stays.

private:
    const bool terminal_;
    bool open_ = false;
    UnaskedHeat unasked_;
    std::string trouble_;
    double troubleC_ = 0; // of the plate, when it was last said
    Clock::time_point next_{}, troubleSince_{};
};

} // namespace stripwright
