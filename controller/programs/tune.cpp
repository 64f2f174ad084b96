#include "programs/programs.h"

#include "guardian/guardian.h"
#include "materials/output_file.h"
#include "programs/bare_plate_question.h"
#include "programs/control_period.h"
#include "programs/guarded.h"
#include "programs/plate_on_shelf.h"
#include "programs/tune_talk.h"
#include "tuning/typed_power.h"

#include <nlohmann/json.hpp>

#include <cmath>
#include <cstdio>
#include <ctime>
#include <fcntl.h>
#include <iostream>
#include <unistd.h>

namespace stripwright {

using nlohmann::json;

namespace {

std::string nowUtc()
{
    const std::time_t now = std::time(nullptr);
    char text[32];
    std::strftime(text, sizeof text, "%Y-%m-%dT%H:%M:%SZ", std::gmtime(&now));
    return text;
}

std::string percent(const std::optional<double>& share)
{
    char text[16];
    std::snprintf(text, sizeof text, "%3.0f %%", 100 * share.value_or(0));
    return share ? text : "  ? %";
}

void tell(const TuneOptions& options, bool terminal, const TuningNews& news, bool& cools, bool& broken)
{
    if (!cools && news.cooling && !options.json)
        std::cerr
            << "\nThe heating is over. The plate is watched while it cools, for 15 min at most; Ctrl+C ends "
               "only that,\nand what was learnt is kept.\n";
    if (!cools && news.cooling && options.json)
        std::cout << json{{"heater_off", true}}.dump() << std::endl;
    if (!broken && !news.brokenOff.empty() && !options.json)
        std::cerr << "\nThe heating was broken off: " << news.brokenOff
                  << "\nThe heater is told to be off until the plate is seen to cool; Ctrl+C ends that.\n";
    cools = news.cooling;
    broken = !news.brokenOff.empty();
    if (options.json)
        std::cout << json{{"step", news.step},
                          {"time_s", news.timeS},
                          {"plate_C", news.sensorC},
                          {"duty", news.duty ? json(*news.duty) : json()},
                          {"broken_off", broken ? json(news.brokenOff) : json()}}
                         .dump()
                  << std::endl;
    else
        std::fprintf(stderr, "%s%6.0f s  %6.1f C  %s heat  %-24s%s", terminal ? "\r" : "", news.timeS,
                     news.sensorC, percent(news.duty).c_str(), news.step.c_str(), terminal ? "" : "\n");
}

int keep(const TuneOptions& options, const PlaceOnShelf& place, const PlateLink& link)
{
    const std::string& file = options.out.empty() ? options.plate : options.out;
    try {
        writeWholeFile(file, toJsonText(link));
    } catch (const CannotWrite& error) {
        std::cerr << error.what() << '\n';
        return 8;
    }
    std::cerr << "Kept in " << file << '\n';
    json said;
    const int code = putOnShelf(options, place, link, said);
    if (options.json && !said.is_null())
        std::cout << said.dump() << std::endl;
    return code;
}

double topOf(const TuneOptions& options, const PlateLink& link)
{
    constexpr double belowMaxK = 20;
    return std::min(options.topC, measuredPlateMaxC(link, options.plateMaxC) - belowMaxK);
}

int work(const TuneOptions& options, const PlaceOnShelf& place, bool terminal, int keyboard, PlateLink link,
         int heartbeat, const std::atomic<int>& stop, bool& mayHeat)
{
    const std::unique_ptr<Plate> plate = openPlate(link);
    if (const auto reading = plate->read(); reading && reading->watchdogTripped)
        std::cerr << "The plate's watchdog bit has been set since before this heat; "
                  << (plate->canClearWatchdog() ? "it is cleared before the first one\n"
                                                : "whether the heat arrives tells what it cannot\n");
    if (!link.simulated && !(link.watchdogProvenS > 0))
        std::cerr << "Nobody has seen this plate cut its heater when the line falls silent: take it that it "
                     "goes on heating if this computer dies\n";
    TuningJob job{.powerW = options.powerW,
                  .ambientC = options.ambientC,
                  .cutsWhenSilent = link.watchdogProvenS > 0,
                  .relay = options.relay};
    job.bounds = {.drive = link.drive,
                  .setpointFloorC = link.setpointFloorC,
                  .topC = topOf(options, link),
                  .plateMaxC = measuredPlateMaxC(link, options.plateMaxC),
                  .periodS = controlPeriodS(link, options.speed),
                  .plantSPerWallS = options.speed,
                  .ownRampCPerS = link.ownRampCPerS};
    if (link.drive == DriveKind::Setpoint && !link.duty && !(link.watchdogProvenS > 0))
        std::cerr
            << "Its set-point goes to " << std::lround(job.bounds.topC)
            << " C at once, for without full heat nothing can be learnt of it: if this computer dies it "
               "goes on to there, a little beyond, and stays there. Stay beside it, its plug within reach\n";
    mayHeat = true;
    beat(heartbeat);
    bool cools = false, broken = false;
    std::optional<double> lastC;
    TuningResult result = tunePlate(
        *plate, job, stop, [&] { beat(heartbeat); }, [&] { sayHeaterOff(heartbeat); },
        [&](const TuningNews& news) {
            lastC = news.sensorC;
            tell(options, terminal, news, cools, broken);
        });
    if (guardianLost()) {
        result.stopped = false;
        result.refusals = {guardianLostText};
    }
    std::optional<std::string> question;
    if (result.refusals.empty() && !result.stopped && result.identified.powerW > 0)
        question = powerQuestion(options.powerW, result.identified.heatCapacityJPerK, place.size);
    questionPower(options, question, keyboard, heartbeat, stop, result);
    sayResult(options, result, link.identified, question, place.size.has_value());
    std::fflush(stdout);
    if (!options.json && lastC && (result.stopped || !result.refusals.empty()))
        std::fprintf(stderr, "Heater %s; the plate last read %.0f C%s\n",
                     result.heaterOff ? "off, read back"
                                      : "off commanded, NOT confirmed: pull the mains plug",
                     *lastC, *lastC < safeToTouchC ? "" : ": it is hot until it has cooled below 45 C");
    const bool learnt = result.refusals.empty() && !result.stopped && result.identified.powerW > 0;
    if (!learnt)
        return !result.heaterOff ? 1 : result.stopped ? 6 : 7;
    result.identified.measuredUtc = nowUtc();
    link.identified = result.identified;
    // Learnt with the heater read back off; only while it cooled the plate may have fallen silent.
    const int code = keep(options, place, link);
    return result.heaterOff ? code : 1;
}

} // namespace

int tune(const TuneOptions& options)
{
    std::optional<PlateLink> link;
    try {
        if (!options.out.empty()) // its own link it may write over
            checkOutput(options.out, OutputKind::PlateLink, {});
        link = readLinkOrComplain(options.plate);
        if (!link)
            return 3;
        checkCanWrite(options.out.empty() ? options.plate : options.out);
    } catch (const CannotWrite& error) {
        std::cerr << error.what() << '\n';
        return 8;
    }
    if (speedRefused(options.speed, *link, options.plate))
        return 2;
    if (link->drive == DriveKind::Setpoint && options.relay) {
        std::cerr << options.plate
                  << ": a plate driven by its set-point switches its heater itself; leave --relay out\n";
        return 3;
    }
    const auto place = placeOnShelf(options, *link);
    if (!place)
        return 2;
    char howHot[32];
    std::snprintf(howHot, sizeof howHot, "to %g C", topOf(options, *link));
    if (!plateIsBare(howHot, link->enable.has_value(), options.plateIsBare))
        return 6;
    const auto mark = makeMark({.work = "learning a plate"}, *link, options.plate);
    const bool terminal = isatty(STDERR_FILENO);
    // Nothing behind the front has the terminal as its input any more.
    const int keyboard = isatty(STDIN_FILENO) ? fcntl(STDIN_FILENO, F_DUPFD_CLOEXEC, 0) : -1;
    return guarded(*link, options.plate, Attended::AtTheTerminal,
                   [&](int heartbeat, const std::atomic<int>& stop, bool& mayHeat) {
                       return work(options, *place, terminal, keyboard, *link, heartbeat, stop, mayHeat);
                   });
}

} // namespace stripwright
