#include "dwell_bound.h"

#include "linear_program.h"

#include "search/plate_reference.h"

#include <algorithm>
#include <cmath>
#include <limits>

namespace stripwright {

using Eigen::Index;
using Eigen::VectorXd;
using Column = ResponseColumn;

namespace {

/// Caps and slopes of every column, added where they bite.
class Relaxation {
public:
    Relaxation(const MarginSearch& search, const PowerGrid& grid) : search_(search), grid_(grid) {}

    /// Whether a margin may be reached with the cold column's peak at sample `peak` and the hot one's time
    /// above liquidus between two moments.
    bool mayReach(double s, const Column& cold, Index peak, const Column& hot, double levelC, double fromS,
                  double toS) const
    {
        LinearProgram program(grid_.pieces, plannedPowerShare);
        for (const Limit& limit : cold.limits)
            if (limit.metric == Metric::Peak && limit.min)
                program.require(cold.response.row(peak), -limit.halfWindow(), *limit.min - cold.offset[peak]);
        const auto belowAt = [&](double seconds) {
            const double place =
                std::clamp(seconds / PowerGrid::gridS, 0.0, static_cast<double>(grid_.samples()) - 1.001);
            const auto n = static_cast<Index>(place);
            const double share = place - static_cast<double>(n);
            program.require(-((1 - share) * hot.response.row(n) + share * hot.response.row(n + 1)), 0,
                            std::lerp(hot.offset[n], hot.offset[n + 1], share) - levelC);
        };
        belowAt(fromS);
        belowAt(toS);
        const Index from = static_cast<Index>(std::floor(fromS / PowerGrid::gridS));
        const Index to = static_cast<Index>(std::ceil(toS / PowerGrid::gridS));
        for (int round = 0; round < 25; ++round) {
            if (!program.solve())
                return !program.isInfeasible();
            // Rows only take away: what is not enough now never will be.
            if (program.s() < s)
                return false;
            const VectorXd power = program.power();
            if (!addBroken(program, power, s, hot, levelC, from, to))
                break;
        }
        return true;
    }

private:
    static void below(LinearProgram& program, const Column& hot, Index n, double levelC)
    {
        program.require(-hot.response.row(n), 0, hot.offset[n] - levelC);
    }

    bool addBroken(LinearProgram& program, const VectorXd& power, double s, const Column& hot, double levelC,
                   Index from, Index to) const
    {
        constexpr double tolerance = 2e-3, toleranceK = 0.05;
        constexpr Index stretch = 6;
        bool added = false;
        for (const Column& column : search_.columns()) {
            const VectorXd valueC = column.response * power + column.offset;
            // Worst sample of every stretch by `room`, if that is under zero.
            const auto overStretches = [&](Index first, Index end, const auto& room, const auto& add) {
                for (Index start = first; start < end; start += stretch) {
                    Index worst = start;
                    for (Index n = start; n < std::min(end, start + stretch); ++n)
                        if (room(n) < room(worst))
                            worst = n;
                    if (room(worst) < 0) {
                        add(worst);
                        added = true;
                    }
                }
            };
            for (const Limit& limit : column.limits) {
                const double half = limit.halfWindow();
                if (limit.metric == Metric::Peak && limit.max)
                    overStretches(
                        0, grid_.samples(),
                        [&](Index n) { return (*limit.max - valueC[n]) / half - s + tolerance; },
                        [&](Index n) {
                            program.require(-column.response.row(n), -half, column.offset[n] - *limit.max);
                        });
                if (limit.metric != Metric::SteepestRise && limit.metric != Metric::SteepestFall)
                    continue;
                const double scale = (limit.metric == Metric::SteepestRise ? 1 : -1) / slopeWindowS;
                overStretches(
                    0, grid_.samples() - slopeSamples,
                    [&](Index n) {
                        return (*limit.max - scale * (valueC[n + slopeSamples] - valueC[n])) / half - s +
                               tolerance;
                    },
                    [&](Index n) {
                        program.require(
                            -scale * (column.response.row(n + slopeSamples) - column.response.row(n)), -half,
                            scale * (column.offset[n + slopeSamples] - column.offset[n]) - *limit.max);
                    });
            }
            if (&column != &hot)
                continue;
            const auto room = [&](Index n) { return levelC - valueC[n] + toleranceK; };
            const auto add = [&](Index n) { below(program, hot, n, levelC); };
            overStretches(0, from + 1, room, add);
            overStretches(to, grid_.samples(), room, add);
        }
        return added;
    }

    const MarginSearch& search_;
    const PowerGrid& grid_;
};

} // namespace

bool outOfReach(const MarginSearch& search, const PowerGrid& grid, bool fan, const VectorXd& best, double s)
{
    const Column *cold = nullptr, *hot = nullptr;
    const Limit* above = nullptr;
    double coldestC = std::numeric_limits<double>::infinity(), longestS = 0;
    Index coldPeak = 0;
    std::vector<double> timeS;
    for (Index n = 0; n < grid.samples(); ++n)
        timeS.push_back(static_cast<double>(n) * PowerGrid::gridS);
    for (const Column& column : search.columns()) {
        const VectorXd valueC = column.response * best + column.offset;
        for (const Limit& limit : column.limits) {
            // Both sides of a window are never farther than half of it.
            if (limit.min && limit.max && s > 1)
                return true;
            if (limit.metric == Metric::Peak && limit.min && valueC.maxCoeff() < coldestC) {
                cold = &column;
                coldestC = valueC.maxCoeff(&coldPeak);
            }
            if (limit.metric == Metric::TimeAbove && limit.max && column.station.kind == StationKind::Joint) {
                const double timeAbove =
                    timeAboveS({timeS, {valueC.data(), static_cast<size_t>(valueC.size())}}, limit.levelC);
                if (timeAbove > longestS) {
                    hot = &column;
                    above = &limit;
                    longestS = timeAbove;
                }
            }
        }
    }
    if (!cold || !hot)
        return false;
    const double allowedS = std::max(0.0, *above->max - s * above->halfWindow());
    const Relaxation relaxation(search, grid);
    // Can a stretch do that begins between two moments? All of them together are looked at first, and halved
    // while that is too generous.
    constexpr double finestS = 0.5;
    const auto canBegin = [&](const auto& self, Index peak, double firstS, double lastS) -> bool {
        if (!relaxation.mayReach(s, *cold, peak, *hot, above->levelC, firstS, lastS + allowedS))
            return false;
        if (lastS - firstS <= finestS)
            return true;
        const double middleS = (firstS + lastS) / 2;
        return self(self, peak, firstS, middleS) || self(self, peak, middleS, lastS);
    };
    const Index off = static_cast<Index>(grid.offS() / PowerGrid::gridS);
    Index firstPeak = coldPeak, lastPeak = coldPeak;
    if (fan) {
        constexpr Index early = 10, late = 14;
        firstPeak = std::min(coldPeak, off) - early;
        lastPeak = std::max(coldPeak, off) + late;
    }
    for (Index peak = firstPeak; peak <= lastPeak; ++peak)
        if (canBegin(canBegin, peak, std::max(0.0, timeS[static_cast<size_t>(peak)] - allowedS),
                     timeS[static_cast<size_t>(peak)]))
            return false;
    return true;
}

} // namespace stripwright
