#pragma once

#include "planner/plan_sheet.h"
#include "planner/what_if.h"

namespace stripwright::figures {

/// What a plan comes to, lenses that are lost counted apart as whatIf does.
struct Judgement {
    std::vector<int> lost;             ///< Sites of lenses that do not survive.
    std::optional<MarginRow> tightest; ///< Of all other limits that are no habit.
};
Judgement judgementOf(const HeatPlan& plan);

std::string inWords(const MarginRow& row);              ///< "joint peak, site 6: +2.3 K (0.23)".
std::string lensesInWords(const std::vector<int>& off); ///< "sites 2-5", "none".

BenchSheet withLensesOff(BenchSheet sheet, const std::vector<int>& off);

void printTimes(const BenchSheet& demo, const BenchSheet& bar3, const Shelf& shelf);
void printSinkBlock(const BenchSheet& sheet, const WhatIfAnswer& answer);
void printCooling(const BenchSheet& sheet, const WhatIfAnswer& answer);

} // namespace stripwright::figures
