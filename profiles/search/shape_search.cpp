#include "search/shape_search.h"

#include "search/heat_aim.h"
#include "search/margin_climb.h"

#include <algorithm>
#include <future>
#include <limits>
#include <memory>

namespace stripwright {

namespace {

constexpr double scatter = 0.005; // of margins between fine steps and coarse ones
// Half windows: a part missed by more is worth no second search; where changes are only compared, by less.
constexpr double worthHolding = -3, worthHoldingQuickly = -0.5;

constexpr double mostForHabits = 0.01; // of the worst margin

/// Whether an answer does less of the job than another, beyond what habits may cost and steps scatter. Room
/// of more than half a window is spent on habits.
bool spoils(const PredictedHeat& answer, const PredictedHeat& other)
{
    constexpr double enough = 0.99;
    const Worth has = worthOf(answer), had = worthOf(other);
    if (has.done != had.done || has.lensesLost != had.lensesLost)
        return std::pair(has.done, -has.lensesLost) < std::pair(had.done, -had.lensesLost);
    return std::min(has.worst, enough) < std::min(had.worst, enough) - mostForHabits - 2 * scatter;
}

class ShapeSearch {
public:
    /// Parts with margins above `heldDownTo` are never given up while drawing.
    /// `draw`: what a curve of other steps was drawn with; a shape is another curve with another draw.
    ShapeSearch(const HeatTask& task, double stepS,
                double heldDownTo = std::numeric_limits<double>::infinity(),
                const std::optional<StripDraw>& draw = {})
        : heldDownTo_(heldDownTo), task_(task), sheet_(task.sheet), aim_(task.aim), horizon_(horizonOf(task)),
          margins_(task, stepS, horizon_.endS, 0.6 * aim_.peakC + 0.4 * sheet_.air.ambientC, draw)
    {
    }

    /// Climbs by shape; keeps what the guesses came to.
    PredictedHeat draw(const std::optional<Shape>& start)
    {
        const std::array<Shape, 3> guesses = firstGuesses(sheet_, aim_, margins_.draw());
        CandidateCurve best = candidateFrom(start.value_or(guesses[0]));
        PredictedHeat answer = look(best);
        constexpr double outOfReach = -2; // no shape makes up for two half windows of a part
        if (heldDownTo_ > 0)              // else a guess says nothing yet
            margins_.giveUpParts(answer, outOfReach);
        Merit merit;
        std::vector<CandidateCurve> candidates = {best, candidateFrom(guesses[1]), candidateFrom(guesses[2])};
        best = candidates[climbAll(candidates, merit, 1)];
        for (const CandidateCurve& candidate : candidates)
            climbed_.push_back(Shape::from(candidate.values));
        for (const auto& [reach, below] : {std::pair(1.0, -0.5), {0.5, -0.1}, {0.2, 0.0}}) {
            climb(best, margins_, merit, reach);
            PredictedHeat next = look(best);
            margins_.giveUpParts(next, std::min(below, heldDownTo_));
            if (margins_.merit(merit, next) > margins_.merit(merit, answer))
                answer = std::move(next);
        }
        // Trade habits are kept more easily from where the paste's own drawing has led.
        merit = forHabits(answer);
        margins_.correctBy(answer);
        candidates = {candidateFrom(answer.shape), candidateFrom(climbed_.front())};
        best = candidates[climbAll(candidates, merit, 0.7)];
        PredictedHeat polished = look(best);
        return margins_.merit(merit, polished) > margins_.merit(merit, answer) ? polished : answer;
    }
    const std::vector<Shape>& climbed() const { return climbed_; }
    double stepS() const { return margins_.stepS(); }
    const StripDraw& drawnWith() const { return margins_.draw(); }

    PredictedHeat asDrawn(const PredictedHeat& drawn)
    {
        PredictedHeat fine = finest(candidateFrom(drawn.shape), forHabits(drawn));
        return spoils(fine, drawn) ? finest(candidateFrom(drawn.shape), Merit()) : fine;
    }

    /// Goes on from a shape to the answer to run, by power where that melts joints; from the others, too.
    PredictedHeat finish(const Shape& drawn, const std::vector<Shape>& others)
    {
        const PredictedHeat shaped = look(candidateFrom(drawn));
        margins_.giveUpParts(shaped, 0);
        if (task_.byPower) {
            PredictedHeat bent = bentByPower(shaped, others);
            const Merit merit = forHabits(margins_.worst(bent) > margins_.worst(shaped) ? bent : shaped);
            if (!spoils(bent, shaped) &&
                margins_.merit(merit, bent) > margins_.merit(merit, shaped) + scatter)
                return bent;
            margins_.correctBy(shaped);
        }
        return finest(candidateFrom(drawn), forHabits(shaped));
    }

private:
    Merit forHabits(const PredictedHeat& best) const { return {1.0, margins_.worst(best) - mostForHabits}; }

    CandidateCurve candidateFrom(const Shape& shape) const
    {
        return shapeCandidate(sheet_, shape, std::max(120.0, 2 * aim_.holdS), horizon_.latestOffS,
                              horizon_.endS);
    }

    /// Which candidate climbs highest.
    size_t climbAll(std::vector<CandidateCurve>& candidates, const Merit& merit, double reach) const
    {
        std::vector<std::future<double>> running;
        for (CandidateCurve& candidate : candidates)
            running.push_back(
                std::async(std::launch::async, [&] { return climb(candidate, margins_, merit, reach); }));
        std::vector<double> values;
        for (auto& one : running)
            values.push_back(one.get());
        return static_cast<size_t>(std::max_element(values.begin(), values.end()) - values.begin());
    }

    PredictedHeat wholeHeat(const CandidateCurve& candidate, double stepS) const
    {
        PredictedHeat answer = wholeModel(task_, candidate.follow(candidate.values, margins_.draw(), stepS));
        if (!candidate.byPower)
            answer.shape = Shape::from(candidate.values);
        return answer;
    }

    PredictedHeat look(const CandidateCurve& candidate)
    {
        PredictedHeat answer = wholeHeat(candidate, margins_.stepS());
        margins_.learn(answer);
        return answer;
    }

    // The plan to run is in fine steps, and mended by what they say: once, and on while it misses a limit.
    PredictedHeat finest(CandidateCurve candidate, const Merit& merit)
    {
        constexpr int mostTimes = 4;
        PredictedHeat fine = wholeHeat(candidate, 1);
        for (int times = 0; times < mostTimes && (times == 0 || margins_.worst(fine) < 0); ++times) {
            margins_.correctBy(fine);
            const std::vector<double> before = candidate.values;
            climb(candidate, margins_, merit, 0.1);
            if (candidate.values == before)
                break;
            PredictedHeat mended = wholeHeat(candidate, 1);
            if (!(margins_.merit(merit, mended) > margins_.merit(merit, fine)))
                break;
            fine = std::move(mended);
        }
        return fine;
    }

    CandidateCurve byPower(const PlateReference& reference) const
    {
        return powerCandidate(sheet_, reference, horizon_.latestOffS, horizon_.endS);
    }

    /// A heat begins when its heater does something: a trickle before that only has the hands wait.
    static void beginInEarnest(CandidateCurve& power)
    {
        constexpr double trickle = 0.04;
        size_t piece = 0;
        for (; piece < power.values.size() && power.values[piece] < trickle; ++piece)
            power.values[piece] = power.low[piece] = power.high[piece] = power.plain[piece] = 0;
        if (piece < power.values.size())
            power.low[piece] = trickle;
    }

    PredictedHeat bentByPower(const PredictedHeat& shaped, const std::vector<Shape>& others)
    {
        const CandidateCurve asShaped = byPower(shaped.reference);
        std::vector<CandidateCurve> candidates = {asShaped};
        for (size_t i = 1; i < others.size(); ++i) {
            const CandidateCurve other = candidateFrom(others[i]);
            candidates.push_back(byPower(other.follow(other.values, margins_.draw(), margins_.stepS())));
        }
        CandidateCurve highest = candidates[climbAll(candidates, Merit(), 0.5)];
        look(highest);
        climb(highest, margins_, Merit(), 0.3);
        const Merit merit = forHabits(look(highest));
        candidates = {highest, asShaped};
        CandidateCurve& chosen = candidates[climbAll(candidates, merit, 0.5)];
        beginInEarnest(chosen);
        PredictedHeat bent = finest(chosen, merit);
        // What was not watched may have come to its limit on the way.
        for (int times = 0; times < 2 && spoils(bent, shaped); ++times) {
            look(chosen);
            climb(chosen, margins_, merit, 0.3);
            bent = finest(chosen, merit);
        }
        if (margins_.worst(bent) < merit.keepWorst - 2 * scatter) {
            beginInEarnest(highest);
            bent = finest(highest, Merit());
        }
        PredictedHeat trimmed = wholeModel(task_, withoutIdle(bent.reference, sheet_.cooling.fan));
        // Until heater-off the plate is held to its path; sooner off, it coasts by losses that are not known
        // well.
        if (spoils(trimmed, bent))
            trimmed = wholeModel(task_, withoutIdle(std::move(bent.reference), true));
        bent = std::move(trimmed);
        bent.shape = shaped.shape;
        return bent;
    }

    const double heldDownTo_;
    const HeatTask& task_;
    const BenchSheet& sheet_;
    const HeatAim& aim_;
    const Horizon horizon_;
    AimedMargins margins_;
    std::vector<Shape> climbed_;
};

} // namespace

/// Parts are given up early so that they do not spoil the rest: too early, where a curve that keeps one
/// exists elsewhere.
static bool lostNarrowly(const PredictedHeat& answer, double worth)
{
    return std::any_of(answer.margins.begin(), answer.margins.end(), [&](const MarginRow& row) {
        return lensSiteOf(row.limit) > 0 && !row.limit.habit && row.normalisedMargin < 0 &&
               row.normalisedMargin > worth;
    });
}

PredictedHeat searchShape(const HeatTask& task, const SearchStart& start)
{
    // What power goes on from is drawn as the quick search draws, so that no plan ends below what levers are
    // compared with. Where the shape itself is the answer it is drawn finely.
    constexpr double coarseS = 4, fineS = 2;
    const double stepS = start.quick || task.byPower ? coarseS : fineS;
    auto drawing = std::make_unique<ShapeSearch>(task, stepS);
    PredictedHeat drawn = drawing->draw(start.shape);
    const double worth = start.quick ? worthHoldingQuickly : worthHolding;
    if (lostNarrowly(drawn, worth)) {
        // A firmer hold and other steps come out on other hills.
        constexpr double byNothing = std::numeric_limits<double>::infinity();
        std::vector<std::pair<double, double>> others = {{stepS, worthHolding}, {stepS, byNothing}};
        if (!start.quick)
            others.push_back({stepS == coarseS ? fineS : coarseS, worthHolding});
        for (const auto& [otherStepS, hold] : others) {
            auto other = std::make_unique<ShapeSearch>(task, otherStepS, hold);
            PredictedHeat answer = other->draw({});
            if (worthOf(drawn) < worthOf(answer)) {
                drawn = std::move(answer);
                drawing = std::move(other);
            }
            if (!lostNarrowly(drawn, worth))
                break;
        }
    }
    if (start.quick)
        return drawn;
    const std::vector<Shape> climbed = drawing->climbed();
    if (drawing->stepS() != fineS)
        drawing = std::make_unique<ShapeSearch>(task, fineS, worthHolding, drawing->drawnWith());
    PredictedHeat finished = drawing->finish(drawn.shape, climbed);
    if (!spoils(finished, drawn))
        return finished;
    PredictedHeat asDrawn = drawing->asDrawn(drawn);
    return spoils(finished, asDrawn) ? asDrawn : finished;
}

} // namespace stripwright
