#include "tuning/plate_fit.h"

#include "tuning/heating_models.h"

#include <Eigen/LU>
#include <unsupported/Eigen/NonLinearOptimization>

#include <algorithm>
#include <cmath>
#include <cstdio>

namespace stripwright {

namespace {

constexpr double leastRiseK = 60, leastRecordS = 60;
constexpr double mostErrorShare = 0.1; // of capacity and losses
constexpr double mostLoopErrorShare = 0.15;
constexpr double mostRmsK = 0.5, mostRmsShare = 0.006;

enum { RatePerDuty, LossRate, RadiationRate, LongLag, ShortLag, DeadTime, figureCount };
enum {
    GainRate = figureCount,
    LoopIntegral,
    LoopDerivative,
    withLoopCount
}; // gain times P/C, which any record tells

// Logarithms keep every figure positive; dead time may come near zero.
PlateFigures figuresFrom(const Eigen::VectorXd& x, double powerW, double ambientC)
{
    PlateFigures plate;
    plate.powerW = powerW;
    plate.ambientC = ambientC;
    plate.heatCapacityJPerK = powerW / std::exp(x[RatePerDuty]);
    plate.lossWPerK = std::exp(x[LossRate]) * plate.heatCapacityJPerK;
    plate.radiatingAreaM2 = std::exp(x[RadiationRate]) * plate.heatCapacityJPerK;
    const double a = std::exp(x[LongLag]), b = std::exp(x[ShortLag]);
    plate.elementLagS = std::max(a, b);
    plate.sensorLagS = std::min(a, b);
    plate.deadTimeS = std::exp(x[DeadTime]);
    return plate;
}

OwnLoopFigures loopFrom(const Eigen::VectorXd& x, int from, const HeatingRecord& record)
{
    return {.gainPerK = std::exp(x[from]),
            .integralS = std::exp(x[from + 1]),
            .derivativeS = std::exp(x[from + 2]),
            .rampCPerS = record.ownRampCPerS};
}

OwnLoopFigures loopFrom(const Eigen::VectorXd& x, const HeatingRecord& record)
{
    OwnLoopFigures loop = loopFrom(x, GainRate, record);
    loop.gainPerK /= std::exp(x[RatePerDuty]);
    return loop;
}

template <class Errors> int slopeOf(const Errors& errors, const Eigen::VectorXd& x, Eigen::MatrixXd& slope)
{
    constexpr double step = 1e-4;
    Eigen::VectorXd high(errors.values()), low(errors.values());
    for (int i = 0; i < errors.inputs(); ++i) {
        Eigen::VectorXd moved = x;
        moved[i] = x[i] + step;
        errors(moved, high);
        moved[i] = x[i] - step;
        errors(moved, low);
        slope.col(i) = (high - low) / (2 * step);
    }
    return 0;
}

/// Residuals of the record, then of what is known beforehand, each in its own standard deviation.
struct Residuals {
    using Scalar = double;
    using InputType = Eigen::VectorXd;
    using ValueType = Eigen::VectorXd;
    using JacobianType = Eigen::MatrixXd;
    enum { InputsAtCompileTime = Eigen::Dynamic, ValuesAtCompileTime = Eigen::Dynamic };

    const HeatingRecord& record;
    double powerW, ambientC;
    Eigen::VectorXd before, beforeSd; ///< Beforehand, by figure.
    double longestStepS = 0.25;       ///< Of plate and loop together.

    int inputs() const { return static_cast<int>(before.size()); }
    int values() const { return static_cast<int>(record.timeS.size()) + inputs(); }
    bool withLoop() const { return inputs() == withLoopCount; }

    std::vector<double> reading(const Eigen::VectorXd& x) const
    {
        if (!withLoop())
            return predictedReading(record, figuresFrom(x, powerW, ambientC));
        return closedLoopReading(record, figuresFrom(x, powerW, ambientC), loopFrom(x, record), longestStepS);
    }

    int operator()(const Eigen::VectorXd& x, Eigen::VectorXd& out) const
    {
        const std::vector<double> predicted = reading(x);
        const auto n = static_cast<Eigen::Index>(predicted.size());
        for (Eigen::Index i = 0; i < n; ++i)
            out[i] = predicted[static_cast<size_t>(i)] - record.sensorC[static_cast<size_t>(i)];
        out.tail(inputs()) = (x - before).cwiseQuotient(beforeSd);
        return 0;
    }

    int df(const Eigen::VectorXd& x, Eigen::MatrixXd& slope) const { return slopeOf(*this, x, slope); }
};

// From the steepest stretch of the record; the fit does the rest.
double roughRatePerDuty(const HeatingRecord& record)
{
    double best = 1e-3;
    const size_t window = std::max<size_t>(2, record.timeS.size() / 60);
    for (size_t i = 0; i + window < record.timeS.size(); ++i) {
        double duty = 0;
        for (size_t k = i; record.dutyTold && k < i + window; ++k)
            duty += record.duty[k] / static_cast<double>(window);
        const double slope =
            (record.sensorC[i + window] - record.sensorC[i]) / (record.timeS[i + window] - record.timeS[i]);
        if (duty > 0.3 || !record.dutyTold)
            best = std::max(best, record.dutyTold ? slope / duty : slope);
    }
    return best;
}

std::string sentence(const char* format, double found, double expected)
{
    char text[320];
    std::snprintf(text, sizeof text, format, found, expected);
    return text;
}

/// Told duty against what a loop's law makes of set-point and reading.
struct LoopResiduals {
    using Scalar = double;
    using InputType = Eigen::VectorXd;
    using ValueType = Eigen::VectorXd;
    using JacobianType = Eigen::MatrixXd;
    enum { InputsAtCompileTime = Eigen::Dynamic, ValuesAtCompileTime = Eigen::Dynamic };

    const HeatingRecord& record;
    double mostDuty;

    int inputs() const { return 3; }
    int values() const { return static_cast<int>(record.timeS.size()); }
    int operator()(const Eigen::VectorXd& x, Eigen::VectorXd& out) const
    {
        OwnLoopFigures loop = loopFrom(x, 0, record);
        loop.mostDuty = mostDuty;
        OwnLoopModel model(loop);
        const std::vector<double> duty = dutyOfLoop(record, model);
        for (size_t i = 0; i < duty.size(); ++i)
            out[static_cast<Eigen::Index>(i)] = duty[i] - record.duty[i];
        return 0;
    }
    int df(const Eigen::VectorXd& x, Eigen::MatrixXd& slope) const { return slopeOf(*this, x, slope); }
};

OwnLoopFigures withoutIdleDerivative(OwnLoopFigures loop)
{
    constexpr double leastS = 0.2; // less is lost in a reading's steps
    if (loop.derivativeS < leastS)
        loop.derivativeS = 0;
    return loop;
}

/// Errors of neighbours are alike, which leaves fewer of them that count.
template <class Errors> double varianceOf(const Errors& error, size_t n)
{
    double sum = 0, sameSign = 0;
    for (size_t i = 0; i < n; ++i) {
        sum += error(i) * error(i);
        if (i > 0)
            sameSign += error(i) * error(i - 1);
    }
    const double likeness = std::clamp(sum > 0 ? sameSign / sum : 0, 0.0, 0.99);
    return sum / static_cast<double>(n) * (1 + likeness) / (1 - likeness);
}

double fullHeatS(const HeatingRecord& record, const OwnLoopFigures& figures);

/// Levenberg-Marquardt from there on; returns the norm it ends at.
template <class Errors> double minimized(const Errors& errors, Eigen::VectorXd& x, int mostEvaluations)
{
    Errors functor = errors;
    Eigen::LevenbergMarquardt<Errors> search(functor);
    search.parameters.maxfev = mostEvaluations;
    search.minimize(x);
    return search.fvec.norm();
}

void fitToldLoop(const HeatingRecord& record, PlateFit& fit)
{
    constexpr double fullShare = 0.98;
    double mostDuty = *std::max_element(record.duty.begin(), record.duty.end());
    LoopResiduals residuals{record, mostDuty > fullShare ? 1 : mostDuty};
    Eigen::VectorXd best;
    double bestNorm = INFINITY;
    for (double gainPerK : {0.01, 0.05, 0.3})
        for (double integralS : {60.0, 300.0}) {
            Eigen::VectorXd x(3);
            x << std::log(gainPerK), std::log(integralS), std::log(0.1);
            const double norm = minimized(residuals, x, 200);
            if (norm < bestNorm && x.allFinite()) {
                bestNorm = norm;
                best = x;
            }
        }
    if (best.size() == 0)
        return;
    Eigen::VectorXd error(residuals.values());
    residuals(best, error);
    Eigen::MatrixXd slope(residuals.values(), 3);
    residuals.df(best, slope);
    const double variance =
        varianceOf([&](size_t i) { return error[static_cast<Eigen::Index>(i)]; }, record.timeS.size());
    Eigen::MatrixXd information = slope.transpose() * slope / std::max(variance, 1e-12);
    information.diagonal().array() += 0.1; // of what the record tells nothing: a factor of twenty
    const Eigen::MatrixXd covariance = information.inverse();
    fit.ownLoop = withoutIdleDerivative(loopFrom(best, 0, record));
    fit.ownLoop->mostDuty = residuals.mostDuty;
    if (fullHeatS(record, *fit.ownLoop) < leastFullHeatS)
        fit.ownLoop->mostDuty = 1; // it never wanted more
    fit.gainError = std::sqrt(covariance(0, 0));
    fit.integralError = std::sqrt(covariance(1, 1));
}

// A loop that just reaches its bound may be one that ran free all the time, on a stronger plate.
double fullHeatS(const HeatingRecord& record, const OwnLoopFigures& figures)
{
    constexpr double wellMore = 1.2;
    double sumS = 0;
    OwnLoopModel loop(figures);
    dutyOfLoop(record, loop,
               [&](double wanted, double dtS) { sumS += wanted > wellMore * figures.mostDuty ? dtS : 0; });
    return sumS;
}

/// What the search has found, with its errors.
PlateFit describe(const Residuals& residuals, const Eigen::VectorXd& best)
{
    const HeatingRecord& record = residuals.record;
    const size_t n = record.timeS.size();
    const int count = residuals.inputs();
    const bool withLoop = residuals.withLoop();
    const double powerW = residuals.powerW, ambientC = residuals.ambientC;
    PlateFit fit;

    fit.figures = figuresFrom(best, powerW, ambientC);
    const std::vector<double> reading = residuals.reading(best);
    const auto error = [&](size_t i) { return reading[i] - record.sensorC[i]; };
    double sum = 0;
    for (size_t i = 0; i < n; ++i)
        sum += error(i) * error(i);
    fit.rmsK = std::sqrt(sum / static_cast<double>(n));

    Eigen::MatrixXd slope(residuals.values(), count);
    residuals.df(best, slope);
    const auto rows = static_cast<Eigen::Index>(n);
    Eigen::MatrixXd information =
        slope.topRows(rows).transpose() * slope.topRows(rows) / std::max(varianceOf(error, n), 1e-12);
    information.diagonal() += residuals.beforeSd.cwiseAbs2().cwiseInverse();
    const Eigen::MatrixXd covariance = information.inverse();
    const auto errorOf = [&](const Eigen::VectorXd& of) { return std::sqrt(of.dot(covariance * of)); };
    Eigen::VectorXd one = Eigen::VectorXd::Zero(count);
    one[RatePerDuty] = 1;
    fit.capacityError = errorOf(one);
    // Loss at 150 C over capacity: linear and radiated share can stand in for each other.
    const PlateFigures& plate = fit.figures;
    const double linearW = plate.lossWPerK * (150 - ambientC), wholeW = plate.lossW(150);
    Eigen::VectorXd loss = Eigen::VectorXd::Zero(count);
    loss[RatePerDuty] = -1;
    loss[LossRate] = linearW / wholeW;
    loss[RadiationRate] = 1 - linearW / wholeW;
    fit.lossError = errorOf(loss);
    const double lagsS = plate.elementLagS + plate.sensorLagS + plate.deadTimeS;
    Eigen::VectorXd lags = Eigen::VectorXd::Zero(count);
    lags[LongLag] = std::exp(best[LongLag]) / lagsS;
    lags[ShortLag] = std::exp(best[ShortLag]) / lagsS;
    lags[DeadTime] = plate.deadTimeS / lagsS;
    fit.lagError = errorOf(lags);
    if (withLoop) {
        fit.ownLoop = withoutIdleDerivative(loopFrom(best, record));
        fit.fullHeatS = fullHeatS(record, *fit.ownLoop);
        Eigen::VectorXd gain = Eigen::VectorXd::Zero(count);
        gain[GainRate] = 1;
        gain[RatePerDuty] = -1;
        fit.gainError = errorOf(gain);
        fit.integralError = std::sqrt(covariance(LoopIntegral, LoopIntegral));
    } else if (!record.setpointC.empty()) {
        fitToldLoop(record, fit);
    }
    return fit;
}

void searchLoop(const Residuals& joint, bool roughly,
                const std::function<void(double, const Eigen::VectorXd&)>& take)
{
    // The steepest climb was at full heat, or it was not: a search does not get from one to the other.
    for (double fullRate : {1.0, 2.0})
        for (double gainPerK : {0.02, 0.07, 0.25}) {
            Eigen::VectorXd x = joint.before;
            x[RatePerDuty] += std::log(fullRate);
            x[GainRate] = x[RatePerDuty] + std::log(gainPerK);
            take(minimized(joint, x, roughly ? 25 : 150), x);
        }
}

/// From there once more in several directions: a search stands still at kinks that the next one does not
/// meet.
void searchAgain(const Residuals& joint, const Eigen::VectorXd& from,
                 const std::function<void(double, const Eigen::VectorXd&)>& take)
{
    struct Push {
        int figure;
        double by;
    };
    for (const Push& push : {Push{GainRate, 0.15}, Push{GainRate, -0.15}, Push{LoopIntegral, 0.3},
                             Push{LoopIntegral, -0.3}, Push{LoopDerivative, -2}}) {
        Eigen::VectorXd x = from;
        x[push.figure] += push.by;
        take(minimized(joint, x, 100), x);
    }
}

/// The same heating told once in a second: for a search that has far to go.
HeatingRecord thinned(const HeatingRecord& record)
{
    constexpr double everyS = 1;
    HeatingRecord thin{.ownRampCPerS = record.ownRampCPerS, .dutyTold = record.dutyTold};
    double duty = 0, fromS = record.timeS.front();
    size_t kept = 0;
    const auto keep = [&](size_t i) {
        thin.timeS.push_back(record.timeS[i]);
        thin.sensorC.push_back(record.sensorC[i]);
        if (!record.setpointC.empty())
            thin.setpointC.push_back(record.setpointC[i]);
        kept = i;
    };
    keep(0);
    for (size_t i = 0; i + 1 < record.timeS.size(); ++i) {
        duty += record.duty[i] * (record.timeS[i + 1] - record.timeS[i]);
        const bool moved = !record.setpointC.empty() && record.setpointC[i + 1] != record.setpointC[kept];
        if (record.timeS[i + 1] - fromS < everyS && !moved && i + 2 < record.timeS.size())
            continue;
        thin.duty.push_back(duty / (record.timeS[i + 1] - fromS));
        keep(i + 1);
        fromS = record.timeS[i + 1];
        duty = 0;
    }
    thin.duty.push_back(record.duty.back());
    return thin;
}

std::optional<PlateFit> fitFigures(const HeatingRecord& whole, double powerW, double ambientC, bool roughly)
{
    const HeatingRecord thin = thinned(whole);
    const HeatingRecord& record = roughly ? thin : whole;
    const bool withLoop = !record.setpointC.empty() && !record.dutyTold;
    const int count = withLoop ? static_cast<int>(withLoopCount) : static_cast<int>(figureCount);
    Residuals residuals{thin, powerW, ambientC, Eigen::VectorXd(count), Eigen::VectorXd(count), 0.5};
    // Beforehand: a plate keeps its heat some ten minutes; half of its loss at 150 C is radiation, give or
    // take a factor of three; lags and dead time are seconds. A loop has any gain, and an integral of a
    // minute.
    residuals.before.head(figureCount) << std::log(roughRatePerDuty(record)), std::log(1.0 / 600), 0,
        std::log(4.0), std::log(2.0), std::log(1.0);
    residuals.before[RadiationRate] = std::log(1.0 / 600 / 9); // 9 W/m2K: black radiation per kelvin there
    residuals.beforeSd.head(figureCount) << 3, 2, 1.1, 1, 1, 1;
    if (withLoop) {
        residuals.before.tail(3) << std::log(0.05), std::log(60.0), std::log(0.05);
        residuals.beforeSd.tail(3) << 3, 2, 1.5;
    }

    Eigen::VectorXd best;
    double bestNorm = INFINITY;
    std::vector<std::pair<double, Eigen::VectorXd>> found;
    const auto take = [&](double norm, const Eigen::VectorXd& x) {
        if (!x.allFinite() || !std::isfinite(norm))
            return;
        found.emplace_back(norm, x);
        if (norm < bestNorm) {
            bestNorm = norm;
            best = x;
        }
    };
    if (withLoop) {
        searchLoop(residuals, roughly, take);
        for (double before = INFINITY; !roughly && best.size() > 0 && bestNorm < 0.99 * before;) {
            before = bestNorm;
            const Eigen::VectorXd from = best;
            searchAgain(residuals, from, take);
        }
    } else
        for (double firstLagS : {3.0, 10.0}) {
            Eigen::VectorXd x = residuals.before;
            x[LongLag] = std::log(firstLagS);
            x[ShortLag] = std::log(firstLagS / 2);
            take(minimized(residuals, x, 400), x);
        }
    if (best.size() == 0)
        return {};
    if (!roughly) {
        Residuals fine{record, powerW, ambientC, residuals.before, residuals.beforeSd};
        Eigen::VectorXd x = best;
        minimized(fine, x, 100);
        if (x.allFinite())
            best = x;
    }
    PlateFit fit = describe({record, powerW, ambientC, residuals.before, residuals.beforeSd}, best);
    // What fits about as well may be as true: a loop that ran free is also half a loop at twice the plate.
    constexpr double asGood = 1.1;
    for (const auto& [norm, x] : found)
        if (withLoop && norm < asGood * bestNorm) {
            const double rateOff = x[RatePerDuty] - best[RatePerDuty];
            fit.capacityError = std::max(fit.capacityError, std::abs(rateOff));
            fit.gainError = std::max(fit.gainError, std::abs(x[GainRate] - best[GainRate] - rateOff));
            fit.integralError = std::max(fit.integralError, std::abs(x[LoopIntegral] - best[LoopIntegral]));
        }
    return fit;
}

} // namespace

std::optional<PlateFit> fitSoFar(const HeatingRecord& record, double powerW, double ambientC)
{
    constexpr size_t leastReadings = 20;
    if (!(powerW > 0) || record.timeS.size() < leastReadings)
        return {};
    return fitFigures(record, powerW, ambientC, true);
}

PlateFit fitPlate(const HeatingRecord& record, double powerW, double ambientC)
{
    PlateFit fit;
    const size_t n = record.timeS.size();
    if (!(powerW > 0))
        fit.refusals.push_back(
            "the heater's power is not known: it stands on the plate, or is voltage squared over "
            "resistance");
    if (n < 20 || record.timeS.back() - record.timeS.front() < leastRecordS) {
        fit.refusals.push_back("the heating was too short to tell anything");
        return fit;
    }
    const double riseK =
        *std::max_element(record.sensorC.begin(), record.sensorC.end()) - record.sensorC.front();
    if (!(riseK >= leastRiseK))
        fit.refusals.push_back(
            sentence("the plate rose by %.0f K only, expected %.0f K or more: is its heater on, its "
                     "sensor in place?",
                     riseK, leastRiseK));
    if (!fit.refusals.empty())
        return fit;

    const std::optional<PlateFit> found = fitFigures(record, powerW, ambientC, false);
    if (!found) {
        fit.refusals.push_back("no plate fits this heating: look at the recorded curve for jumps");
        return fit;
    }
    fit = *found;
    const double rmsLimitK = std::max(mostRmsK, mostRmsShare * riseK);
    if (!(fit.rmsK <= rmsLimitK))
        fit.refusals.push_back(
            sentence("the model misses the reading by %.2f K (RMS), expected at most %.2f K: was there a "
                     "draught, a load on the plate, or a plate controller that limits its heat?",
                     fit.rmsK, rmsLimitK));
    const bool loopAlone = fit.ownLoop && !record.dutyTold;
    if (loopAlone && !(fit.fullHeatS >= leastFullHeatS))
        fit.refusals.push_back(sentence(
            "the plate's own loop gave full heat for %.0f s, expected %.0f s or more: without it nobody "
            "can tell a strong plate with a weak loop from the opposite; switch off its own ramp or soft "
            "start, or let --top be higher",
            fit.fullHeatS, leastFullHeatS));
    else if (!(fit.capacityError <= mostErrorShare))
        fit.refusals.push_back(
            sentence("heat capacity is uncertain by %.0f %%, expected at most %.0f %%: heat further",
                     100 * fit.capacityError, 100 * mostErrorShare));
    if (!(fit.lossError <= mostErrorShare))
        fit.refusals.push_back(
            sentence("losses are uncertain by %.0f %%, expected at most %.0f %%: let the plate coast longer",
                     100 * fit.lossError, 100 * mostErrorShare));
    const double lagsS = fit.figures.elementLagS + fit.figures.sensorLagS + fit.figures.deadTimeS;
    if (!(lagsS < 60))
        fit.refusals.push_back(
            sentence("lags and dead time add up to %.0f s, expected less than %.0f s: is the sensor in "
                     "the plate?",
                     lagsS, 60));
    if (!record.setpointC.empty() &&
        !(fit.ownLoop && fit.gainError <= mostLoopErrorShare && fit.integralError <= mostLoopErrorShare))
        fit.refusals.push_back(sentence("the plate's own loop is uncertain by %.0f %%, expected at most %.0f "
                                        "%%: is it a PI loop, with its "
                                        "ramps off, and was nothing else changed at it meanwhile?",
                                        100 * std::max(fit.gainError, fit.integralError),
                                        100 * mostLoopErrorShare));
    return fit;
}

} // namespace stripwright
