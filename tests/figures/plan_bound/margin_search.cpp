#include "margin_search.h"

#include "planner/plate_reference.h"

#include <algorithm>
#include <cmath>
#include <limits>

namespace stripwright {

using Eigen::Index;
using Eigen::RowVectorXd;
using Eigen::VectorXd;

namespace {

constexpr Index slopeSamples = static_cast<Index>(slopeWindowS / PowerGrid::gridS);
constexpr double clearanceK = 2;   // A plateau nearer to a level than this may cross it or not.
constexpr double trustedK = 30;    // How far superposition is believed from the last whole model.
constexpr double startLevelC = 25; // Time to peak counts from here, or from 5 K over a warmer start.

/// A value linear in power: at + perPower · power.
struct Linear {
    double at = 0;
    RowVectorXd perPower;
};

/// One column about one power.
class About {
public:
    About(const MarginSearch::Column& column, const std::vector<double>& timeS, const VectorXd& power)
        : column_(column), timeS_(timeS), valueC_(column.response * power + column.offset)
    {
    }

    Curve curve() const { return {timeS_, {valueC_.data(), static_cast<size_t>(valueC_.size())}}; }
    const VectorXd& valueC() const { return valueC_; }

    Linear sample(Index n) const { return {column_.offset[n], column_.response.row(n)}; }

    /// Mean slope over the window that begins at sample n, times sign.
    Linear slope(Index n, int sign) const
    {
        const double scale = sign / slopeWindowS;
        return {scale * (column_.offset[n + slopeSamples] - column_.offset[n]),
                scale * (column_.response.row(n + slopeSamples) - column_.response.row(n))};
    }

    /// Time of a crossing, moved by what temperature changes there. `n` is the sample before it.
    Linear crossing(Index n, double levelC) const
    {
        const double rise = valueC_[n + 1] - valueC_[n];
        const double share = (levelC - valueC_[n]) / rise;
        constexpr double leastCPerS = 0.03; // A flatter crossing has no time worth the name.
        double slope = rise / PowerGrid::gridS;
        slope = std::copysign(std::max(std::abs(slope), leastCPerS), slope);
        const RowVectorXd here = (1 - share) * column_.response.row(n) + share * column_.response.row(n + 1);
        const double hereOffset = (1 - share) * column_.offset[n] + share * column_.offset[n + 1];
        const double t = timeS_[n] + share * PowerGrid::gridS;
        return {t - (hereOffset - levelC) / slope, -here / slope};
    }

    std::optional<Index> rise(double levelC, Index from = 0) const
    {
        for (Index n = from; n + 1 < valueC_.size(); ++n)
            if (valueC_[n] < levelC && valueC_[n + 1] >= levelC)
                return n;
        return {};
    }

    /// A curve that never gets to a level has no time above it to climb: what it lacks counts instead, in
    /// tens of kelvins.
    double reaches(double levelC) const
    {
        const double overK = valueC_.maxCoeff() - levelC;
        return overK < 0 ? overK / reachK : std::numeric_limits<double>::infinity();
    }
    static constexpr double reachK = 10;

    /// Time to peak counts from here.
    double leavesStartC() const { return valueC_[0] < startLevelC ? startLevelC : valueC_[0] + 5; }

    std::optional<Index> lastFall(double levelC) const
    {
        for (Index n = valueC_.size() - 1; n-- > 0;)
            if (valueC_[n] >= levelC && valueC_[n + 1] < levelC)
                return n;
        return {};
    }

    /// What a limit measures, if it moves smoothly with power.
    std::optional<Linear> measured(const Limit& limit) const
    {
        if (limit.metric == Metric::TimeAbove) {
            Linear total{0, RowVectorXd::Zero(column_.response.cols())};
            bool any = false;
            for (Index n = 0; n + 1 < valueC_.size(); ++n) {
                const bool below = valueC_[n] < limit.levelC, belowNext = valueC_[n + 1] < limit.levelC;
                if (below == belowNext)
                    continue;
                const Linear time = crossing(n, limit.levelC);
                total.at += below ? -time.at : time.at;
                total.perPower += below ? RowVectorXd(-time.perPower) : time.perPower;
                any = true;
            }
            if (valueC_[valueC_.size() - 1] >= limit.levelC)
                total.at += timeS_.back();
            return any ? std::optional(total) : std::nullopt;
        }
        if (limit.metric == Metric::SoakTime) {
            const auto from = rise(limit.levelC);
            const auto to = from ? rise(limit.upperLevelC, *from) : std::nullopt;
            if (!to)
                return {};
            const Linear a = crossing(*from, limit.levelC), b = crossing(*to, limit.upperLevelC);
            return Linear{b.at - a.at, b.perPower - a.perPower};
        }
        if (limit.metric == Metric::TimeToPeak) {
            const auto from = rise(leavesStartC());
            if (!from)
                return {};
            const Linear a = crossing(*from, leavesStartC());
            return Linear{timeS_[hottest()] - a.at, -a.perPower};
        }
        if (limit.metric == Metric::MeanCooling) {
            for (Index n = valueC_.size() - 1; n-- > hottest();)
                if (valueC_[n] >= limit.levelC && valueC_[n + 1] < limit.levelC) {
                    const Linear end = crossing(n, limit.levelC), top = sample(hottest());
                    const double height = valueC_[hottest()] - limit.levelC;
                    const double length = crossingS(n, limit.levelC) - timeS_[hottest()];
                    if (height < 1 || length < 1)
                        return {};
                    // d(height / length) about the present values.
                    return Linear{height / length + (top.at - limit.levelC - height) / length -
                                      height / (length * length) * (end.at - timeS_[hottest()] - length),
                                  top.perPower / length - height / (length * length) * end.perPower};
                }
            return {};
        }
        return {};
    }

    Index hottest() const
    {
        Index at = 0;
        valueC_.maxCoeff(&at);
        return at;
    }

private:
    double crossingS(Index n, double levelC) const
    {
        return timeS_[n] + PowerGrid::gridS * (levelC - valueC_[n]) / (valueC_[n + 1] - valueC_[n]);
    }

    const MarginSearch::Column& column_;
    const std::vector<double>& timeS_;
    VectorXd valueC_;
};

/// side: +1 keeps `value` above limit.min by s half windows, -1 below limit.max.
void require(LinearProgram& program, const Limit& limit, const Linear& value, int side)
{
    const double bound = side > 0 ? *limit.min : *limit.max;
    program.require(side * value.perPower, -limit.halfWindow(), side * (bound - value.at));
}

} // namespace

MarginSearch::MarginSearch(const BenchSheet& sheet, const PowerGrid& grid, const PowerResponse& response,
                           const std::function<bool(const Limit&)>& counts,
                           const std::function<bool(const Limit&)>& near)
    : sheet_(sheet), grid_(grid), response_(response), limits_(limitsOf(sheet))
{
    for (Index n = 0; n < grid.samples(); ++n)
        timeS_.push_back(static_cast<double>(n) * PowerGrid::gridS);
    for (const Limit& limit : limits_) {
        if (limit.habit || !counts(limit))
            continue;
        counted_.push_back(limit);
        const bool isJoint = limit.station.rfind("joint_", 0) == 0;
        if (!isJoint && !near(limit) && limit.station != "plate")
            continue;
        // Where a cap is met first.
        std::vector<size_t> scenarios = {limit.protects ? warmAirScenario : highScenario};
        if (isJoint)
            scenarios = {0, nominalScenario, highScenario};
        if (limit.station == "plate")
            scenarios = {plateColumn};
        for (size_t scenario : scenarios) {
            auto column = std::find_if(columns_.begin(), columns_.end(), [&](const Column& one) {
                return one.scenario == scenario && one.station == limit.station;
            });
            if (column == columns_.end()) {
                columns_.push_back(
                    {scenario,
                     limit.station,
                     scenario == plateColumn ? response.plate() : response.station(scenario, limit.station),
                     VectorXd::Constant(grid.samples(), sheet.air.ambientC),
                     {}});
                column = columns_.end() - 1;
            }
            column->limits.push_back(limit);
        }
    }
}

VectorXd MarginSearch::powerFor(const Response& response, const VectorXd& offset,
                                const VectorXd& wantedC) const
{
    LinearProgram fit(grid_.pieces, plannedPowerShare);
    const Index off = static_cast<Index>(grid_.offS() / PowerGrid::gridS);
    const auto add = [&](Index n) {
        fit.require(response.row(n), -1, wantedC[n] - offset[n]);
        fit.require(-response.row(n), -1, offset[n] - wantedC[n]);
    };
    constexpr Index apart = 15;
    for (Index n = apart; n <= off; n += apart)
        add(n);
    VectorXd power = VectorXd::Zero(grid_.pieces);
    for (int round = 0; round < 6 && fit.solve(); ++round) {
        power = fit.power();
        const VectorXd miss = (response * power + offset - wantedC).cwiseAbs();
        bool added = false;
        for (Index n = 3; n <= off; n += 3)
            if (miss[n] > -fit.s() + 0.5) {
                add(n);
                added = true;
            }
        if (!added)
            break;
    }
    return power;
}

VectorXd MarginSearch::powerForPlate(const VectorXd& plateC) const
{
    for (const Column& column : columns_)
        if (column.scenario == plateColumn)
            return powerFor(column.response, column.offset, plateC);
    return VectorXd::Zero(grid_.pieces);
}

VectorXd MarginSearch::powerForJoint(int site, const VectorXd& jointC) const
{
    for (const Column& column : columns_)
        if (column.scenario == nominalScenario && column.station == "joint_" + std::to_string(site))
            return powerFor(column.response, column.offset, jointC);
    return VectorXd::Zero(grid_.pieces);
}

Judged MarginSearch::judge(const VectorXd& power) const
{
    Judged judged;
    judged.power = power;
    judged.whole = runWholeModel(sheet_, grid_, power);
    judged.worst = std::numeric_limits<double>::infinity();
    const WholeModel& whole = judged.whole;
    for (const Limit& limit : limits_) {
        const auto curve = [&](size_t scenario) {
            return Curve{whole.timeS, whole.predictions[scenario].find(limit.station)->valueC};
        };
        judged.rows.push_back(
            limit.station == "plate"
                ? marginRow(limit, {}, Curve{whole.timeS, whole.plateC}, {})
                : marginRow(limit, curve(0), curve(1), curve(2),
                            limit.protects ? std::optional(curve(warmAirScenario)) : std::nullopt));
    }
    for (const MarginRow& row : judged.rows)
        for (const Limit& limit : counted_)
            if (limit.id == row.limit.id)
                judged.worst = std::min(judged.worst, row.normalisedMargin);
    sortWorstFirst(judged.rows);
    return judged;
}

void MarginSearch::correctBy(const Judged& judged)
{
    Index first = 0;
    while (first + 1 < judged.power.size() && judged.power[first] <= 1e-9)
        ++first;
    const double startS = static_cast<double>(first) * PowerGrid::pieceS;
    for (Column& column : columns_) {
        const std::vector<double>& wholeC =
            column.scenario == plateColumn
                ? judged.whole.plateC
                : judged.whole.predictions[column.scenario].find(column.station)->valueC;
        const VectorXd rise = column.response * judged.power;
        for (Index n = 0; n < grid_.samples(); ++n) {
            const long second = std::lround(timeS_[static_cast<size_t>(n)] - startS);
            if (second < static_cast<long>(wholeC.size()))
                column.offset[n] =
                    second < 0 ? sheet_.air.ambientC : wholeC[static_cast<size_t>(second)] - rise[n];
            else
                column.offset[n] = column.offset[n - 1]; // past what is judged
        }
    }
}

double MarginSearch::linearWorst(const VectorXd& power) const
{
    double worst = std::numeric_limits<double>::infinity();
    for (const Column& column : columns_) {
        const About about(column, timeS_, power);
        for (const Limit& limit : column.limits) {
            const double margin = marginOf(limit, measure(limit, about.curve())) / limit.halfWindow();
            worst = std::min(worst, margin);
            if (limit.metric == Metric::TimeAbove && limit.min)
                worst = std::min(worst, about.reaches(limit.levelC) - 1);
        }
    }
    return worst;
}

std::optional<VectorXd> MarginSearch::program(const VectorXd& power, const VectorXd& judged,
                                              double reachK) const
{
    LinearProgram program(grid_.pieces, plannedPowerShare);
    std::vector<About> abouts;
    const double base = linearWorst(power);
    for (const Column& column : columns_)
        abouts.emplace_back(column, timeS_, power);

    for (size_t c = 0; c < columns_.size(); ++c)
        for (const Limit& limit : columns_[c].limits) {
            if (limit.metric == Metric::Peak && limit.min)
                require(program, limit, abouts[c].sample(abouts[c].hottest()), +1);
            const auto value = abouts[c].measured(limit);
            if (limit.metric == Metric::TimeAbove && limit.min && !value) {
                const Linear top = abouts[c].sample(abouts[c].hottest());
                program.require(top.perPower, -About::reachK, limit.levelC + About::reachK - top.at);
            }
            if (value && limit.min)
                require(program, limit, *value, +1);
            if (value && limit.max)
                require(program, limit, *value, -1);
        }

    // Limits on every sample, and the reach: rows only where they bite.
    const Response& plate = response_.plate();
    std::vector<bool> bounded(static_cast<size_t>(grid_.samples()), false);
    const auto bound = [&](Index n) {
        if (bounded[static_cast<size_t>(n)])
            return;
        bounded[static_cast<size_t>(n)] = true;
        const double here = plate.row(n).dot(power);
        const double there = plate.row(n).dot(judged);
        program.between(plate.row(n), std::max(here - reachK, there - trustedK),
                        std::min(here + reachK, there + trustedK));
    };
    const Index off = static_cast<Index>(grid_.offS() / PowerGrid::gridS);
    for (Index n = 10; n < grid_.samples(); n += n < off ? 20 : 40)
        bound(n);
    // What must hold at every sample: caps and slopes with their margin, and that no crossing jumps.
    struct Everywhere {
        size_t column;
        const Limit* limit;
        int sign = 0; ///< Of a slope; 0: a temperature below atMostC.
        double atMostC = 0, perS = 0;
        Index from = 0, to = 0;
        std::vector<bool> added = {};
    };
    std::vector<Everywhere> rules;
    const Index samples = grid_.samples();
    for (size_t c = 0; c < columns_.size(); ++c)
        for (const Limit& limit : columns_[c].limits) {
            if (limit.metric == Metric::SteepestRise || limit.metric == Metric::SteepestFall)
                rules.push_back({c, &limit, limit.metric == Metric::SteepestRise ? 1 : -1, 0, 0, 0,
                                 samples - slopeSamples});
            if (limit.metric == Metric::Peak && limit.max)
                rules.push_back({c, &limit, 0, *limit.max, limit.halfWindow(), 0, samples});
            // A crossing may move by this many samples; a second one must not come up farther away.
            constexpr Index near = 3;
            if (limit.metric == Metric::TimeAbove) {
                const auto rise = abouts[c].rise(limit.levelC);
                const auto fall = abouts[c].lastFall(limit.levelC);
                if (rise || !limit.min)
                    rules.push_back({c, &limit, 0, limit.levelC, 0, 0, rise ? *rise + 1 - near : samples});
                if (rise && fall)
                    rules.push_back({c, &limit, 0, limit.levelC, 0, *fall + 1 + near, samples});
            }
            if (limit.metric == Metric::TimeToPeak)
                if (const auto rise = abouts[c].rise(abouts[c].leavesStartC()))
                    rules.push_back({c, &limit, 0, abouts[c].leavesStartC(), 0, 0, *rise + 1 - near});
            if (limit.metric == Metric::SoakTime)
                for (const double level : {limit.levelC, limit.upperLevelC})
                    if (const auto rise = abouts[c].rise(level))
                        rules.push_back({c, &limit, 0, level, 0, 0, *rise + 1 - near});
        }
    for (Everywhere& rule : rules)
        rule.added.resize(static_cast<size_t>(samples), false);
    // Adds the worst sample of every stretch that breaks a rule, or would with this s.
    const auto addSamples = [&](const VectorXd& at, double s, double tolerance) {
        std::vector<VectorXd> valueC;
        for (const Column& column : columns_)
            valueC.push_back(column.response * at + column.offset);
        bool added = false;
        for (Everywhere& rule : rules) {
            const VectorXd& curveC = valueC[rule.column];
            // A crossing that could jump needs clearance; where the curve is within it already it may stay.
            const auto atMostC = [&](Index n) {
                return rule.perS != 0 ? rule.atMostC
                                      : std::max(rule.atMostC - clearanceK, abouts[rule.column].valueC()[n]);
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
                const About& about = abouts[rule.column];
                if (rule.sign != 0) {
                    require(program, *rule.limit, about.slope(worst, rule.sign), -1);
                } else {
                    const Linear value = about.sample(worst);
                    program.require(-value.perPower, -rule.perS, value.at - atMostC(worst));
                }
            }
        }
        return added;
    };
    addSamples(power, base + 0.1, 0);
    std::optional<VectorXd> found;
    for (int round = 0; round < 12; ++round) {
        if (!program.solve())
            break;
        found = program.power();
        bool added = addSamples(*found, program.s(), 2e-3);
        const VectorXd change = plate * (*found - power), sinceJudged = plate * (*found - judged);
        for (Index n = 2; n < grid_.samples(); n += 4)
            if (std::abs(change[n]) > 1.1 * reachK + 0.1 || std::abs(sinceJudged[n]) > trustedK + 1) {
                bound(n);
                added = true;
            }
        if (!added)
            break;
    }
    return found;
}

Judged MarginSearch::climb(const VectorXd& start)
{
    Judged best = judge(start);
    correctBy(best);
    VectorXd power = start;
    double reachK = 25;
    constexpr double gain = 1e-3;
    constexpr int mostWholeModels = 6;
    for (int outer = 0; outer < mostWholeModels; ++outer) {
        const VectorXd about = power;
        const double before = linearWorst(power);
        double worst = before;
        for (int inner = 0, idle = 0; inner < 10 && reachK > 0.3 && idle < 2; ++inner) {
            const auto next = program(power, about, reachK);
            const double reached = next ? linearWorst(*next) : -1e9;
            if (reached > worst) {
                idle = reached > worst + gain ? 0 : idle + 1;
                worst = reached;
                power = *next;
                reachK = std::min(60.0, 1.4 * reachK);
            } else {
                reachK *= 0.4;
            }
        }
        if (worst < before + gain)
            break;
        // Goes on from here even if superposition promised too much: it is right about this curve now.
        Judged judged = judge(power);
        correctBy(judged);
        reachK = judged.worst > best.worst ? 15 : 4;
        if (judged.worst > best.worst)
            best = std::move(judged);
    }
    return best;
}

} // namespace stripwright
