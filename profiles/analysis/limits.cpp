#include "analysis/limits.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <set>
#include <string_view>

namespace stripwright {

namespace {

constexpr double temperatureZeroC = 25; // Margins of temperatures are scaled from here.

std::optional<double> timeToPeakS(Curve curve)
{
    const auto peak = peakOf(curve);
    if (!peak)
        return {};
    const double startC = curve.valueC[0];
    const auto from = firstRiseThrough(curve, startC < temperatureZeroC ? temperatureZeroC : startC + 5);
    if (!from || *from > peak->atS)
        return {};
    return peak->atS - *from;
}

/// Seconds from a moment to the last fall; a curve that ends hot counts to its end.
std::optional<double> liquidFrom(Curve curve, double levelC, double fromS)
{
    if (!(peakOf(curve)->valueC >= levelC))
        return {};
    return lastFallThrough(curve, levelC).value_or(curve.timeS[curve.timeS.size() - 1]) - fromS;
}

std::optional<double> wettingS(const Limit& limit, Curve curve, const SiteWork& work)
{
    const auto melted = remeltS(work.body, valueAt(curve, work.doneS), work.startC, limit.levelC);
    if (!melted)
        return {};
    return liquidFrom(curve, limit.levelC, work.doneS + *melted);
}

std::optional<double> spentBefore(Curve curve, double levelC, const SiteWork& work)
{
    const auto melts = firstRiseThrough(curve, levelC);
    return melts ? work.lastDoneS - *melts : 0;
}

} // namespace

bool Limit::needsHands() const
{
    return metric == Metric::LiquidForHands || metric == Metric::Wetting || metric == Metric::SpentBefore ||
           metric == Metric::Shock;
}

const char* Limit::unit() const
{
    switch (metric) {
    case Metric::SteepestRise:
    case Metric::MeanCooling:
    case Metric::SteepestFall:
        return "K/s";
    case Metric::SoakTime:
    case Metric::TimeAbove:
    case Metric::TimeToPeak:
    case Metric::LiquidForHands:
    case Metric::Wetting:
    case Metric::SpentBefore:
        return "s";
    case Metric::Shock:
        return "K";
    case Metric::Peak:
        break;
    }
    return "°C";
}

static double zeroOf(const Limit& limit)
{
    return limit.metric == Metric::Peak ? temperatureZeroC : 0;
}

double Limit::halfWindow() const
{
    const bool isRate =
        metric == Metric::SteepestRise || metric == Metric::MeanCooling || metric == Metric::SteepestFall;
    const double least = isRate ? 0.1 : 1; // A window without width still needs a scale.
    if (min && max)
        return std::max(least, (*max - *min) / 2);
    const double lone = min ? *min : max.value_or(0);
    return std::max(least, (lone - zeroOf(*this)) / 10);
}

static Curve withoutBeginning(Curve curve, double skipS)
{
    const auto from = std::lower_bound(curve.timeS.begin(), curve.timeS.end(), curve.timeS.front() + skipS);
    const auto skipped = static_cast<size_t>(from - curve.timeS.begin());
    return {curve.timeS.subspan(skipped), curve.valueC.subspan(skipped)};
}

static Curve untilRise(Curve curve, double levelC)
{
    const auto rises = firstRiseThrough(curve, levelC);
    if (!rises)
        return curve;
    const auto end = std::upper_bound(curve.timeS.begin(), curve.timeS.end(), *rises);
    const auto kept = static_cast<size_t>(end - curve.timeS.begin());
    return {curve.timeS.first(kept), curve.valueC.first(kept)};
}

bool applies(const Limit& limit, Curve curve)
{
    const auto peak = peakOf(curve);
    return !limit.onlyIfReachesC || (peak && peak->valueC >= *limit.onlyIfReachesC);
}

Curve partToMeasure(const Limit& limit, Curve curve)
{
    if (!curve.timeS.empty() && !curve.valueC.empty() && limit.skipS > 0)
        curve = withoutBeginning(curve, limit.skipS);
    if (!curve.timeS.empty() && !curve.valueC.empty() && limit.untilReachesC)
        curve = untilRise(curve, *limit.untilReachesC);
    return curve;
}

std::optional<double> measure(const Limit& limit, Curve curve, const SiteWork* work)
{
    curve = partToMeasure(limit, curve);
    if (curve.timeS.empty() || curve.valueC.empty() || (limit.needsHands() && !work))
        return {};
    switch (limit.metric) {
    case Metric::SteepestRise:
        return steepestCPerS(curve, slopeWindowS, +1);
    case Metric::SteepestFall:
        return steepestCPerS(curve, slopeWindowS, -1);
    case Metric::SoakTime:
        return soakTimeS(curve, limit.levelC, limit.upperLevelC);
    case Metric::TimeAbove:
        return timeAboveS(curve, limit.levelC);
    case Metric::MeanCooling:
        return meanCoolingCPerS(curve, limit.levelC);
    case Metric::TimeToPeak:
        return timeToPeakS(curve);
    case Metric::LiquidForHands:
        return work->sureFromS ? liquidFrom(curve, limit.levelC, *work->sureFromS) : std::nullopt;
    case Metric::Wetting:
        return wettingS(limit, curve, *work);
    case Metric::SpentBefore:
        return spentBefore(curve, limit.levelC, *work);
    case Metric::Shock:
        return valueAt(curve, work->doneS) - work->startC;
    case Metric::Peak:
        break;
    }
    return peakOf(curve)->valueC;
}

double marginOf(const Limit& limit, std::optional<double> value)
{
    if (!value || std::isnan(*value)) {
        const double side = limit.min ? *limit.min : limit.max.value_or(0);
        return -std::max(limit.halfWindow(), side - zeroOf(limit));
    }
    double margin = std::numeric_limits<double>::infinity();
    if (limit.min)
        margin = std::min(margin, *value - *limit.min);
    if (limit.max)
        margin = std::min(margin, *limit.max - *value);
    return margin;
}

/// Half of the last figure that is shown of a value: no model and no sensor tells less.
static double shownTo(const Limit& limit)
{
    constexpr double rateCPerS = 0.005, others = 0.05;
    return std::string_view(limit.unit()) == "K/s" ? rateCPerS : others;
}

MarginRow marginRow(const Limit& limit, std::optional<Judged> low, std::optional<Judged> nominal,
                    std::optional<Judged> high)
{
    MarginRow row{.limit = limit, .margin = std::numeric_limits<double>::infinity()};
    const auto judge = [&](const std::optional<Judged>& judged) -> std::optional<double> {
        if (!judged || !applies(limit, judged->curve))
            return {};
        const auto value = measure(limit, judged->curve, judged->work ? &*judged->work : nullptr);
        row.margin = std::min(row.margin, marginOf(limit, value));
        return value;
    };
    row.low = judge(low);
    row.nominal = judge(nominal);
    row.high = judge(high);
    if (row.margin < 0 && row.margin > -shownTo(limit))
        row.margin = 0;
    row.normalisedMargin = row.margin / limit.halfWindow();
    return row;
}

bool aboutNewLed(const Limit& limit)
{
    return limit.station.kind == StationKind::NewLed;
}

int lensSiteOf(const Limit& limit)
{
    const auto [kind, site] = limit.station;
    return limit.protects && (kind == StationKind::Glue || kind == StationKind::Lens) ? site : 0;
}

std::vector<int> lostLenses(const std::vector<MarginRow>& rows)
{
    std::set<int> sites;
    for (const MarginRow& row : rows)
        if (const int site = lensSiteOf(row.limit); site > 0 && !row.limit.habit && row.margin < 0)
            sites.insert(site);
    return {sites.begin(), sites.end()};
}

void sortWorstFirst(std::vector<MarginRow>& rows)
{
    const auto isBrokenLimit = [](const MarginRow& row) { return row.margin < 0 && !row.limit.habit; };
    std::stable_sort(rows.begin(), rows.end(), [&](const MarginRow& a, const MarginRow& b) {
        return isBrokenLimit(a) != isBrokenLimit(b) ? isBrokenLimit(a)
                                                    : a.normalisedMargin < b.normalisedMargin;
    });
}

} // namespace stripwright
