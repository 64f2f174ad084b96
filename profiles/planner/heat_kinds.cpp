#include "planner/heat_kinds.h"

#include "planner/bake_heat.h"
#include "planner/fit_heat.h"
#include "planner/release_heat.h"
#include "planner/remove_heat.h"
#include "planner/swap_heat.h"
#include "rules/hands.h"

namespace stripwright {

const HeatKindRules& rulesOf(HeatKind heat)
{
    // In the order of HeatKind.
    static const HeatKindRules table[] = {swapHeat, fitHeat, removeHeat, releaseHeat, bakeHeat};
    return table[static_cast<size_t>(heat)];
}

std::vector<Limit> limitsOf(const BenchSheet& sheet)
{
    return rulesOf(sheet.heat).limits(sheet);
}

HeatTask taskOf(const BenchSheet& sheet)
{
    const HeatKindRules& rules = rulesOf(sheet.heat);
    HeatTask task{.sheet = sheet, .limits = rules.limits(sheet)};
    task.aim = rules.aim(sheet, task.limits);
    task.hands = handWorkOf(sheet);
    if (task.hands && task.hands->setsDown && sheet.way == SwapWay::WarmedLed)
        task.spares = sparesOf(sheet);
    task.byPower = meltsJoints(sheet.heat);
    return task;
}

} // namespace stripwright
