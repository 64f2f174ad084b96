#include "rules/joint_solder.h"

#include "rules/alloy_rules.h"
#include "rules/residue.h"

#include <algorithm>

namespace stripwright {

double oldMeltsC(const BenchSheet& sheet)
{
    return sheet.oldAlloy ? sheet.oldAlloy->liquidusC : highestOldLiquidusC;
}

double allMeltsC(const BenchSheet& sheet)
{
    const bool charged = sheet.heat == HeatKind::Swap && sheet.way == SwapWay::ChargeLaidCold;
    return charged ? std::max(oldMeltsC(sheet), sheet.paste.alloy.liquidusC) : oldMeltsC(sheet);
}

MeltRange meltRangeOf(const BenchSheet& sheet)
{
    if (sheet.heat == HeatKind::Fit)
        return {sheet.paste.alloy.solidusC, sheet.paste.countLiquidusC};
    return {sheet.oldAlloy ? sheet.oldAlloy->solidusC : lowestOldLiquidusC, allMeltsC(sheet)};
}

double oldShare(const BenchSheet& sheet)
{
    constexpr double withAsMuchFresh = 0.5;
    if (!sheet.usesFreshSolder())
        return 1;
    return sheet.heat == HeatKind::Fit || sheet.way == SwapWay::TwoHeats ? residueOnWickedPad
                                                                         : withAsMuchFresh;
}

double newMeltsC(const BenchSheet& sheet)
{
    if (!sheet.usesFreshSolder())
        return oldMeltsC(sheet);
    const Alloy& fresh = sheet.paste.alloy;
    if (sheet.heat == HeatKind::Fit)
        return fresh.liquidusC;
    const double bothC = std::max(oldMeltsC(sheet), fresh.liquidusC);
    if (!sheet.oldAlloy || sheet.oldAlloy->id == fresh.id)
        return bothC;
    const auto mixed = mixedJoint(fresh, *sheet.oldAlloy, oldShare(sheet));
    return mixed && mixed->liquidusC ? std::min(bothC, *mixed->liquidusC) : bothC;
}

const Alloy& solderOf(const BenchSheet& sheet)
{
    return sheet.usesFreshSolder() || !sheet.oldAlloy ? sheet.paste.alloy : *sheet.oldAlloy;
}

static bool mayHold(const BenchSheet& sheet, bool Alloy::*element)
{
    const bool fresh = sheet.usesFreshSolder() && sheet.paste.alloy.*element;
    const bool old = sheet.heat != HeatKind::Fit && (!sheet.oldAlloy || (*sheet.oldAlloy).*element);
    return fresh || old;
}

Wetting wettingOf(const BenchSheet& sheet)
{
    if (mayHold(sheet, &Alloy::hasBismuth))
        return {.planS = 15, .slowSpreadS = 5};
    const bool onlyLead =
        sheet.oldAlloy && sheet.oldAlloy->hasLead && (!sheet.usesFreshSolder() || sheet.paste.alloy.hasLead);
    return onlyLead ? Wetting{.spreadS = 1.5} : Wetting{};
}

double fluxLifeS(const BenchSheet& sheet)
{
    return mayHold(sheet, &Alloy::hasLead) ? 45 : 60;
}

double staysSolidBelowC(const BenchSheet& sheet)
{
    if (sheet.oldAlloy)
        return sheet.oldAlloy->movableAboveC;
    return sheet.heat == HeatKind::Bake ? tinBismuthC : bismuthLeadC;
}

} // namespace stripwright
