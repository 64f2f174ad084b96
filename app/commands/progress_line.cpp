#include "commands/progress_line.h"

#include "commands/curves_csv.h"

#include <cmath>
#include <iostream>
#include <unistd.h>

namespace stripwright {

using namespace std::chrono_literals;

ProgressLine::ProgressLine() : terminal_(isatty(STDERR_FILENO)) {}

ProgressLine::~ProgressLine()
{
    if (open_)
        std::cerr << '\n';
}

static std::string degrees(const std::optional<double>& valueC)
{
    return valueC ? std::to_string(std::lround(*valueC)) + " °C" : "unknown";
}

void ProgressLine::show(const Status& status, const std::optional<Sample>& newest)
{
    const auto now = std::chrono::steady_clock::now();
    if (now < next_)
        return;
    next_ = now + (terminal_ ? 200ms : 5000ms);
    std::string line = std::to_string(std::lround(status.profileS)) + " of " +
                       std::to_string(std::lround(status.endS)) + " s, " + inWords(status.state) +
                       ", plate " + degrees(status.sensorC);
    if (newest && newest->jointNominalC)
        line += ", joint " + degrees(newest->jointNominalC) + " est.";
    line += std::string(", ") + inWords(status.heater);
    if (terminal_) {
        std::cerr << "\r\x1b[K" << line << std::flush;
        open_ = true;
    } else {
        std::cerr << line << '\n';
    }
}

void ProgressLine::say(const std::string& text)
{
    if (open_)
        std::cerr << "\r\x1b[K";
    open_ = false;
    std::cerr << text << '\n';
}

} // namespace stripwright
