#include "planner/solder_melts.h"

#include "planner/hand_cards.h"

#include <algorithm>
#include <cmath>

namespace stripwright {

std::optional<SolderMelts> solderMelts(const BenchSheet& sheet)
{
    if (!meltsJoints(sheet.heat))
        return {};
    const bool fits = sheet.heat == HeatKind::Fit;
    if (!fits && !sheet.oldAlloy)
        return SolderMelts{lowestOldLiquidusC, highestOldLiquidusC, 0};
    const Alloy& alloy = fits ? sheet.paste.alloy : *sheet.oldAlloy;
    return SolderMelts{alloy.liquidusC, alloy.liquidusC, std::max(0.0, alloy.liquidusC - alloy.solidusC)};
}

static int numberBehind(const std::string& id)
{
    const size_t from = id.find_last_not_of("0123456789");
    constexpr size_t digitsMost = 6;
    const std::string digits = from == std::string::npos ? "" : id.substr(from + 1);
    return digits.empty() || digits.size() > digitsMost ? 0 : std::stoi(digits);
}

int siteToWatch(const HeatPlan& plan, const HandCard& card)
{
    const std::vector<int> targets = plan.sheet.targets();
    if (const int site = numberBehind(card.id); std::ranges::find(targets, site) != targets.end())
        return site;
    int coldest = targets.empty() ? 0 : targets.front();
    double coldestC = INFINITY;
    for (const int site : targets)
        if (const PlanCurve* joint = curveOf(plan, jointOf(site)))
            if (const double peakC = std::ranges::max(joint->nominalC); peakC < coldestC) {
                coldest = site;
                coldestC = peakC;
            }
    return coldest;
}

std::optional<double> surelyLiquidFromS(const HeatPlan& plan, int site)
{
    const auto melts = solderMelts(plan.sheet);
    const PlanCurve* joint = curveOf(plan, jointOf(site));
    if (!melts || !joint)
        return {};
    return firstRiseThrough({plan.timeS, joint->lowC}, melts->highC);
}

} // namespace stripwright
