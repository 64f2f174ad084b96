#include "margin_search.h"

#include "margin_program.h"

#include "planner/heat_kinds.h"
#include "rules/hands.h"
#include "search/plate_reference.h"

#include <algorithm>
#include <cmath>
#include <limits>

namespace stripwright {

using Eigen::Index;
using Eigen::VectorXd;

/// A limit as the programs know it: linear in power but for its crossings. None: they leave it out.
static std::optional<Limit> programmed(Limit limit, const BenchSheet& sheet,
                                       const std::optional<HandTimes>& hands)
{
    if (aboutNewLed(limit))
        return {};
    if (!limit.needsHands())
        return limit;
    const auto work = handWorkOf(sheet);
    if (!work || !hands || !hands->sureFromS || !limit.min)
        return {};
    if (limit.metric == Metric::Wetting) {
        const auto site = std::find(work->sites.begin(), work->sites.end(), limit.station.site);
        const double doneS = hands->doneS[static_cast<size_t>(site - work->sites.begin())];
        constexpr double padOverK = 15; // only how soon the solder melts again under the new LED
        const double meltsS =
            remeltS(work->body, limit.levelC + padOverK, sheet.air.ambientC, limit.levelC).value_or(0);
        *limit.min += doneS - *hands->sureFromS + meltsS;
    } else if (limit.metric != Metric::LiquidForHands) {
        return {};
    }
    limit.metric = Metric::TimeAbove;
    return limit;
}

MarginSearch::MarginSearch(const BenchSheet& sheet, const PowerGrid& grid, const PowerResponse& response,
                           const std::optional<HandTimes>& hands,
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
        const bool isAsked =
            (limit.station.kind == StationKind::Joint && meltsJoints(sheet.heat)) || limit.min;
        if (!isAsked && !near(limit) && limit.station.kind != StationKind::Plate)
            continue;
        if (const auto row = programmed(limit, sheet, hands))
            addColumns(*row, response);
    }
}

void MarginSearch::addColumns(const Limit& limit, const PowerResponse& response)
{
    // Where a cap is met first.
    std::vector<size_t> scenarios = {limit.protects ? hottestParts(sheet_) : hottestJoints};
    if ((limit.station.kind == StationKind::Joint && meltsJoints(sheet_.heat)) || limit.min)
        scenarios = {coldest, asStated, hottestJoints};
    if (limit.station.kind == StationKind::Plate)
        scenarios = {plateColumn};
    for (size_t scenario : scenarios) {
        auto column = std::find_if(columns_.begin(), columns_.end(), [&](const ResponseColumn& one) {
            return one.scenario == scenario && one.station == limit.station;
        });
        if (column == columns_.end()) {
            columns_.push_back(
                {scenario,
                 limit.station,
                 scenario == plateColumn ? response.plate() : response.station(scenario, limit.station),
                 VectorXd::Constant(grid_.samples(), sheet_.air.ambientC),
                 {}});
            column = columns_.end() - 1;
        }
        column->limits.push_back(limit);
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
    for (const ResponseColumn& column : columns_)
        if (column.scenario == plateColumn)
            return powerFor(column.response, column.offset, plateC);
    return VectorXd::Zero(grid_.pieces);
}

VectorXd MarginSearch::powerForJoint(int site, const VectorXd& jointC) const
{
    for (const ResponseColumn& column : columns_)
        if (column.scenario == asStated && column.station == jointOf(site))
            return powerFor(column.response, column.offset, jointC);
    return VectorXd::Zero(grid_.pieces);
}

JudgedPower MarginSearch::judge(const VectorXd& power) const
{
    JudgedPower judged{power, wholeModelOf(sheet_, grid_, power), std::numeric_limits<double>::infinity()};
    for (const MarginRow& row : judged.answer.margins)
        for (const Limit& limit : counted_)
            if (limit.id == row.limit.id)
                judged.worst = std::min(judged.worst, row.normalisedMargin);
    return judged;
}

void MarginSearch::correctBy(const JudgedPower& judged)
{
    Index first = 0;
    while (first + 1 < judged.power.size() && judged.power[first] <= 1e-9)
        ++first;
    const double startS = static_cast<double>(first) * PowerGrid::pieceS;
    for (ResponseColumn& column : columns_) {
        const std::vector<double>& wholeC =
            column.scenario == plateColumn
                ? judged.answer.reference.plateC
                : judged.answer.predictions[column.scenario].find(column.station)->valueC;
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
    for (const ResponseColumn& column : columns_) {
        const LinearCurve about(column, timeS_, power);
        for (const Limit& limit : column.limits) {
            const double margin = marginOf(limit, measure(limit, about.curve())) / limit.halfWindow();
            worst = std::min(worst, margin);
            if (limit.metric == Metric::TimeAbove && limit.min)
                worst = std::min(worst, about.reaches(limit.levelC) - 1);
        }
    }
    return worst;
}

JudgedPower MarginSearch::climb(const VectorXd& start)
{
    JudgedPower best = judge(start);
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
            const auto next =
                climbByProgram(columns_, grid_, response_.plate(), timeS_, power, about, worst, reachK);
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
        JudgedPower judged = judge(power);
        correctBy(judged);
        reachK = judged.worst > best.worst ? 15 : 4;
        if (judged.worst > best.worst)
            best = std::move(judged);
    }
    return best;
}

} // namespace stripwright
