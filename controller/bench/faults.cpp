#include "bench/faults.h"

#include "materials/json_fields.h"

#include <algorithm>
#include <cstdlib>
#include <stdexcept>

namespace stripwright {

const std::vector<std::string>& faultNames()
{
    static const std::vector<std::string> names = {
        "sensor-open",      "sensor-stuck",  "silent",        "heater-open",       "relay-welded",
        "over-temperature", "write-ignored", "counter-stuck", "strip-sensor-open", "enable-welded",
        "wrong-unit",       "wrong-echo",    "late-answer",   "junk-bytes"};
    return names;
}

static double secondsIn(const std::string& text, double most)
{
    char* end = nullptr;
    const double value = std::strtod(text.c_str(), &end);
    if (text.empty() || *end || !(value >= 0 && value <= most))
        throw std::invalid_argument("\"" + text + "\" is no number of seconds from 0 to " +
                                    std::to_string(static_cast<long>(most)));
    return value;
}

TimedFault readFault(const std::string& text)
{
    const size_t at = text.find('@');
    const std::string what = text.substr(0, at);
    const size_t equals = what.find('=');
    const std::string name = what.substr(0, equals);
    const auto& names = faultNames();
    const auto found = std::find(names.begin(), names.end(), name);
    if (found == names.end())
        throw std::invalid_argument("\"" + name + "\" is no fault, expected " + oneOf(names));
    TimedFault fault{static_cast<Fault>(found - names.begin())};
    if (at != std::string::npos)
        fault.fromS = secondsIn(text.substr(at + 1), 1e6);
    if (equals != std::string::npos) {
        if (fault.fault != Fault::LateAnswer)
            throw std::invalid_argument("\"" + what + "\": only late-answer takes a number after =");
        fault.value = secondsIn(what.substr(equals + 1), 60);
    }
    return fault;
}

} // namespace stripwright
