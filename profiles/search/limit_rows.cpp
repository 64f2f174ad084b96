#include "search/limit_rows.h"

#include <algorithm>
#include <cmath>

namespace stripwright {

static std::optional<double> measureEvenly(const Limit& limit, Curve curve, const SiteWork* work)
{
    if (aboutNewLed(limit)) // begins between samples
        return measure(limit, curve);
    const double stepS = curve.timeS[1] - curve.timeS[0];
    if (limit.metric == Metric::SteepestRise)
        return steepestCPerS(partToMeasure(limit, curve).valueC, stepS, slopeWindowS, +1);
    if (limit.metric == Metric::SteepestFall)
        return steepestCPerS(partToMeasure(limit, curve).valueC, stepS, slopeWindowS, -1);
    return measure(limit, curve, work);
}

// A curve that never reaches a level has the same margin however far it is from it: here it loses more the
// farther it is, so that the search finds the way up.
SideMargins sideMargins(const Limit& limit, Curve curve, const SiteWork* work)
{
    SideMargins sides;
    if (!applies(limit, curve)) {
        constexpr double best = 1;
        if (limit.min)
            sides.overMin = best;
        if (limit.max)
            sides.underMax = best;
        return sides;
    }
    const double halfWindow = limit.halfWindow();
    const auto value = measureEvenly(limit, curve, work);
    const double unmeasured = marginOf(limit, {}) / halfWindow;
    const bool hasLevel = limit.metric == Metric::TimeAbove || limit.metric == Metric::SoakTime ||
                          limit.metric == Metric::MeanCooling || limit.metric == Metric::LiquidForHands ||
                          limit.metric == Metric::Wetting;
    if (limit.min) {
        double margin = value ? (*value - *limit.min) / halfWindow : unmeasured;
        if (hasLevel && margin < 0) {
            constexpr double halfWindowsPerK = 0.05;
            const double missingK = std::max(limit.levelC, limit.upperLevelC) - peakOf(curve)->valueC;
            margin -= std::max(0.0, missingK) * halfWindowsPerK;
        }
        sides.overMin = margin;
    }
    if (limit.max)
        sides.underMax = value ? (*limit.max - *value) / halfWindow : unmeasured;
    return sides;
}

static double evenValueAt(Curve curve, double atS)
{
    const double place = std::max(0.0, atS) / (curve.timeS[1] - curve.timeS[0]);
    const auto before = std::min(static_cast<size_t>(place), curve.timeS.size() - 2);
    return std::lerp(curve.valueC[before], curve.valueC[before + 1],
                     std::min(1.0, place - static_cast<double>(before)));
}

bool isSteepest(const Limit& limit)
{
    return limit.metric == Metric::SteepestRise || limit.metric == Metric::SteepestFall;
}

std::vector<Level> jumpLevels(const Limit& limit)
{
    if (limit.metric == Metric::TimeAbove && limit.max)
        return {{limit.levelC, false}};
    if (limit.metric == Metric::SoakTime)
        return {{limit.levelC, false},
                {limit.levelC, true},
                {limit.upperLevelC, false},
                {limit.upperLevelC, true}};
    return {};
}

double clearance(Curve curve, double atS, Level level)
{
    constexpr double clearanceK = 2, nearS = 6, none = -1;
    const double beforeC = evenValueAt(curve, atS - nearS), hereC = evenValueAt(curve, atS),
                 afterC = evenValueAt(curve, atS + nearS);
    const double leftK = level.above ? hereC - level.levelC : level.levelC - hereC;
    const bool steep = hereC - beforeC > clearanceK && afterC - hereC > clearanceK;
    return leftK <= 0 || steep ? none : leftK / clearanceK - 1;
}

double slopeMargin(const Limit& limit, Curve curve, double fromS)
{
    const double slope =
        (evenValueAt(curve, fromS + slopeWindowS) - evenValueAt(curve, fromS)) / slopeWindowS;
    return (*limit.max - (limit.metric == Metric::SteepestRise ? slope : -slope)) / limit.halfWindow();
}

} // namespace stripwright
