#pragma once

#include "materials/shelf.h"
#include "planner/job_plan.h"

namespace stripwright {

/// A change that hands can make, planned again as a whole.
struct WhatIf {
    std::string lever;      ///< Stable id: "fan", "sink-block", "lens-off", "paste", ...
    std::string what;       ///< What to do and what it does, with figures.
    BenchSheet sheet;       ///< The sheet with the change made, and the lenses off that are lost even so.
    bool refused = false;   ///< A rule forbids it; the reason stands in `what`.
    int lensesThatStay = 0; ///< Lenses on the strip that keep every limit.
    int ledsPastPasses = 0; ///< LEDs that it takes past the passes their data allow.
    int heats = 0;          ///< That the job then takes; 0: refused.
    double worstMargin = 0; ///< Normalised; over limits that are no habit, lenses that are lost left out.
    bool helps = false;     ///< More lenses stay, a margin that was broken or thin grows, or the job takes
                            ///< fewer heats.
};

struct WhatIfAnswer {
    int lensesThatStay = 0; ///< As the sheet is.
    double worstMargin = 0;
    std::vector<WhatIf> levers; ///< Best first.
};

/// What each change would do to a sheet with targets, whose heats are `base` as it is: lenses off, sink block
/// at its best place, fan, lifting, another paste, plate, place on the plate or contact, another way to swap,
/// slower or faster ramp; and where none of them alone makes it a heat that can be run, the best of them in
/// pairs. Changes are told from where the plan has the plate. Each is a search of its own, on all cores. None
/// for a bake, whose plan says itself what stands in its way.
WhatIfAnswer whatIf(const BenchSheet& sheet, const Shelf& shelf, const std::vector<HeatAnswer>& base);
WhatIfAnswer whatIf(const BenchSheet& sheet, const Shelf& shelf);

/// Those that help, for the plan.
std::vector<Suggestion> helpful(const WhatIfAnswer& answer);

} // namespace stripwright
