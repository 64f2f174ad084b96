#include "margin_program.h"

#include "search/plate_reference.h"

#include <algorithm>
#include <cmath>

namespace stripwright {

using Eigen::Index;
using Eigen::VectorXd;

namespace {

constexpr double clearanceK = 2; // A plateau nearer to a level than this may cross it or not.
constexpr double trustedK = 30;  // How far superposition is believed from the last whole model.

/// side: +1 keeps `value` above limit.min by s half windows, -1 below limit.max.
void require(LinearProgram& program, const Limit& limit, const Linear& value, int side)
{
    const double bound = side > 0 ? *limit.min : *limit.max;
    program.require(side * value.perPower, -limit.halfWindow(), side * (bound - value.at));
}

/// What must hold at every sample: caps and slopes with their margin, and that no crossing jumps.
struct Everywhere {
    size_t column;
    const Limit* limit;
    int sign = 0; ///< Of a slope; 0: a temperature below atMostC.
    double atMostC = 0, perS = 0;
    Index from = 0, to = 0;
    std::vector<bool> added = {};
};

std::vector<Everywhere> rulesOf(const std::vector<ResponseColumn>& columns,
                                const std::vector<LinearCurve>& curves, Index samples)
{
    std::vector<Everywhere> rules;
    for (size_t c = 0; c < columns.size(); ++c)
        for (const Limit& limit : columns[c].limits) {
            if (limit.metric == Metric::SteepestRise || limit.metric == Metric::SteepestFall)
                rules.push_back({c, &limit, limit.metric == Metric::SteepestRise ? 1 : -1, 0, 0, 0,
                                 samples - slopeSamples});
            if (limit.metric == Metric::Peak && limit.max)
                rules.push_back({c, &limit, 0, *limit.max, limit.halfWindow(), 0, samples});
            // A crossing may move by this many samples; a second one must not come up farther away.
            constexpr Index near = 3;
            if (limit.metric == Metric::TimeAbove) {
                const auto rise = curves[c].rise(limit.levelC);
                const auto fall = curves[c].lastFall(limit.levelC);
                if (rise || !limit.min)
                    rules.push_back({c, &limit, 0, limit.levelC, 0, 0, rise ? *rise + 1 - near : samples});
                if (rise && fall)
                    rules.push_back({c, &limit, 0, limit.levelC, 0, *fall + 1 + near, samples});
            }
            if (limit.metric == Metric::TimeToPeak)
                if (const auto rise = curves[c].rise(curves[c].leavesStartC()))
                    rules.push_back({c, &limit, 0, curves[c].leavesStartC(), 0, 0, *rise + 1 - near});
            if (limit.metric == Metric::SoakTime)
                for (const double level : {limit.levelC, limit.upperLevelC})
                    if (const auto rise = curves[c].rise(level))
                        rules.push_back({c, &limit, 0, level, 0, 0, *rise + 1 - near});
        }
    for (Everywhere& rule : rules)
        rule.added.resize(static_cast<size_t>(samples), false);
    return rules;
}

// Adds the worst sample of every stretch that breaks a rule, or would with this s.
bool addBroken(LinearProgram& program, std::vector<Everywhere>& rules,
               const std::vector<ResponseColumn>& columns, const std::vector<LinearCurve>& curves,
               const VectorXd& at, double s, double tolerance)
{
    std::vector<VectorXd> valueC;
    for (const ResponseColumn& column : columns)
        valueC.push_back(column.response * at + column.offset);
    bool added = false;
    for (Everywhere& rule : rules) {
        const VectorXd& curveC = valueC[rule.column];
        // A crossing that could jump needs clearance; where the curve is within it already it may stay.
        const auto atMostC = [&](Index n) {
            return rule.perS != 0 ? rule.atMostC
                                  : std::max(rule.atMostC - clearanceK, curves[rule.column].valueC()[n]);
        };
        const auto room = [&](Index n) {
            if (rule.sign != 0)
                return (*rule.limit->max -
                        rule.sign * (curveC[n + slopeSamples] - curveC[n]) / slopeWindowS) /
                           rule.limit->halfWindow() -
                       s;
            if (rule.perS != 0)
                return (rule.atMostC - curveC[n]) / rule.perS - s;
            return (atMostC(n) - curveC[n]) / 50; // Rows without s: a tenth of a kelvin is near enough.
        };
        constexpr Index stretch = 6;
        for (Index from = rule.from; from < rule.to; from += stretch) {
            Index worst = from;
            double least = room(from);
            for (Index n = from + 1; n < std::min(rule.to, from + stretch); ++n)
                if (const double one = room(n); one < least) {
                    least = one;
                    worst = n;
                }
            if (least >= -tolerance || rule.added[static_cast<size_t>(worst)])
                continue;
            rule.added[static_cast<size_t>(worst)] = true;
            added = true;
            const LinearCurve& about = curves[rule.column];
            if (rule.sign != 0) {
                require(program, *rule.limit, about.slope(worst, rule.sign), -1);
            } else {
                const Linear value = about.sample(worst);
                program.require(-value.perPower, -rule.perS, value.at - atMostC(worst));
            }
        }
    }
    return added;
}

} // namespace

std::optional<VectorXd> climbByProgram(const std::vector<ResponseColumn>& columns, const PowerGrid& grid,
                                       const Response& plate, const std::vector<double>& timeS,
                                       const VectorXd& power, const VectorXd& judged, double worst,
                                       double reachK)
{
    LinearProgram program(grid.pieces, plannedPowerShare);
    std::vector<LinearCurve> curves;
    for (const ResponseColumn& column : columns)
        curves.emplace_back(column, timeS, power);

    for (size_t c = 0; c < columns.size(); ++c)
        for (const Limit& limit : columns[c].limits) {
            if (limit.metric == Metric::Peak && limit.min)
                require(program, limit, curves[c].sample(curves[c].hottest()), +1);
            const auto value = curves[c].measured(limit);
            if (limit.metric == Metric::TimeAbove && limit.min && !value) {
                const Linear top = curves[c].sample(curves[c].hottest());
                program.require(top.perPower, -LinearCurve::reachK,
                                limit.levelC + LinearCurve::reachK - top.at);
            }
            if (value && limit.min)
                require(program, limit, *value, +1);
            if (value && limit.max)
                require(program, limit, *value, -1);
        }

    // Limits on every sample, and the reach: rows only where they bite.
    std::vector<bool> bounded(static_cast<size_t>(grid.samples()), false);
    const auto bound = [&](Index n) {
        if (bounded[static_cast<size_t>(n)])
            return;
        bounded[static_cast<size_t>(n)] = true;
        const double here = plate.row(n).dot(power);
        const double there = plate.row(n).dot(judged);
        program.between(plate.row(n), std::max(here - reachK, there - trustedK),
                        std::min(here + reachK, there + trustedK));
    };
    const Index off = static_cast<Index>(grid.offS() / PowerGrid::gridS);
    for (Index n = 10; n < grid.samples(); n += n < off ? 20 : 40)
        bound(n);

    std::vector<Everywhere> rules = rulesOf(columns, curves, grid.samples());
    addBroken(program, rules, columns, curves, power, worst + 0.1, 0);
    std::optional<VectorXd> found;
    for (int round = 0; round < 12; ++round) {
        if (!program.solve())
            break;
        found = program.power();
        bool added = addBroken(program, rules, columns, curves, *found, program.s(), 2e-3);
        const VectorXd change = plate * (*found - power), sinceJudged = plate * (*found - judged);
        for (Index n = 2; n < grid.samples(); n += 4)
            if (std::abs(change[n]) > 1.1 * reachK + 0.1 || std::abs(sinceJudged[n]) > trustedK + 1) {
                bound(n);
                added = true;
            }
        if (!added)
            break;
    }
    return found;
}

} // namespace stripwright
