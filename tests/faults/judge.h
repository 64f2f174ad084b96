#pragma once

#include "stand.h"

namespace stripwright::faults {

/// One line of the table.
struct Verdict {
    enum class Is { Ok, Red, NotApplicable, Caution } is = Is::Red;
    std::string response;
    std::optional<double> frameS, heatOffS; ///< Since the fault, on the row's clock.
    std::optional<double> jointRiseK, lensRiseK;
    std::string why; ///< Of a red one.
};

/// Runs one row in one phase on one line.
Verdict tryOut(const Setting& setting, const HeatPlan& plan, const std::string& planText);

} // namespace stripwright::faults
