#include "planner/remove_heat.h"

#include "planner/limit_parts.h"
#include "planner/melting_heat.h"

namespace stripwright {

namespace {

std::vector<Limit> limits(const BenchSheet& sheet)
{
    std::vector<Limit> limits;
    for (const int site : sheet.targets()) {
        addOldAlloyNeed(limits, sheet, site);
        addHandsFit(limits, sheet, site);
        addLiquidTotal(limits, sheet, site);
        addDielectricCaps(limits, sheet.strip, site);
    }
    addKeptParts(limits, sheet);
    return limits;
}

void cardsBefore(HeatPlan& plan)
{
    cardBefore(plan, "flux-on-pads",
               "Gel flux lies around the joints to come off; tweezers and a tray are at hand.",
               "Without flux the solder pulls strings and shorts.");
}

void stagesAndCards(HeatPlan& plan)
{
    writeMeltingStages(plan);
    writeHandsOff(plan);
    writeHandCards(plan, "remove-led-", "lift the dead LED straight up and lay it on the tray.");
    writeCardsAfterHands(plan);
}

} // namespace

const HeatKindRules removeHeat{limits,          handsAim,    meltingRefusals,
                               meltingWarnings, cardsBefore, stagesAndCards};

} // namespace stripwright
