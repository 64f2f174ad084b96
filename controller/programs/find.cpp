#include "programs/programs.h"

#include "commissioning/device_search.h"
#include "guardian/plate_lock.h"
#include "messages/patient_output.h"

#include <nlohmann/json.hpp>

#include <algorithm>
#include <csignal>
#include <cstdio>
#include <iostream>
#include <unistd.h>

namespace stripwright {

using nlohmann::json;

namespace {

const char* const frameNames[] = {"8N1", "8E1", "8O1", "8N2"}; // in the order of SerialFrame
volatile std::sig_atomic_t stopSignal = 0;

json lineInJson(const PlateLink& link)
{
    if (!link.serial)
        return {{"host", link.host}, {"port", link.port}};
    return {{"serial",
             {{"device", link.serial->device},
              {"baud", link.serial->baud},
              {"frame", frameNames[static_cast<size_t>(link.serial->frame)]}}}};
}

json wordsInJson(const FoundDevice::Registers& registers)
{
    return registers.words.empty() ? json() : json(registers.words);
}

json fromInJson(const FoundDevice::Registers& registers)
{
    return registers.words.empty() ? json() : json(registers.from);
}

void say(const json& line)
{
    std::cout << line.dump() << std::endl;
}

void tellWords(const char* name, const FoundDevice::Registers& registers)
{
    if (registers.words.empty()) {
        std::printf("  %s registers: none at the usual places\n", name);
        return;
    }
    std::printf("  %s registers from %d on:", name, registers.from);
    for (std::uint16_t word : registers.words)
        std::printf(" %u", word);
    std::printf("\n");
}

void tell(bool asJson, const FoundDevice& device)
{
    if (asJson) {
        say({{"kind", "device"},
             {"unit", device.link.unit},
             {"line", lineInJson(device.link)},
             {"says", device.says},
             {"registers",
              {{"input", wordsInJson(device.input)},
               {"input_from", fromInJson(device.input)},
               {"holding", wordsInJson(device.holding)},
               {"holding_from", fromInJson(device.holding)}}}});
        return;
    }
    std::printf("%s, unit %d: %s\n", placeOf(device.link).c_str(), device.link.unit, device.says.c_str());
    tellWords("input", device.input);
    tellWords("holding", device.holding);
    std::fflush(stdout);
}

std::optional<int> wholeNumber(const std::string& text, int low, int high)
{
    int value = 0;
    char rest = 0;
    const bool whole =
        !text.empty() && text.size() < 6 && std::sscanf(text.c_str(), "%d%c", &value, &rest) == 1;
    return whole && value >= low && value <= high ? std::optional(value) : std::nullopt;
}

// "HOST", "HOST:PORT", "[::1]:502", or a device's path.
std::string readLine(const std::string& text, PlateLink& link)
{
    if (text.starts_with("/")) {
        link.serial.emplace();
        link.serial->device = text;
        return {};
    }
    const size_t bracket = text.find(']'), colon = text.rfind(':');
    const bool barePart = text.starts_with("[") && bracket != std::string::npos;
    const bool hasPort =
        colon != std::string::npos && (barePart ? colon == bracket + 1 : text.find(':') == colon);
    link.host = barePart ? text.substr(1, bracket - 1) : text.substr(0, hasPort ? colon : text.size());
    if (hasPort) {
        const std::string digits = text.substr(colon + 1);
        const auto port = wholeNumber(digits, 1, 65535);
        if (!port)
            return "LINE: found the port \"" + digits + "\"" +
                   (!digits.empty() && digits.find_first_not_of("0123456789") == std::string::npos
                        ? ""
                        : ", which is no number,") +
                   " in " + text + "; expected one from 1 to 65535";
        link.port = *port;
    }
    return link.host.empty() ? "LINE: found no host in " + text : std::string();
}

std::string readUnits(const std::string& text, bool serial, std::vector<int>& units)
{
    const size_t dash = text.find('-');
    const int low = serial ? 1 : 0, high = serial ? 247 : 255;
    const auto first = wholeNumber(text.substr(0, dash), low, high);
    const auto last = dash == std::string::npos ? first : wholeNumber(text.substr(dash + 1), low, high);
    if (!first || !last || *last < *first)
        return "--units: found " + text + ", expected FIRST-LAST within " + std::to_string(low) + " to " +
               std::to_string(high);
    for (int unit = *first; unit <= *last; ++unit)
        units.push_back(unit);
    return {};
}

std::string prepare(const FindOptions& options, DeviceSearch& search)
{
    std::string wrong = readLine(options.line, search.line);
    const bool serial = search.line.serial.has_value();
    if (wrong.empty() && !serial && (options.baud || !options.frame.empty()))
        wrong = "--baud and --frame are for a serial line, and " + options.line + " is none";
    if (!wrong.empty())
        return wrong;
    search.bauds = options.baud ? std::vector{*options.baud} : likelyBauds();
    search.frames = likelyFrames();
    if (!options.frame.empty()) {
        const auto frame = std::find(std::begin(frameNames), std::end(frameNames), options.frame);
        search.frames = {static_cast<SerialFrame>(frame - std::begin(frameNames))};
    }
    if (!options.units.empty())
        return readUnits(options.units, serial, search.units);
    search.units = serial ? std::vector{1, 2, 3, 4, 5, 6, 7, 8, 9, 10} : tcpUnits();
    return {};
}

} // namespace

int findDevices(const FindOptions& options)
{
    DeviceSearch search;
    if (const std::string wrong = prepare(options, search); !wrong.empty()) {
        std::fprintf(stderr, "stripwright-controller: %s\n", wrong.c_str());
        return 2;
    }
    // One that is paused would keep the plate from everybody else.
    for (int signal : {SIGINT, SIGTERM, SIGHUP, SIGQUIT, SIGTSTP})
        std::signal(signal, [](int) { stopSignal = 1; });
    for (int signal : {SIGTTIN, SIGTTOU})
        std::signal(signal, SIG_IGN);
    PatientOutput output(STDOUT_FILENO), errors(STDERR_FILENO);
    const bool terminal = errors.isTerminal();
    search.stopped = [] { return stopSignal != 0; };
    search.tellStep = [&](const std::string& text) {
        if (options.json)
            say({{"kind", "step"}, {"text", text}});
        else
            std::fprintf(stderr, terminal ? "\rasking %-40s\r" : "asking %s\n", text.c_str());
    };
    search.tellFound = [&](const FoundDevice& device) { tell(options.json, device); };
    DeviceSearchResult result;
    try {
        const PlateLock lock(search.line); // asking a plate that is driven would keep its watchdog fed
        result = searchDevices(search);
    } catch (const LinkError& error) { // in use, or a host that is not known
        result.refusals.push_back(error.what());
    }
    if (options.json)
        say({{"kind", "end"}, {"found", result.found}, {"refused", result.refusals}});
    else
        for (const std::string& refusal : result.refusals)
            std::fprintf(stderr, "%s\n", refusal.c_str());
    std::fflush(stdout);
    if (!output.end()) {
        std::fprintf(stderr, "standard output cannot be written: what was found is not whole\n");
        return 8;
    }
    return result.found > 0 ? 0 : stopSignal ? 6 : 5;
}

} // namespace stripwright
