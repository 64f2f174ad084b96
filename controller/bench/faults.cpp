#include "bench/faults.h"

#include "materials/json_fields.h"

#include <algorithm>
#include <cstdio>
#include <cstdlib>
#include <stdexcept>

namespace stripwright {

namespace {

constexpr double forEver = std::numeric_limits<double>::infinity();

// What stands after "=" in a fault's text.
struct FaultValue {
    const char* what; // null: it takes none
    double usual, min, max;
    int base = 10;
};

struct Kind {
    const char* name;
    FaultValue value{nullptr, 1, 0, 0};
    double lastsS = forEver;
};

// In the order of Fault.
const std::vector<Kind>& kinds()
{
    static const std::vector<Kind> all = {
        {"sensor-open"},
        {"sensor-stuck"},
        {"silent"},
        {"heater-open"},
        {"relay-welded"},
        {"over-temperature"},
        {"write-ignored"},
        {"counter-stuck"},
        {"strip-sensor-open"},
        {"enable-welded"},
        {"wrong-unit"},
        {"wrong-echo"},
        {"late-answer", {"seconds one answer is late", 1, 0, 60}},
        {"junk-bytes"},
        {"sensor-detached"},
        {"sensor-short"},
        {"spike", {"K that one sample is too high", 50, -500, 500}},
        {"draught", {"W it takes, for 60 s", 120, 0, 5000}, 60},
        {"cold-board", {"J/K of a board at 5 C laid on the plate", 30, 0.1, 5000}},
        {"half-power"},
        {"mains", {"share of the mains voltage", 0.8, 0, 1.5}},
        {"reboot", {"seconds it is unreachable", 2, 0, 600}},
        {"foreign-master"},
        {"bit-errors", {"share of the answers that are damaged", 0.1, 0, 1}},
        {"exceptions", {"code from 01 to 0B that refuses every request", 4, 1, 11, 16}},
        {"trickle"},
        {"unplugged"}};
    return all;
}

double numberIn(const std::string& text, double min, double max, int base = 10)
{
    char* end = nullptr;
    const double value = base == 16 ? static_cast<double>(std::strtol(text.c_str(), &end, 16))
                                    : std::strtod(text.c_str(), &end);
    if (text.empty() || *end || !(value >= min && value <= max)) {
        char range[60];
        if (base == 16)
            std::snprintf(range, sizeof range, "%02X to %02X", unsigned(min), unsigned(max));
        else
            std::snprintf(range, sizeof range, "%g to %g", min, max);
        throw std::invalid_argument("\"" + text + "\" is no number from " + range);
    }
    return value;
}

} // namespace

const std::vector<std::string>& faultNames()
{
    static const std::vector<std::string> names = [] {
        std::vector<std::string> all;
        for (const Kind& kind : kinds())
            all.emplace_back(kind.name);
        return all;
    }();
    return names;
}

TimedFault readFault(const std::string& text)
{
    constexpr double latestS = 1e6;
    const size_t at = text.find('@');
    const std::string what = text.substr(0, at);
    const size_t equals = what.find('=');
    const std::string name = what.substr(0, equals);
    const auto& names = faultNames();
    const auto found = std::find(names.begin(), names.end(), name);
    if (found == names.end())
        throw std::invalid_argument("\"" + name + "\" is no fault, expected " + oneOf(names));
    const Kind& kind = kinds()[static_cast<size_t>(found - names.begin())];
    TimedFault fault{static_cast<Fault>(found - names.begin()), 0, kind.value.usual};
    if (equals != std::string::npos) {
        if (!kind.value.what)
            throw std::invalid_argument("\"" + what + "\": " + name + " takes no number after =");
        fault.value = numberIn(what.substr(equals + 1), kind.value.min, kind.value.max, kind.value.base);
    }
    std::string until;
    if (at != std::string::npos) {
        std::string from = text.substr(at + 1);
        if (const size_t dots = from.find(".."); dots != std::string::npos) {
            until = from.substr(dots + 2);
            from.resize(dots);
            fault.untilS = numberIn(until, 0, latestS);
        }
        fault.fromS = numberIn(from, 0, latestS);
    }
    if (fault.fault == Fault::Reboot)
        fault.untilS = fault.fromS + fault.value;
    else if (until.empty())
        fault.untilS = fault.fromS + kind.lastsS;
    if (!(fault.untilS >= fault.fromS))
        throw std::invalid_argument("\"" + text + "\" ends before it begins");
    return fault;
}

std::string faultsText()
{
    std::string text = "Faults, each NAME[=VALUE][@FROM[..UNTIL]] in seconds of the plant:\n";
    int inLine = 0;
    for (const Kind& kind : kinds())
        if (!kind.value.what)
            text += (inLine == 0 ? "  " : inLine % 7 ? " " : "\n  ") + std::string(kind.name), ++inLine;
    for (const Kind& kind : kinds())
        if (kind.value.what) {
            char usual[20], row[160];
            std::snprintf(usual, sizeof usual, kind.value.base == 16 ? "0%.0f" : "%g", kind.value.usual);
            std::snprintf(row, sizeof row, "\n  %-18s%s; %s if not said",
                          (std::string(kind.name) + "=VALUE").c_str(), kind.value.what, usual);
            text += row;
        }
    return text +
           "\n  Bits are flipped over RTU; over TCP a damaged answer does not come, as from a gateway.\n"
           "  --fault - takes more of them as lines of standard input, each from when it comes.\n";
}

std::optional<double> FaultList::valueOf(Fault fault, double timeS) const
{
    for (auto one = faults_.rbegin(); one != faults_.rend(); ++one)
        if (one->fault == fault && timeS >= one->fromS - 1e-9 && timeS < one->untilS - 1e-9)
            return one->value;
    return {};
}

} // namespace stripwright
