#include "commands/progress_line.h"

#include "commands/wrapped.h"
#include "rules/wording.h"

#include <algorithm>
#include <cctype>
#include <cmath>
#include <iostream>

namespace stripwright {

using namespace std::chrono_literals;

ProgressLine::~ProgressLine()
{
    if (open_)
        std::cerr << '\n';
}

static std::string degrees(const std::optional<double>& valueC)
{
    return valueC ? std::to_string(std::lround(*valueC)) + " °C" : "unknown";
}

// "unexpected heat: ..." as "UNEXPECTED HEAT: ...".
static std::string loud(std::string text)
{
    const auto colon = std::find(text.begin(), text.end(), ':');
    if (colon != text.end())
        std::transform(text.begin(), colon, text.begin(),
                       [](unsigned char letter) { return std::toupper(letter); });
    return text;
}

std::string progressText(const Status& status, const std::optional<Sample>& newest,
                         const std::string& trouble, bool brokenOff)
{
    if (!trouble.empty())
        return loud(trouble) + " (plate " + degrees(status.sensorC) + ")";
    constexpr double roundingS = 0.5;
    std::string line;
    if (!brokenOff && status.endS > 0)
        line = status.profileS < status.endS - roundingS
                   ? clockInWords(status.profileS) + " of " + clockInWords(status.endS) + ", "
                   : "path over, ";
    const bool cools = status.state == RunState::Cooling; // its words speak of the heater, confirmed or not
    line += (cools ? std::string("cooling, ") + inWords(status.heater) : inWords(status.state)) + ", plate " +
            degrees(status.sensorC);
    if (newest && newest->jointNominalC)
        line += ", joint " + degrees(newest->jointNominalC) + " est.";
    return cools ? line : line + ", " + inWords(status.heater);
}

// "unexpected heat" of "unexpected heat: 0 % given, 38 % arrives": the figures change all the time.
static std::string_view kindOf(const std::string& trouble)
{
    return std::string_view(trouble).substr(0, trouble.find(':'));
}

void ProgressLine::show(const Status& status, const std::optional<Sample>& newest, bool brokenOff,
                        Clock::time_point now)
{
    const std::string trouble = unasked_.text(status);
    constexpr double movedK = 10;
    const double plateC = status.sensorC.value_or(troubleC_);
    const bool moved = !trouble.empty() && std::abs(plateC - troubleC_) >= movedK;
    const bool isNew = kindOf(trouble) != kindOf(trouble_);
    if (now < next_ && !isNew && !moved)
        return;
    if (isNew)
        troubleSince_ = now;
    trouble_ = trouble;
    troubleC_ = plateC;
    // Trouble is too long to be written over on a narrow terminal, and may stay in sight.
    const bool inPlace = terminal_ && trouble.empty();
    next_ = now + (inPlace ? 200ms : trouble.empty() ? 5000ms : 60'000ms);
    std::string line = progressText(status, newest, trouble, brokenOff);
    if (const auto minutes = std::chrono::floor<std::chrono::minutes>(now - troubleSince_).count();
        !trouble.empty() && minutes > 0)
        line += ", for " + std::to_string(minutes) + " min";
    if (inPlace) {
        std::cerr << "\r\x1b[K" << line << std::flush;
        open_ = true;
    } else {
        say(line);
    }
}

void ProgressLine::take(const Event& event)
{
    unasked_.take(event);
    if (event.severity != "info")
        say(event.severity + ": " + event.text);
}

void ProgressLine::say(const std::string& text)
{
    if (open_)
        std::cerr << "\r\x1b[K";
    open_ = false;
    constexpr int indent = 2;
    std::string lines = wrapped("", text, columnsOf(std::cerr) - indent);
    for (size_t at = 0; (at = lines.find('\n', at)) != std::string::npos; at += 1 + indent)
        lines.insert(at + 1, indent, ' ');
    std::cerr << lines << '\n';
}

} // namespace stripwright
