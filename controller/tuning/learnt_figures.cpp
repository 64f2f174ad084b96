#include "tuning/learnt_figures.h"

#include <algorithm>
#include <cmath>
#include <cstdarg>
#include <cstdio>

namespace stripwright {

// One heat capacity stands for a plate whose aluminium takes some 7 % more of it at 180 than at 25 °C: 3.5 %
// either way, evenly, is a standard error of 2 %.
static constexpr double capacityModelShare = 0.02;
// Losses are to a room at one temperature: 3 K off are 2.4 % of what drives them at 150 °C.
static constexpr double lossModelShare = 0.025;
// A reading is as old as half a control cycle of 0.2 s, give or take.
static constexpr double lagModelS = 0.1;
// A loop that does not tell its duty has a period and a filter of its own, which pass for lags.
static constexpr double loopLagShare = 0.05;

LearntErrors learntErrors(const PlateFit& fit)
{
    const PlateFigures& plate = fit.figures;
    const double lagsS = plate.elementLagS + plate.sensorLagS + plate.deadTimeS;
    return {.capacity = std::hypot(fit.capacityError, capacityModelShare),
            .loss = std::hypot(fit.lossError, lossModelShare),
            .lag = std::hypot(fit.lagError, lagsS > 0 ? lagModelS / lagsS : 1,
                              fit.ownLoop && fit.fullHeatS > 0 ? loopLagShare : 0)};
}

IdentifiedPlate identifiedFrom(const PlateFit& fit, const PidGains& gains)
{
    const PlateFigures& figures = fit.figures;
    const LearntErrors errors = learntErrors(fit);
    return {.powerW = figures.powerW,
            .heatCapacityJPerK = figures.heatCapacityJPerK,
            .lossWPerK = figures.lossWPerK,
            .radiatingAreaM2 = figures.radiatingAreaM2,
            .elementLagS = figures.elementLagS,
            .sensorLagS = figures.sensorLagS,
            .deadTimeS = figures.deadTimeS,
            .fitRmsK = fit.rmsK,
            .dutyPerK = gains.kPerK,
            .integralS = gains.tiS,
            .derivativeS = gains.tdS,
            .capacityError = errors.capacity,
            .lossError = errors.loss,
            .lagError = errors.lag,
            .fullHeatRampCPerS = figures.powerW / figures.heatCapacityJPerK,
            .ownLoop = fit.ownLoop};
}

double lossRangeShare(double lossError)
{
    constexpr double least = 0.05, most = 0.5; // most: as much as an entry may say
    return std::clamp(std::ceil(200 * lossError) / 100, least, most);
}

[[gnu::format(printf, 1, 2)]] static std::string text(const char* format, ...)
{
    char line[300];
    va_list values;
    va_start(values, format);
    std::vsnprintf(line, sizeof line, format, values);
    va_end(values);
    return line;
}

std::string withError(double value, double error)
{
    error = std::max(std::abs(error), 1e-3 * std::abs(value));
    if (!std::isfinite(value) || !(error > 0))
        return text("%g", value);
    double power = std::floor(std::log10(error));
    if (std::lround(error / std::pow(10, power) * 10) < 20) // 1.x: a second digit says something
        --power;
    const double step = std::pow(10, power);
    const int decimals = std::max(0, static_cast<int>(-power));
    return text("%.*f +- %.*f", decimals, std::round(value / step) * step, decimals,
                std::round(error / step) * step);
}

namespace {

/// What a figure was and is.
struct Change {
    double before, now;
    std::optional<double> errorBefore, errorNow; ///< Shares; none: not known.
    double byPower = 1;                          ///< Factor that the typed power alone has brought.
};

double unexplained(const Change& change)
{
    return 2 * std::hypot(change.errorBefore.value_or(0), change.errorNow.value_or(0));
}

/// A plate stays as heavy as it is: where heat capacity and losses have grown alike, at the power that was
/// typed, it is the heater that gives less.
std::string heaterInWords(const Change& capacity, const Change& loss)
{
    const double factor = capacity.now / capacity.before / capacity.byPower,
                 ofLoss = loss.now / loss.before / loss.byPower;
    if (!(std::abs(factor - 1) > unexplained(capacity)) ||
        std::abs(ofLoss / factor - 1) > std::hypot(unexplained(capacity), unexplained(loss)))
        return {};
    return text(
        "heater           heat capacity and losses have changed alike: as if its heater gave %.0f %% of "
        "what it gave. Does it, or was its power typed wrong, then or now?",
        100 / factor);
}

std::string inWords(const Change& change, int decimals)
{
    if (decimals == 0 && change.before < 100)
        decimals = 1;
    const double share = change.now / change.before - 1;
    std::string words = text(", was %.*f: %+.0f %%", decimals, change.before,
                             std::round(100 * share) + 0.0); // no "-0"
    if (change.errorBefore && change.errorNow) {
        const double explained = unexplained(change);
        if (std::abs((1 + share) / change.byPower - 1) > explained)
            words += text(", MORE than both uncertainties explain (%.0f %%)", 100 * explained);
    }
    return words;
}

double lossAt150W(const IdentifiedPlate& plate, double ambientC)
{
    return figuresOf(plate, ambientC).lossW(150);
}

double lagsS(const IdentifiedPlate& plate)
{
    return plate.elementLagS + plate.sensorLagS + plate.deadTimeS;
}

} // namespace

std::vector<std::string> learntLines(const IdentifiedPlate& now, const std::optional<IdentifiedPlate>& before,
                                     double ambientC)
{
    std::vector<std::string> lines;
    const auto add = [&](std::string line, double IdentifiedPlate::*figure, int decimals) {
        if (before && (*before).*figure > 0)
            line += inWords({(*before).*figure, now.*figure, {}, {}}, decimals);
        lines.push_back(std::move(line));
    };
    const double capacityError = now.capacityError.value_or(0), lossError = now.lossError.value_or(0);
    const double byPower = before ? now.powerW / before->powerW : 1;
    const double climb = now.powerW / now.heatCapacityJPerK, lossW = lossAt150W(now, ambientC);
    if (before && !before->measuredUtc.empty())
        lines.push_back("learnt before on " + before->measuredUtc.substr(0, 10));
    std::string line = text("full heat, cold  %s K/s", withError(climb, capacityError * climb).c_str());
    if (before)
        line += inWords(
            {before->powerW / before->heatCapacityJPerK, climb, before->capacityError, now.capacityError}, 2);
    lines.push_back(line);
    if (before && before->powerW != now.powerW)
        lines.push_back(text("typed power      %.0f W, was %.0f W: heat capacity and losses go with it",
                             now.powerW, before->powerW));
    std::optional<Change> capacity, loss;
    if (before) {
        capacity = {before->heatCapacityJPerK, now.heatCapacityJPerK, before->capacityError,
                    now.capacityError, byPower};
        loss = {lossAt150W(*before, ambientC), lossW, before->lossError, now.lossError, byPower};
    }
    lines.push_back(text("heat capacity    %s J/K at %.0f W",
                         withError(now.heatCapacityJPerK, capacityError * now.heatCapacityJPerK).c_str(),
                         now.powerW) +
                    (capacity ? inWords(*capacity, 0) : ""));
    lines.push_back(
        text("loss at 150 C    %s W at %.0f W", withError(lossW, lossError * lossW).c_str(), now.powerW) +
        (loss ? inWords(*loss, 0) : ""));
    if (const std::string heater = before ? heaterInWords(*capacity, *loss) : std::string(); !heater.empty())
        lines.push_back(heater);
    lines.push_back(text("typed power      is taken as right; if it is %.0f %% off, so are heat capacity and "
                         "losses, their ratio is not",
                         100 * typedPowerErrorShare));
    add(text("element lag      about %.1f s", now.elementLagS), &IdentifiedPlate::elementLagS, 1);
    add(text("sensor lag       about %.1f s", now.sensorLagS), &IdentifiedPlate::sensorLagS, 1);
    add(text("dead time        about %.1f s", now.deadTimeS), &IdentifiedPlate::deadTimeS, 1);
    line =
        text("lags together    %s s", withError(lagsS(now), now.lagError.value_or(0) * lagsS(now)).c_str());
    if (before)
        line += inWords({lagsS(*before), lagsS(now), before->lagError, now.lagError}, 1);
    lines.push_back(line);
    if (before) // among the gains it stands in full
        add(text("gain             %.4f of full heat per K", now.dutyPerK), &IdentifiedPlate::dutyPerK, 4);
    return lines;
}

} // namespace stripwright
