#include "tuning/cooling_down.h"

#include <algorithm>
#include <cmath>
#include <cstdarg>
#include <cstdio>
#include <functional>

namespace stripwright {

static constexpr double longestS = 900, longestWithoutFanS = 300, leastWithoutFanS = 60, leastFallK = 10;
static constexpr double leastFanS = 30, leastFanFallK = 5, leastAboveRoomK = 10;
static constexpr int mostFanFailures = 10;

// Nothing is driven here: a plate that does not say its duty is no trouble.
static HeatingBounds forCooling(HeatingBounds bounds)
{
    bounds.drive = DriveKind::Duty;
    return bounds;
}

CoolingDown::CoolingDown(Plate& plate, HeatingBounds bounds, const PlateFigures& figures)
    : plate_(plate), heating_(plate, forCooling(bounds)), bounds_(bounds), figures_(figures)
{
    heating_.arm(figures);
    for (std::vector<double>* part : {&timeS_, &sensorC_})
        part->reserve(static_cast<size_t>(1.2 * longestS / bounds.periodS));
}

void CoolingDown::stop(const std::string& why)
{
    byOperator_ = byOperator_ || heating_.why().empty();
    heating_.stop(why);
}

void CoolingDown::switchFan(bool on)
{
    if (plate_.setFan(on)) {
        fanOn_ = on;
        fanFailures_ = 0;
    } else if (++fanFailures_ >= mostFanFailures) {
        fanOn_ = false; // a plate that does not answer keeps its fan as it is
    }
}

void CoolingDown::cycle(double wallS)
{
    const auto seen = heating_.cycle(wallS, 0);
    over_ = over_ || heating_.stopped();
    if (over_ && fanOn_)
        return switchFan(false);
    if (!seen || over_)
        return;
    timeS_.push_back(seen->timeS);
    sensorC_.push_back(seen->sensorC);
    decide();
}

void CoolingDown::decide()
{
    const double inS = timeS_.back() - timeS_.front(), fellK = sensorC_.front() - sensorC_.back();
    const double settleS = 4 * (figures_.elementLagS + figures_.sensorLagS + figures_.deadTimeS);
    const bool safe = sensorC_.back() < safeToTouchC;
    over_ = safe || inS > longestS;
    const bool enough = (inS > settleS + leastWithoutFanS && fellK > leastFallK) || inS > longestWithoutFanS;
    if (over_ || !enough || !plate_.hasFan() || fanSince_ || fanFailures_ >= mostFanFailures)
        return;
    switchFan(true);
    if (fanOn_)
        fanSince_ = timeS_.size();
}

// What a lag still brings from before is left out, and what is too near the room to tell.
std::pair<size_t, size_t> CoolingDown::settled(size_t from, size_t to) const
{
    const double settleS = 4 * (figures_.elementLagS + figures_.sensorLagS + figures_.deadTimeS);
    size_t first = from;
    while (first < to && timeS_[first] - timeS_[from] < settleS)
        ++first;
    while (to > first && sensorC_[to - 1] < figures_.ambientC + leastAboveRoomK)
        --to;
    return {first, to};
}

namespace {

struct Told {
    double value = 0, error = 0;
};

/// x of dT/dt = -lossW(T, x)/C by least squares on start and x (Gauss-Newton); behind lags that have settled
/// a reading keeps the same law as the plate.
std::optional<Told> fitLoss(const std::vector<double>& timeS, const std::vector<double>& sensorC,
                            size_t first, size_t last, double heatCapacityJPerK, double guess,
                            const std::function<double(double, double)>& lossW)
{
    const size_t n = last - first;
    std::vector<double> path(n), moved(n), raised(n);
    const auto follow = [&](double startC, double x, std::vector<double>& to) {
        double plateC = startC;
        for (size_t i = 0; i < n; ++i) {
            to[i] = plateC;
            if (i + 1 == n)
                break;
            const double h = timeS[first + i + 1] - timeS[first + i];
            const double middleC = plateC - h / 2 * lossW(plateC, x) / heatCapacityJPerK;
            plateC -= h * lossW(middleC, x) / heatCapacityJPerK;
        }
    };
    double startC = sensorC[first], x = guess, sum = 0, sameSign = 0, spread = 0;
    for (int turn = 0; turn < 12; ++turn) {
        const double stepC = 1e-3, stepX = 1e-4 * std::max(std::abs(guess), 1e-3);
        follow(startC, x, path);
        follow(startC + stepC, x, raised);
        follow(startC, x + stepX, moved);
        double aa = 0, ab = 0, bb = 0, ar = 0, br = 0, before = 0;
        sum = sameSign = 0;
        for (size_t i = 0; i < n; ++i) {
            const double a = (raised[i] - path[i]) / stepC, b = (moved[i] - path[i]) / stepX;
            const double rest = sensorC[first + i] - path[i];
            aa += a * a;
            ab += a * b;
            bb += b * b;
            ar += a * rest;
            br += b * rest;
            sum += rest * rest;
            sameSign += i > 0 ? rest * before : 0;
            before = rest;
        }
        const double determinant = aa * bb - ab * ab;
        if (!(determinant > 0))
            return {};
        startC += (bb * ar - ab * br) / determinant;
        x += (aa * br - ab * ar) / determinant;
        spread = aa / determinant;
        if (!std::isfinite(x) || !std::isfinite(startC))
            return {};
    }
    // Errors of neighbours are alike, which leaves fewer of them that count.
    const double likeness = std::clamp(sum > 0 ? sameSign / sum : 0, 0.0, 0.99);
    const double variance = sum / static_cast<double>(n) * (1 + likeness) / (1 - likeness);
    return Told{x, std::sqrt(variance * spread)};
}

} // namespace

std::optional<double> coastingS(const PlateFigures& plate, double fromC, double toC, double fanLossWPerK)
{
    constexpr double stepS = 1, dayS = 86400;
    double plateC = fromC;
    for (double timeS = 0; timeS < dayS; timeS += stepS) {
        const auto rate = [&](double atC) {
            return (plate.lossW(atC) + fanLossWPerK * (atC - plate.ambientC)) / plate.heatCapacityJPerK;
        };
        const double before = plateC;
        plateC -= stepS * rate(plateC - stepS / 2 * rate(plateC));
        if (plateC <= toC)
            return before > toC ? timeS + stepS * (before - toC) / (before - plateC) : timeS;
    }
    return {};
}

CoolingResult CoolingDown::result(double fromC, const LearntErrors& errors) const
{
    CoolingResult result;
    result.watched = !timeS_.empty();
    result.fromC = fromC;
    result.fanBlew = fanSince_.has_value();
    if (!heating_.why().empty() && !byOperator_) {
        result.brokenOff = heating_.why();
        result.heatsUnasked = heating_.tripped() == Interlock::UnexpectedHeat ||
                              heating_.tripped() == Interlock::OverTemperature;
    }
    const size_t fanFrom = fanSince_.value_or(timeS_.size());
    PlateFigures plate = figures_;
    const auto enough = [&](const std::pair<size_t, size_t>& part, double leastS, double fallK) {
        const auto [first, last] = part;
        return last > first + 20 && timeS_[last - 1] - timeS_[first] > leastS &&
               sensorC_[first] - sensorC_[last - 1] > fallK;
    };
    const auto without = settled(0, fanFrom);
    if (enough(without, leastWithoutFanS / 2, leastFallK / 2))
        if (const auto told =
                fitLoss(timeS_, sensorC_, without.first, without.second, plate.heatCapacityJPerK, 1,
                        [&](double atC, double x) { return x * figures_.lossW(atC); })) {
            result.lossFactor = told->value;
            result.lossFactorError = std::hypot(told->error, errors.loss);
            plate.lossWPerK *= told->value;
            plate.radiatingAreaM2 *= told->value;
        }
    if (fanSince_) {
        const auto with = settled(fanFrom, timeS_.size());
        std::optional<Told> told;
        if (enough(with, leastFanS, leastFanFallK))
            told =
                fitLoss(timeS_, sensorC_, with.first, with.second, plate.heatCapacityJPerK, plate.lossWPerK,
                        [&](double atC, double x) { return plate.lossW(atC) + x * (atC - plate.ambientC); });
        if (told) {
            const double middleC = (sensorC_[with.first] + sensorC_[with.second - 1]) / 2;
            const double lossError = result.lossFactor ? errors.loss / 2 : errors.loss;
            const double fromLoss = lossError * plate.lossW(middleC) / (middleC - plate.ambientC);
            const double error = std::hypot(told->error, fromLoss);
            if (told->value > 2 * error) {
                result.fanLossWPerK = told->value;
                result.fanLossError = std::hypot(error / told->value, errors.capacity);
            } else {
                result.fanTellsNothing = true;
            }
        }
    }
    if (plate.ambientC < safeToTouchC) {
        result.safeS = coastingS(plate, fromC, safeToTouchC);
        if (result.fanLossWPerK)
            result.safeWithFanS = coastingS(plate, fromC, safeToTouchC, *result.fanLossWPerK);
    }
    return result;
}

static std::string minutes(double timeS)
{
    char text[40];
    if (timeS < 90)
        std::snprintf(text, sizeof text, "%.0f s", timeS);
    else
        std::snprintf(text, sizeof text, "%.0f min", timeS / 60);
    return text;
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

std::vector<std::string> coolingLines(const CoolingResult& cooling, const IdentifiedPlate& learnt,
                                      double ambientC)
{
    std::vector<std::string> lines;
    if (!cooling.brokenOff.empty())
        lines.push_back("cooling          broken off: " + cooling.brokenOff);
    if (cooling.lossFactor) {
        const bool apart = std::abs(*cooling.lossFactor - 1) > 2 * cooling.lossFactorError;
        lines.push_back(
            text("coasting         losses %s times those that the heating told%s",
                 withError(*cooling.lossFactor, cooling.lossFactorError).c_str(),
                 apart ? ": MORE apart than both uncertainties explain; was there a draught?" : ""));
    }
    if (cooling.fanLossWPerK)
        lines.push_back(
            text("fan              %s W/K more, at 100 C %.1f times the loss without it",
                 withError(*cooling.fanLossWPerK, cooling.fanLossError * *cooling.fanLossWPerK).c_str(),
                 1 + *cooling.fanLossWPerK * (100 - ambientC) / figuresOf(learnt, ambientC).lossW(100)));
    else if (cooling.fanTellsNothing)
        lines.emplace_back(
            "fan              makes no difference that could be told: does it blow, and on the "
            "plate?");
    else if (cooling.fanBlew)
        lines.emplace_back("fan              not learnt: it did not blow long enough");
    if (cooling.safeS)
        lines.push_back(
            text("safe to touch    (%.0f C) from %.0f C after %s%s", safeToTouchC, cooling.fromC,
                 minutes(*cooling.safeS).c_str(),
                 cooling.safeWithFanS ? (", with the fan " + minutes(*cooling.safeWithFanS)).c_str() : ""));
    return lines;
}

} // namespace stripwright
