#include "programs/tune_talk.h"

#include "guardian/guardian.h"
#include "programs/guarded.h"
#include "tuning/learnt_figures.h"
#include "tuning/typed_power.h"

#include <nlohmann/json.hpp>

#include <cmath>
#include <cstdio>
#include <iostream>
#include <poll.h>
#include <termios.h>
#include <unistd.h>

namespace stripwright {

using nlohmann::json;

namespace {

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
            if (line.find(", was ") != std::string::npos || line.rfind("heater ", 0) == 0)
                list.push_back(line);
    return list;
}

/// A line typed from now on; the guardian is kept awake meanwhile. Empty if a stop comes first, another than
/// one that has ended the cooling before, or the keyboard's end.
std::string typedLine(int keyboard, int heartbeat, const std::atomic<int>& stop)
{
    constexpr int beatEveryMs = 500;
    tcflush(keyboard, TCIFLUSH); // whatever was typed before the question is no answer to it
    const int before = stop;
    std::string line;
    pollfd input{keyboard, POLLIN, 0};
    while (!line.ends_with('\n')) {
        beat(heartbeat);
        const int ready = poll(&input, 1, beatEveryMs);
        if (ready < 0 || stop != before) // a signal
            return {};
        char bytes[80];
        const ssize_t count = ready > 0 ? read(keyboard, bytes, sizeof bytes) : 0;
        if (ready > 0 && count <= 0)
            return {};
        line.append(bytes, static_cast<size_t>(count));
    }
    return line.substr(0, line.find('\n'));
}

} // namespace

void sayResult(const TuneOptions& options, const TuningResult& result,
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

void questionPower(const TuneOptions& options, const std::optional<std::string>& question, int keyboard,
                   int heartbeat, const std::atomic<int>& stop, TuningResult& result)
{
    if (!question || options.powerIsRight || options.json)
        return;
    if (keyboard >= 0 && result.heaterOff) {
        std::cerr << '\n' << *question << " Type y and Enter if it is: ";
        const std::string answer = typedLine(keyboard, heartbeat, stop);
        sayHeaterOff(heartbeat); // a file is written yet, on a disk that may be slow
        if (answer == "y")
            return;
    }
    result.refusals.push_back(*question + " Learn it again with the power that stands on the heater, or with "
                                          "--power-is-right if it is right");
}

} // namespace stripwright
