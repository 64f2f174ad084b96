#include "programs/programs.h"

#include "guardian/guardian.h"
#include "materials/output_file.h"
#include "programs/bare_plate_question.h"
#include "programs/control_period.h"
#include "programs/guarded.h"
#include "programs/plate_on_shelf.h"
#include "tuning/learnt_figures.h"
#include "tuning/tune_plate.h"
#include "tuning/typed_power.h"

#include <nlohmann/json.hpp>

#include <cmath>
#include <cstdio>
#include <ctime>
#include <iostream>
#include <poll.h>
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

void tell(const TuneOptions& options, bool terminal, const TuningNews& news, bool& cools)
{
    if (!cools && news.cooling && !options.json)
        std::cerr
            << "\nThe heating is over. The plate is watched while it cools, for 15 min at most; Ctrl+C ends "
               "only that,\nand what was learnt is kept.\n";
    if (!cools && news.cooling && options.json)
        std::cout << json{{"heater_off", true}}.dump() << std::endl;
    cools = news.cooling;
    if (options.json)
        std::cout << json{{"step", news.step},
                          {"time_s", news.timeS},
                          {"plate_C", news.sensorC},
                          {"duty", news.duty ? json(*news.duty) : json()}}
                         .dump()
                  << std::endl;
    else
        std::fprintf(stderr, "%s%6.0f s  %6.1f C  %s heat  %-24s%s", terminal ? "\r" : "", news.timeS,
                     news.sensorC, percent(news.duty).c_str(), news.step.c_str(), terminal ? "" : "\n");
}

// The law of a real loop is not quite the model's: its own period and filter stand in no figure.
double loopError(double ofFit)
{
    constexpr double modelShare = 0.03;
    return std::hypot(ofFit, modelShare);
}

json orNull(const std::optional<double>& value)
{
    return value ? json(*value) : json();
}

json changes(const IdentifiedPlate& now, const std::optional<IdentifiedPlate>& before, double ambientC)
{
    json list = json::array();
    if (before)
        for (const std::string& line : learntLines(now, before, ambientC))
            if (line.find(", was ") != std::string::npos)
                list.push_back(line);
    return list;
}

void report(const TuneOptions& options, const TuningResult& result,
            const std::optional<IdentifiedPlate>& before, const std::optional<std::string>& question,
            bool sized)
{
    const IdentifiedPlate& plate = result.identified;
    if (options.json) {
        json out = {
            {"refused", result.refusals}, {"heater_off", result.heaterOff}, {"fit_rms_K", result.fit.rmsK}};
        if (result.refusals.empty())
            out["learnt"] = {{"heat_capacity_J_per_K", plate.heatCapacityJPerK},
                             {"loss_at_150_C_W", result.fit.figures.lossW(150)},
                             {"element_lag_s", plate.elementLagS},
                             {"sensor_lag_s", plate.sensorLagS},
                             {"dead_time_s", plate.deadTimeS},
                             {"heat_capacity_error_share", plate.capacityError.value()},
                             {"loss_error_share", plate.lossError.value()},
                             {"lag_error_share", plate.lagError.value()},
                             {"full_heat_ramp_C_per_s", plate.fullHeatRampCPerS.value()},
                             {"fan_loss_W_per_K", orNull(plate.fanLossWPerK)},
                             {"fan_loss_error_share", orNull(plate.fanLossError)},
                             {"coasting_loss_factor", orNull(result.cooling.lossFactor)},
                             {"safe_to_touch_s", orNull(result.cooling.safeS)},
                             {"safe_to_touch_with_fan_s", orNull(result.cooling.safeWithFanS)},
                             {"duty_per_K", plate.dutyPerK},
                             {"integral_s", plate.integralS},
                             {"derivative_s", plate.derivativeS},
                             {"power_question", question ? json(*question) : json()},
                             {"changes", changes(plate, before, options.ambientC)}};
        if (const auto& loop = result.fit.ownLoop; loop && result.refusals.empty())
            out["learnt"]["own_loop"] = {{"gain_per_K", loop->gainPerK},
                                         {"gain_error_share", loopError(result.fit.gainError)},
                                         {"integral_s", loop->integralS},
                                         {"integral_error_share", loopError(result.fit.integralError)},
                                         {"derivative_s", loop->derivativeS},
                                         {"most_duty", loop->mostDuty}};
        std::cout << out.dump() << std::endl;
        return;
    }
    std::cerr << '\n';
    for (const std::string& refusal : result.refusals)
        std::cerr << "Not learnt: " << refusal << '\n';
    if (!result.refusals.empty())
        return;
    for (const std::string& line : learntLines(plate, before, options.ambientC))
        std::printf("%s\n", line.c_str());
    if (const auto& loop = result.fit.ownLoop)
        std::printf(
            "its own loop     gain %s %% of full heat per K, integral %s s, derivative %.1f s%s\n",
            withError(100 * loop->gainPerK, 100 * loop->gainPerK * loopError(result.fit.gainError)).c_str(),
            withError(loop->integralS, loop->integralS * loopError(result.fit.integralError)).c_str(),
            loop->derivativeS,
            loop->mostDuty < 1
                ? (", gives " + std::to_string(std::lround(100 * loop->mostDuty)) + " % at most").c_str()
                : "");
    if (result.fit.ownLoop && before && before->ownLoop)
        std::printf("                 was gain %.3g %%, integral %.3g s\n", 100 * before->ownLoop->gainPerK,
                    before->ownLoop->integralS);
    for (const std::string& line : coolingLines(result.cooling, plate, options.ambientC))
        std::printf("%s\n", line.c_str());
    if (!sized)
        std::printf("%s; nobody has said how large it is, so nothing contradicts a wrong power\n",
                    plateByPower(options.powerW, plate.heatCapacityJPerK).c_str());
    std::printf("model against reading %.2f K RMS\n"
                "gains%s: %.4f of full heat per K, integral %.0f s, derivative %.1f s\n",
                plate.fitRmsK, result.relay ? " by the relay test" : "", plate.dutyPerK, plate.integralS,
                plate.derivativeS);
}

/// A line from the terminal; the guardian is kept awake meanwhile. Empty if `stop` comes first.
std::string answered(int heartbeat, const std::atomic<int>& stop)
{
    pollfd input{STDIN_FILENO, POLLIN, 0};
    while (!stop) {
        beat(heartbeat);
        if (poll(&input, 1, 500) > 0)
            break;
    }
    std::string answer;
    if (!stop)
        std::getline(std::cin, answer);
    return answer;
}

/// Asks whether the operator stands by a typed power that the climb makes doubtful, with the heater off;
/// whoever is not there does not. Without a word for those who read JSON: they are told.
void questionPower(const TuneOptions& options, const std::optional<std::string>& question, int heartbeat,
                   const std::atomic<int>& stop, TuningResult& result)
{
    if (!question || options.powerIsRight || options.json)
        return;
    if (isatty(STDIN_FILENO) && result.heaterOff) {
        std::cerr << '\n' << *question << " Type y and Enter if it is: ";
        if (answered(heartbeat, stop) == "y")
            return;
    }
    result.refusals.push_back(*question + " Learn it again with the power that stands on the heater, or with "
                                          "--power-is-right if it is right");
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

int work(const TuneOptions& options, const PlaceOnShelf& place, bool terminal, PlateLink link, int heartbeat,
         const std::atomic<int>& stop, bool& mayHeat)
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
                  .topC = std::min(options.topC, options.plateMaxC - 20),
                  .plateMaxC = options.plateMaxC,
                  .periodS = controlPeriodS(link, options.speed),
                  .plantSPerWallS = options.speed,
                  .ownRampCPerS = link.ownRampCPerS};
    if (!link.simulated && link.drive == DriveKind::Setpoint && !link.duty && !(link.watchdogProvenS > 0))
        std::cerr
            << "Its set-point goes to " << std::lround(job.bounds.topC)
            << " C at once, for without full heat nothing can be learnt of it: if this computer dies it "
               "goes on to there, a little beyond, and stays there. Stay beside it, its plug within reach\n";
    mayHeat = true;
    beat(heartbeat);
    bool cools = false;
    std::optional<double> lastC;
    TuningResult result = tunePlate(
        *plate, job, stop, [&] { beat(heartbeat); }, [&] { sayHeaterOff(heartbeat); },
        [&](const TuningNews& news) {
            lastC = news.sensorC;
            tell(options, terminal, news, cools);
        });
    if (guardianLost()) {
        result.stopped = false;
        result.refusals = {guardianLostText};
    }
    std::optional<std::string> question;
    if (result.refusals.empty() && !result.stopped && result.identified.powerW > 0)
        question = powerQuestion(options.powerW, result.identified.heatCapacityJPerK, place.size);
    questionPower(options, question, heartbeat, stop, result);
    report(options, result, link.identified, question, place.size.has_value());
    std::fflush(stdout);
    if (!options.json && result.stopped && lastC)
        std::fprintf(
            stderr, "Heater %s; the plate last read %.0f C: it is hot until it has cooled below 45 C\n",
            result.heaterOff ? "off, read back" : "off commanded, NOT confirmed: pull the mains plug",
            *lastC);
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
    std::snprintf(howHot, sizeof howHot, "to %g C", options.topC);
    if (!plateIsBare(howHot, link->enable.has_value(), options.plateIsBare))
        return 6;
    const auto mark = makeMark({.work = "learning a plate"}, *link, options.plate);
    const bool terminal = isatty(STDERR_FILENO);
    return guarded(*link, options.plate, Attended::AtTheTerminal,
                   [&](int heartbeat, const std::atomic<int>& stop, bool& mayHeat) {
                       return work(options, *place, terminal, *link, heartbeat, stop, mayHeat);
                   });
}

} // namespace stripwright
