#pragma once

#include <vector>

namespace stripwright {

/// What the search makes of one margin.
enum class AimKind {
    Job,     ///< Comes first: a joint that is not made saves no lens.
    Part,    ///< To protect.
    GivenUp, ///< A part that no curve saves; it should come off, and must not spoil the rest.
    Habit,
    Slope, ///< One of the slopes of which a Job's steepest is made: may become the steepest one.
    Clear, ///< No margin: must not turn negative in a step, for beyond it the margins jump. Below -1 it has.
};

/// One margin as a search sees it, normalised.
struct AimedMargin {
    AimKind kind = AimKind::Job;
    double margin = 0;
};

/// What is climbed: ten times the broken part of the worst job margin, the broken part of the worst part
/// margin, the worst margin of all up to 1; then, weighing little, broken habits, parts given up and the mean
/// of all. Concave, so that a linear program climbs it for linear margins.
struct Merit {
    double habitWeight = 0.001;
    double keepWorst =
        -1e9; ///< Below this the worst margin weighs a thousand times; for polishing what is found.
    double of(const std::vector<AimedMargin>& margins) const;
};

/// How far a step may take one number, and what it costs.
struct StepRange {
    double low = 0, high = 0;
    double freeAt = 0;  ///< Where it costs nothing.
    double perUnit = 0; ///< Of merit, for its distance from there.
};

/// The step x, each number in its range, that climbs the merit less its price most, for margins that change
/// with x as margins + slopes x; slopes row by row, one row a margin.
std::vector<double> climbLinear(const Merit& merit, const std::vector<AimedMargin>& margins,
                                const std::vector<double>& slopes, const std::vector<StepRange>& ranges);

} // namespace stripwright
