#pragma once

#include "messages/messages.h"

#include <chrono>
#include <string>

namespace stripwright {

/// Where a run stands, on standard error: one line that is written over on a terminal, a line every 5 s elsewhere.
class ProgressLine {
public:
    ProgressLine();
    ~ProgressLine();                     ///< Ends the line.
    void show(const Status& status, const std::optional<Sample>& newest);
    void say(const std::string& text);   ///< A line of its own that stays.

private:
    const bool terminal_;
    bool open_ = false;
    std::chrono::steady_clock::time_point next_{};
};

} // namespace stripwright
