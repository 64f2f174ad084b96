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

/// What is climbed: ten times the broken part of the worst job margin, the broken part of the worst part
/// margin, the worst margin of all up to 1; then, weighing little, broken habits, parts given up and the mean
/// of all. Concave, so that a linear program climbs it for linear margins.
struct Merit {
    double habitWeight = 0.01;
    double keepWorst = -1e9; ///< Below this the worst margin weighs fifty times; for polishing what is found.
    double of(const std::vector<AimKind>& kinds, const std::vector<double>& margins) const;
};

/// What a step costs nearby: of each number its distance from where it is free. Empty: nothing.
struct StepPrice {
    std::vector<double> freeAt, perUnit;
};

/// The step x, each number within [low, high], that climbs the merit less its price most, for margins that
/// change with x as margins + slopes x; slopes row by row, one row a margin.
std::vector<double> climbLinear(const Merit& merit, const std::vector<AimKind>& kinds,
                                const std::vector<double>& margins, const std::vector<double>& slopes,
                                const std::vector<double>& low, const std::vector<double>& high,
                                const StepPrice& price = {});

} // namespace stripwright
