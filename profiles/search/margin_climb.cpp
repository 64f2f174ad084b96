#include "search/margin_climb.h"

#include <algorithm>

namespace stripwright {

namespace {

using Curves = AimedMargins::WatchedCurves;

void add(double times, const Curves& change, Curves& curves)
{
    const auto addTo = [&](const std::vector<double>& by, std::vector<double>& to) {
        for (size_t i = 0; i < to.size(); ++i)
            to[i] += times * by[i];
    };
    addTo(change.plateC, curves.plateC);
    addTo(change.bendsS, curves.bendsS);
    addTo(change.stationsC, curves.stationsC);
}

/// Curves beside those of the candidate's values, each with one number moved a little.
class CurvesNearby {
public:
    Curves of(const CandidateCurve& candidate, const AimedMargins& margins, const Curves& here, size_t number,
              double by)
    {
        if (number < changes_.size()) {
            Curves beside = here;
            add(by / changes_[number].by, changes_[number].curves, beside);
            return beside;
        }
        std::vector<double> values = candidate.values;
        values[number] += by;
        Curves beside = margins.superpose(candidate.follow(values, margins.draw(), margins.stepS()));
        if (candidate.byPower) {
            changes_.push_back({beside, by});
            add(-1, here, changes_.back().curves);
        }
        return beside;
    }

private:
    struct Change {
        Curves curves;
        double by;
    };
    std::vector<Change> changes_; // of the numbers moved already
};

} // namespace

double climb(CandidateCurve& candidate, const AimedMargins& margins, const Merit& merit, double reach)
{
    constexpr int mostRounds = 14;
    constexpr double least = 0.01, gainWorthwhile = 1e-4;
    const size_t count = candidate.values.size();
    const auto curvesAt = [&](const std::vector<double>& values) {
        return margins.superpose(candidate.follow(values, margins.draw(), margins.stepS()));
    };
    Curves curves = curvesAt(candidate.values);
    std::vector<AimedMargin> here = margins.of(curves);
    std::vector<double> slopes(here.size() * count);
    const auto worth = [&](const std::vector<double>& values, const std::vector<AimedMargin>& there) {
        return merit.of(there) - candidate.price(values);
    };
    double value = worth(candidate.values, here);
    CurvesNearby nearby;
    bool moved = true;
    for (int round = 0; round < mostRounds && reach > least; ++round) {
        for (size_t i = 0; moved && i < count; ++i) {
            const bool upwards = candidate.values[i] + candidate.probe[i] <= candidate.high[i];
            const double by = upwards ? candidate.probe[i] : -candidate.probe[i];
            const std::vector<AimedMargin> there = margins.of(nearby.of(candidate, margins, curves, i, by));
            for (size_t k = 0; k < here.size(); ++k)
                slopes[k * count + i] = (there[k].margin - here[k].margin) / by;
        }
        std::vector<StepRange> ranges;
        for (size_t i = 0; i < count; ++i) {
            const double at = candidate.values[i], farthest = reach * candidate.stride[i];
            ranges.push_back({.low = std::max(candidate.low[i] - at, -farthest),
                              .high = std::min(candidate.high[i] - at, farthest),
                              .freeAt = candidate.plain[i] - at,
                              .perUnit = candidate.pricePerUnit[i]});
        }
        const std::vector<double> change = climbLinear(merit, here, slopes, ranges);
        std::vector<double> next = candidate.values;
        std::vector<AimedMargin> promised = here;
        for (size_t i = 0; i < count; ++i) {
            next[i] += change[i];
            for (size_t k = 0; k < here.size(); ++k)
                promised[k].margin += slopes[k * count + i] * change[i];
        }
        if (worth(next, promised) <= value + gainWorthwhile)
            break;
        Curves curvesThere = curvesAt(next);
        std::vector<AimedMargin> there = margins.of(curvesThere);
        const double reached = worth(next, there);
        moved = reached > value + gainWorthwhile;
        if (moved) {
            candidate.values = std::move(next);
            curves = std::move(curvesThere);
            here = std::move(there);
            value = reached;
            reach *= 1.5;
        } else {
            reach *= 0.4;
        }
    }
    return value;
}

} // namespace stripwright
