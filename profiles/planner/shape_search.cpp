#include "planner/shape_search.h"

#include "planner/heat_aim.h"
#include "planner/minimax_step.h"
#include "planner/unit_response.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>

namespace stripwright {

namespace {

using Values = std::array<double, Shape::count>;

/// A limit as the search sees it, with the columns of the response that decide it.
struct Aim {
    Limit limit;
    AimKind kind;
    std::vector<size_t> columns; ///< None: about the plate itself.
};

AimKind kindOf(const Limit& limit)
{
    return limit.habit ? AimKind::Habit : limit.protects ? AimKind::Part : AimKind::Job;
}

// Where a limit can be broken first. The whole model looks at every scenario; this only steers.
std::vector<size_t> decidingScenarios(const Limit& limit)
{
    if (limit.protects)
        return {warmAirScenario};
    if (limit.metric == Metric::Peak && !limit.min)
        return {highScenario};
    if (limit.metric == Metric::Peak && !limit.max)
        return {0};
    return {0, highScenario};
}

// A curve that never reaches a level has the same margin however far it is from it: here it loses more the
// farther it is, so that the search finds the way up.
double slopingMargin(const Limit& limit, Curve curve)
{
    const double margin = marginOf(limit, measure(limit, curve));
    const bool hasLevel = limit.metric == Metric::TimeAbove || limit.metric == Metric::SoakTime ||
                          limit.metric == Metric::MeanCooling;
    if (!hasLevel || margin >= 0 || !limit.min)
        return margin;
    const double missingK = std::max(limit.levelC, limit.upperLevelC) - peakOf(curve)->valueC;
    constexpr double halfWindowsPerK = 0.05;
    return margin - std::max(0.0, missingK) * halfWindowsPerK * limit.halfWindow();
}

class Search {
public:
    Search(const BenchSheet& sheet, double stepS)
        : sheet_(sheet), stepS_(stepS), limits_(limitsOf(sheet)), aim_(heatAimOf(sheet, limits_))
    {
        const double ambient = sheet.air.ambientC, hottest = sheet.plate.maxC;
        low_ = {0.05, ambient + 5, 0, ambient + 5, ambient + 5, 0, 0.05, ambient + 20, 0};
        high_ = {4, hottest, 400, hottest, hottest, 200, 4, hottest, std::max(120.0, 2 * aim_.holdS)};
        horizon_ = horizonOf(sheet, limits_);
        draw_ = roughDraw(sheet);
    }

    Answer run(const SearchStart& start)
    {
        const std::array<Shape, 3> guesses = firstGuesses(sheet_, aim_, draw_);
        Values best = clamped(start.shape.value_or(guesses[0]).values());
        Answer answer = look(best);
        constexpr double outOfReach = -2; // no shape makes up for two half windows of a part
        giveUpParts(answer, outOfReach);
        Merit merit;
        double value = climb(best, merit, 1);
        Values asDrawn = best;
        for (size_t i = 1; i < guesses.size(); ++i) {
            Values other = clamped(guesses[i].values());
            if (const double there = climb(other, merit, 1); there > value) {
                best = other;
                value = there;
            }
        }
        for (const double reach : {1.0, 0.5, 0.2}) {
            climb(best, merit, reach);
            Answer next = look(best);
            giveUpParts(next, 0);
            if (meritOf(merit, next) > meritOf(merit, answer))
                answer = std::move(next);
        }
        // Trade habits may cost this much of the worst margin and no more; they are kept more easily from
        // where the paste's own drawing has led.
        constexpr double forHabits = 0.02;
        merit = {1.0, worstAimed(answer) - forHabits};
        best = answer.shape.values();
        correctBy(answer);
        value = climb(best, merit, 0.5);
        if (climb(asDrawn, merit, 1) > value)
            best = asDrawn;
        Answer polished = look(best);
        if (meritOf(merit, polished) > meritOf(merit, answer))
            answer = std::move(polished);
        if (start.quick)
            return answer;
        // The plan to run is in fine steps, and mended once more by what they say.
        Answer fine = wholeModel(sheet_, limits_, answer.shape, draw_, horizon_, 1);
        correctBy(fine);
        best = fine.shape.values();
        climb(best, merit, 0.1);
        Answer mended = wholeModel(sheet_, limits_, Shape::from(best), draw_, horizon_, 1);
        return meritOf(merit, mended) > meritOf(merit, fine) ? mended : fine;
    }

private:
    Values clamped(Values values) const
    {
        for (size_t i = 0; i < values.size(); ++i)
            values[i] = std::clamp(values[i], low_[i], high_[i]);
        return values;
    }

    Answer look(const Values& values)
    {
        Answer answer = wholeModel(sheet_, limits_, Shape::from(values), draw_, horizon_, stepS_);
        watch(answer);
        correctBy(answer);
        return answer;
    }

    // Of many like limits, as of twelve target joints, those near the worst are the ones to steer by.
    void watch(const Answer& answer)
    {
        constexpr double farInside = 2.0, nearWorst = 0.5;
        std::map<std::string, double> worstOfGroup;
        const auto groupOf = [](const Limit& limit) {
            return limit.id.substr(limit.id.find('/')) + (limit.protects ? "p" : "");
        };
        for (const MarginRow& row : answer.margins) {
            auto [at, isNew] = worstOfGroup.insert({groupOf(row.limit), row.normalisedMargin});
            at->second = std::min(at->second, row.normalisedMargin);
        }
        std::vector<Column> columns = response_.columns();
        const size_t before = columns.size();
        for (const MarginRow& row : answer.margins) {
            const bool known = std::any_of(aims_.begin(), aims_.end(),
                                           [&](const Aim& aim) { return aim.limit.id == row.limit.id; });
            const double most = row.limit.protects ? farInside : worstOfGroup[groupOf(row.limit)] + nearWorst;
            if (known || row.normalisedMargin > most)
                continue;
            Aim aim{row.limit, kindOf(row.limit), {}};
            if (row.limit.station != "plate")
                for (size_t scenario : decidingScenarios(row.limit)) {
                    const Column column{scenario, row.limit.station};
                    const auto found = std::find(columns.begin(), columns.end(), column);
                    aim.columns.push_back(static_cast<size_t>(found - columns.begin()));
                    if (found == columns.end())
                        columns.push_back(column);
                }
            aims_.push_back(std::move(aim));
        }
        if (columns.size() == before)
            return;
        const double typicalC = 0.6 * aim_.peakC + 0.4 * sheet_.air.ambientC;
        response_ = UnitResponse(sheet_, std::move(columns), stepS_, horizon_.endS, typicalC);
        draw_ = response_.draw();
    }

    void giveUpParts(const Answer& answer, double below)
    {
        for (Aim& aim : aims_)
            for (const MarginRow& row : answer.margins)
                if (aim.kind == AimKind::Part && row.limit.id == aim.limit.id && row.normalisedMargin < below)
                    aim.kind = AimKind::GivenUp;
    }

    std::vector<double> judge(const Values& values)
    {
        const PlateReference reference =
            followShape(Shape::from(values), sheet_.plate, draw_, sheet_.air.ambientC, sheet_.cooling.fan,
                        stepS_, horizon_.latestOffS, horizon_.endS);
        response_.curves(reference.plateC, sheet_.air.ambientC, curves_);
        const size_t samples = reference.plateC.size();
        addResidue(reference.heaterOffS, samples);
        timeS_.resize(samples);
        for (size_t i = 0; i < samples; ++i)
            timeS_[i] = static_cast<double>(i) * stepS_;

        std::vector<double> margins;
        for (const Aim& aim : aims_) {
            double worst = std::numeric_limits<double>::infinity();
            if (aim.columns.empty())
                worst = slopingMargin(aim.limit, {timeS_, reference.plateC});
            for (size_t column : aim.columns)
                worst = std::min(worst,
                                 slopingMargin(aim.limit, {timeS_, {&curves_[column * samples], samples}}));
            margins.push_back(worst / aim.limit.halfWindow());
        }
        return margins;
    }

    std::vector<AimKind> kinds() const
    {
        std::vector<AimKind> all;
        for (const Aim& aim : aims_)
            all.push_back(aim.kind);
        return all;
    }

    std::vector<double> aimedMargins(const Answer& answer) const
    {
        std::vector<double> margins;
        for (const Aim& aim : aims_)
            margins.push_back(
                std::find_if(answer.margins.begin(), answer.margins.end(), [&](const MarginRow& row) {
                    return row.limit.id == aim.limit.id;
                })->normalisedMargin);
        return margins;
    }

    double meritOf(const Merit& merit, const Answer& answer) const
    {
        return merit.of(kinds(), aimedMargins(answer));
    }

    double worstAimed(const Answer& answer) const
    {
        double worst = 1;
        const std::vector<double> margins = aimedMargins(answer);
        for (size_t i = 0; i < margins.size(); ++i)
            if (aims_[i].kind == AimKind::Job || aims_[i].kind == AimKind::Part)
                worst = std::min(worst, margins[i]);
        return worst;
    }

    // Residue of the whole model over superposition, kept by time from heater-off: that is where fan, lift
    // and the fourth power of radiation make themselves felt, and what moves when a shape is stretched.
    void addResidue(double heaterOffS, size_t samples)
    {
        const double shift = (heaterOffS - residueOffS_) / stepS_;
        const double last = static_cast<double>(residueSamples_ - 1);
        for (size_t i = 0; i < samples; ++i) {
            const double place = std::clamp(static_cast<double>(i) - shift, 0.0, last);
            const size_t before = std::min(static_cast<size_t>(place), residueSamples_ - 2);
            const double share = place - static_cast<double>(before);
            for (size_t column = 0; column < response_.columns().size(); ++column) {
                const double* residue = &residue_[column * residueSamples_ + before];
                curves_[column * samples + i] += residue[0] + share * (residue[1] - residue[0]);
            }
        }
    }

    void correctBy(const Answer& answer)
    {
        const auto every = static_cast<size_t>(std::lround(stepS_ / answer.reference.stepS));
        std::vector<double> plateC;
        for (size_t i = 0; i < answer.reference.plateC.size(); i += every)
            plateC.push_back(answer.reference.plateC[i]);
        response_.curves(plateC, sheet_.air.ambientC, curves_);
        residueSamples_ = plateC.size();
        residueOffS_ = answer.reference.heaterOffS;
        residue_.assign(curves_.size(), 0);
        for (size_t column = 0; column < response_.columns().size(); ++column) {
            const Column& of = response_.columns()[column];
            const std::vector<double>& whole = answer.predictions[of.scenario].find(of.station)->valueC;
            for (size_t i = 0; i < residueSamples_; ++i) {
                const size_t k = column * residueSamples_ + i;
                residue_[k] = whole[i * every] - curves_[k];
            }
        }
    }

    // Margins are nearly linear in the shape as long as no curve loses or gains a crossing, so a linear
    // program in a box finds the way, and the box shrinks where it was wrong. Returns the merit reached.
    double climb(Values& best, const Merit& merit, double reach)
    {
        constexpr Values scale = {0.5, 20, 40, 20, 20, 30, 0.5, 15, 15};
        constexpr Values probe = {0.02, 1, 2, 1, 1, 2, 0.02, 0.5, 1};
        constexpr int mostRounds = 14;
        constexpr double least = 0.01, gainWorthwhile = 1e-4;
        const std::vector<AimKind> aimKinds = kinds();
        std::vector<double> margins = judge(best);
        double value = merit.of(aimKinds, margins);
        std::vector<double> slopes(aims_.size() * Shape::count);
        bool moved = true;
        for (int round = 0; round < mostRounds && reach > least; ++round) {
            for (size_t i = 0; moved && i < Shape::count; ++i) {
                Values beside = best;
                beside[i] += best[i] + probe[i] <= high_[i] ? probe[i] : -probe[i];
                const std::vector<double> there = judge(beside);
                for (size_t k = 0; k < margins.size(); ++k)
                    slopes[k * Shape::count + i] = (there[k] - margins[k]) / (beside[i] - best[i]);
            }
            std::vector<double> down(Shape::count), up(Shape::count);
            for (size_t i = 0; i < Shape::count; ++i) {
                down[i] = std::max(low_[i] - best[i], -reach * scale[i]);
                up[i] = std::min(high_[i] - best[i], reach * scale[i]);
            }
            const std::vector<double> change = climbLinear(merit, aimKinds, margins, slopes, down, up);
            Values next = best;
            for (size_t i = 0; i < Shape::count; ++i)
                next[i] += change[i];
            const std::vector<double> there = judge(next);
            const double reached = merit.of(aimKinds, there);
            moved = reached > value + gainWorthwhile;
            if (moved) {
                best = next;
                margins = there;
                value = reached;
                reach *= 1.5;
            } else {
                reach *= 0.4;
            }
        }
        return value;
    }

    const BenchSheet& sheet_;
    const double stepS_; // of superposed curves, and of the whole model until the last look
    std::vector<Limit> limits_;
    HeatAim aim_;
    UnitResponse response_;
    StripDraw draw_;
    std::vector<Aim> aims_;
    Values low_{}, high_{};
    Horizon horizon_;
    std::vector<double> curves_, timeS_, residue_;
    size_t residueSamples_ = 0;
    double residueOffS_ = 0;
};

} // namespace

Answer searchShape(const BenchSheet& sheet, const SearchStart& start)
{
    constexpr double fineS = 2, quickS = 4;
    return Search(sheet, start.quick ? quickS : fineS).run(start);
}

} // namespace stripwright
