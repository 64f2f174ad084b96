#include "tuning/plate_fit.h"

#include <Eigen/LU>
#include <unsupported/Eigen/NonLinearOptimization>

#include <algorithm>
#include <cmath>
#include <cstdio>

namespace stripwright {

namespace {

constexpr double leastRiseK = 60, leastRecordS = 60;
constexpr double mostErrorShare = 0.1; // of capacity and losses
constexpr double mostRmsK = 0.5, mostRmsShare = 0.006;

double follow(double value, double target, double dtS, double lagS)
{
    return lagS > 0 ? target + (value - target) * std::exp(-dtS / lagS) : target;
}

enum { RatePerDuty, LossRate, RadiationRate, LongLag, ShortLag, DeadTime, figureCount };

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

    int inputs() const { return figureCount; }
    int values() const { return static_cast<int>(record.timeS.size()) + figureCount; }

    int operator()(const Eigen::VectorXd& x, Eigen::VectorXd& out) const
    {
        const std::vector<double> reading = predictedReading(record, figuresFrom(x, powerW, ambientC));
        const auto n = static_cast<Eigen::Index>(reading.size());
        for (Eigen::Index i = 0; i < n; ++i)
            out[i] = reading[static_cast<size_t>(i)] - record.sensorC[static_cast<size_t>(i)];
        out.tail(figureCount) = (x - before).cwiseQuotient(beforeSd);
        return 0;
    }

    int df(const Eigen::VectorXd& x, Eigen::MatrixXd& slope) const
    {
        constexpr double step = 1e-4;
        Eigen::VectorXd high(values()), low(values());
        for (int i = 0; i < figureCount; ++i) {
            Eigen::VectorXd moved = x;
            moved[i] = x[i] + step;
            (*this)(moved, high);
            moved[i] = x[i] - step;
            (*this)(moved, low);
            slope.col(i) = (high - low) / (2 * step);
        }
        return 0;
    }
};

// From the steepest stretch of the record; the fit does the rest.
double roughRatePerDuty(const HeatingRecord& record)
{
    double best = 1e-3;
    const size_t window = std::max<size_t>(2, record.timeS.size() / 60);
    for (size_t i = 0; i + window < record.timeS.size(); ++i) {
        double duty = 0;
        for (size_t k = i; k < i + window; ++k)
            duty += record.duty[k] / static_cast<double>(window);
        const double slope =
            (record.sensorC[i + window] - record.sensorC[i]) / (record.timeS[i + window] - record.timeS[i]);
        if (duty > 0.3)
            best = std::max(best, slope / duty);
    }
    return best;
}

std::string sentence(const char* format, double found, double expected)
{
    char text[240];
    std::snprintf(text, sizeof text, format, found, expected);
    return text;
}

} // namespace

std::vector<double> predictedReading(const HeatingRecord& record, const PlateFigures& plate)
{
    const auto& t = record.timeS;
    double element = 0, bodyC = record.sensorC.front(), sensorC = bodyC;
    std::vector<double> prompt{sensorC}; // before the dead time
    for (size_t i = 0; i + 1 < t.size(); ++i) {
        const int parts = std::max(1, static_cast<int>(std::ceil((t[i + 1] - t[i]) / 0.1)));
        const double h = (t[i + 1] - t[i]) / parts;
        for (int part = 0; part < parts; ++part) {
            const double elementBefore = element, bodyBefore = bodyC;
            element = follow(element, record.duty[i], h, plate.elementLagS);
            const double gainW = plate.powerW * (element + elementBefore) / 2;
            const double guessC = bodyC + h * (gainW - plate.lossW(bodyC)) / plate.heatCapacityJPerK;
            bodyC += h * (gainW - (plate.lossW(bodyC) + plate.lossW(guessC)) / 2) / plate.heatCapacityJPerK;
            sensorC = follow(sensorC, (bodyC + bodyBefore) / 2, h, plate.sensorLagS);
        }
        prompt.push_back(sensorC);
    }
    std::vector<double> reading;
    size_t at = 0;
    for (double now : t) {
        const double seenS = now - plate.deadTimeS;
        while (at + 1 < t.size() && t[at + 1] <= seenS)
            ++at;
        if (seenS <= t.front())
            reading.push_back(prompt.front());
        else if (at + 1 == t.size())
            reading.push_back(prompt.back());
        else
            reading.push_back(prompt[at] +
                              (prompt[at + 1] - prompt[at]) * (seenS - t[at]) / (t[at + 1] - t[at]));
    }
    return reading;
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

    Residuals residuals{record, powerW, ambientC, Eigen::VectorXd(figureCount), Eigen::VectorXd(figureCount)};
    // Beforehand: a plate keeps its heat some ten minutes; half of its loss at 150 C is radiation, give or
    // take a factor of three; lags and dead time are seconds.
    residuals.before << std::log(roughRatePerDuty(record)), std::log(1.0 / 600),
        std::log(1.0 / 600 * 0.5 / 8), std::log(4.0), std::log(2.0), std::log(1.0);
    residuals.before[RadiationRate] = std::log(1.0 / 600 / 9); // 9 W/m2K: black radiation per kelvin there
    residuals.beforeSd << 3, 2, 1.1, 1, 1, 1;

    Eigen::VectorXd best;
    double bestNorm = INFINITY;
    for (double firstLagS : {3.0, 10.0}) {
        Eigen::VectorXd x = residuals.before;
        x[LongLag] = std::log(firstLagS);
        x[ShortLag] = std::log(firstLagS / 2);
        Eigen::LevenbergMarquardt<Residuals> search(residuals);
        search.parameters.maxfev = 400;
        search.minimize(x);
        if (search.fvec.norm() < bestNorm && x.allFinite()) {
            bestNorm = search.fvec.norm();
            best = x;
        }
    }
    if (best.size() == 0) {
        fit.refusals.push_back("no plate fits this heating: look at the recorded curve for jumps");
        return fit;
    }
    fit.figures = figuresFrom(best, powerW, ambientC);
    const std::vector<double> reading = predictedReading(record, fit.figures);
    double sum = 0, sameSign = 0;
    for (size_t i = 0; i < n; ++i) {
        const double error = reading[i] - record.sensorC[i];
        sum += error * error;
        if (i > 0)
            sameSign += error * (reading[i - 1] - record.sensorC[i - 1]);
    }
    fit.rmsK = std::sqrt(sum / static_cast<double>(n));

    // Errors of neighbours are alike, which leaves fewer of them that count.
    const double likeness = std::clamp(sum > 0 ? sameSign / sum : 0, 0.0, 0.99);
    const double inflate = (1 + likeness) / (1 - likeness);
    Eigen::MatrixXd slope(residuals.values(), figureCount);
    residuals.df(best, slope);
    const double variance = sum / static_cast<double>(n) * inflate;
    Eigen::MatrixXd information = slope.topRows(static_cast<Eigen::Index>(n)).transpose() *
                                  slope.topRows(static_cast<Eigen::Index>(n)) / std::max(variance, 1e-12);
    information.diagonal() += residuals.beforeSd.cwiseAbs2().cwiseInverse();
    const Eigen::MatrixXd covariance = information.inverse();
    const auto error = [&](const Eigen::VectorXd& of) { return std::sqrt(of.dot(covariance * of)); };
    Eigen::VectorXd one = Eigen::VectorXd::Zero(figureCount);
    one[RatePerDuty] = 1;
    fit.capacityError = error(one);
    // Loss at 150 C over capacity: linear and radiated share can stand in for each other.
    const PlateFigures& plate = fit.figures;
    const double linearW = plate.lossWPerK * (150 - ambientC), wholeW = plate.lossW(150);
    Eigen::VectorXd loss = Eigen::VectorXd::Zero(figureCount);
    loss[RatePerDuty] = -1;
    loss[LossRate] = linearW / wholeW;
    loss[RadiationRate] = 1 - linearW / wholeW;
    fit.lossError = error(loss);
    const double lagsS = plate.elementLagS + plate.sensorLagS + plate.deadTimeS;
    Eigen::VectorXd lags = Eigen::VectorXd::Zero(figureCount);
    lags[LongLag] = std::exp(best[LongLag]) / lagsS;
    lags[ShortLag] = std::exp(best[ShortLag]) / lagsS;
    lags[DeadTime] = plate.deadTimeS / lagsS;
    fit.lagError = error(lags);

    const double rmsLimitK = std::max(mostRmsK, mostRmsShare * riseK);
    if (!(fit.rmsK <= rmsLimitK))
        fit.refusals.push_back(
            sentence("the model misses the reading by %.2f K (RMS), expected at most %.2f K: was there a "
                     "draught, a load on the plate, or a plate controller that limits its heat?",
                     fit.rmsK, rmsLimitK));
    if (!(fit.capacityError <= mostErrorShare))
        fit.refusals.push_back(
            sentence("heat capacity is uncertain by %.0f %%, expected at most %.0f %%: heat further",
                     100 * fit.capacityError, 100 * mostErrorShare));
    if (!(fit.lossError <= mostErrorShare))
        fit.refusals.push_back(
            sentence("losses are uncertain by %.0f %%, expected at most %.0f %%: let the plate coast longer",
                     100 * fit.lossError, 100 * mostErrorShare));
    if (!(lagsS < 60))
        fit.refusals.push_back(
            sentence("lags and dead time add up to %.0f s, expected less than %.0f s: is the sensor in "
                     "the plate?",
                     lagsS, 60));
    return fit;
}

} // namespace stripwright
