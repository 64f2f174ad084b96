#pragma once

#include "planner/heat_plan.h"

#include <QString>

namespace stripwright {

/// One line of what a sheet means for the job.
struct SheetNote {
    enum class Kind { Refusal, Warning, Fact };
    Kind kind = Kind::Fact;
    QString topic; ///< "ramp", "old solder", ...; refusals and warnings have none.
    QString text;
    bool habit = false;
    QString source;
};

/// Refusals, warnings, then facts of paste, alloys, strip and contact. `plan` may be null or of an older
/// sheet; only its refusals and warnings are taken.
std::vector<SheetNote> notesOf(const BenchSheet& sheet, const HeatPlan* plan);

} // namespace stripwright
