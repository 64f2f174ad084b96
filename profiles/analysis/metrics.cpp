#include "analysis/metrics.h"

#include <algorithm>
#include <cmath>

namespace stripwright {

namespace {

// Ties closer than this are one plateau: predicted plateaus wiggle in their last digits.
constexpr double plateauK = 1e-6;

double crossingS(Curve curve, size_t i, double levelC)
{
    const double rise = curve.valueC[i + 1] - curve.valueC[i];
    return curve.timeS[i] + (curve.timeS[i + 1] - curve.timeS[i]) * (levelC - curve.valueC[i]) / rise;
}

size_t segments(Curve curve)
{
    const size_t samples = std::min(curve.timeS.size(), curve.valueC.size());
    return samples == 0 ? 0 : samples - 1;
}

// Value at a time that only moves forward; `sample` remembers where it was found last.
double valueAt(Curve curve, double seconds, size_t& sample)
{
    const size_t last = segments(curve);
    while (sample < last && curve.timeS[sample + 1] <= seconds)
        ++sample;
    if (sample == last || curve.timeS[sample] >= seconds)
        return curve.valueC[sample];
    const double share = (seconds - curve.timeS[sample]) / (curve.timeS[sample + 1] - curve.timeS[sample]);
    return curve.valueC[sample] + share * (curve.valueC[sample + 1] - curve.valueC[sample]);
}

} // namespace

double valueAt(Curve curve, double atS)
{
    const auto after = std::upper_bound(curve.timeS.begin(), curve.timeS.end(), atS);
    if (after == curve.timeS.begin())
        return curve.valueC.front();
    if (after == curve.timeS.end())
        return curve.valueC[curve.timeS.size() - 1];
    const auto i = static_cast<size_t>(after - curve.timeS.begin());
    return std::lerp(curve.valueC[i - 1], curve.valueC[i],
                     (atS - curve.timeS[i - 1]) / (curve.timeS[i] - curve.timeS[i - 1]));
}

double timeAboveS(Curve curve, double levelC)
{
    double total = 0;
    for (size_t i = 0; i < segments(curve); ++i) {
        const double dt = curve.timeS[i + 1] - curve.timeS[i];
        const double above = std::max(curve.valueC[i], curve.valueC[i + 1]) - levelC;
        const double below = levelC - std::min(curve.valueC[i], curve.valueC[i + 1]);
        if (below <= 0)
            total += dt;
        else if (above > 0)
            total += dt * above / (above + below);
    }
    return total;
}

std::optional<Peak> peakOf(Curve curve)
{
    if (curve.timeS.empty() || curve.valueC.empty())
        return {};
    const auto highest = std::max_element(curve.valueC.begin(), curve.valueC.end());
    return Peak{curve.timeS[static_cast<size_t>(highest - curve.valueC.begin())], *highest};
}

std::optional<double> firstRiseThrough(Curve curve, double levelC, double fromS)
{
    for (size_t i = 0; i < segments(curve); ++i)
        if (curve.valueC[i] < levelC && curve.valueC[i + 1] >= levelC)
            if (const double at = crossingS(curve, i, levelC); at >= fromS)
                return at;
    return {};
}

std::optional<double> lastFallThrough(Curve curve, double levelC)
{
    for (size_t i = segments(curve); i-- > 0;)
        if (curve.valueC[i] >= levelC && curve.valueC[i + 1] < levelC)
            return crossingS(curve, i, levelC);
    return {};
}

// The mean slope over [t, t + w] is piecewise linear in t, with corners where either end meets a sample: its
// extremes are at those.
double steepestCPerS(Curve curve, double windowS, int sign)
{
    if (segments(curve) == 0)
        return 0;
    const size_t samples = segments(curve) + 1;
    const double startS = curve.timeS[0], endS = curve.timeS[samples - 1];
    if (endS <= startS)
        return 0;
    if (endS - startS <= windowS)
        return std::max(0.0, sign * (curve.valueC[samples - 1] - curve.valueC[0]) / (endS - startS));

    double steepest = 0;
    size_t ahead = 0, behind = 0;
    for (size_t i = 0; i < samples; ++i) {
        if (curve.timeS[i] + windowS <= endS)
            steepest = std::max(steepest,
                                sign * (valueAt(curve, curve.timeS[i] + windowS, ahead) - curve.valueC[i]) /
                                    windowS);
        if (curve.timeS[i] - windowS >= startS)
            steepest = std::max(steepest,
                                sign * (curve.valueC[i] - valueAt(curve, curve.timeS[i] - windowS, behind)) /
                                    windowS);
    }
    return steepest;
}

double steepestCPerS(std::span<const double> valueC, double stepS, double windowS, int sign)
{
    const auto whole = static_cast<size_t>(windowS / stepS);
    const double share = windowS / stepS - static_cast<double>(whole);
    double steepest = 0;
    for (size_t i = 0; i + whole + 1 < valueC.size(); ++i) {
        const double ahead = valueC[i + whole] + share * (valueC[i + whole + 1] - valueC[i + whole]);
        steepest = std::max(steepest, sign * (ahead - valueC[i]));
    }
    return steepest / windowS;
}

std::optional<double> soakTimeS(Curve curve, double lowC, double highC)
{
    const auto from = firstRiseThrough(curve, lowC);
    if (!from)
        return {};
    auto to = firstRiseThrough(curve, highC, *from);
    if (!to && curve.valueC[segments(curve)] < lowC)
        to = lastFallThrough(curve, lowC);
    return to.value_or(curve.timeS[segments(curve)]) - *from;
}

std::optional<double> meanCoolingCPerS(Curve curve, double liquidusC)
{
    const auto peak = peakOf(curve);
    const auto solidAgain = lastFallThrough(curve, liquidusC);
    if (!peak || !solidAgain || peak->valueC <= liquidusC)
        return {};
    double leavesPeakS = peak->atS;
    for (size_t i = 0; i <= segments(curve); ++i)
        if (curve.valueC[i] >= peak->valueC - plateauK)
            leavesPeakS = curve.timeS[i];
    if (*solidAgain <= leavesPeakS)
        return {};
    return (peak->valueC - liquidusC) / (*solidAgain - leavesPeakS);
}

} // namespace stripwright
