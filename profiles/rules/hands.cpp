#include "rules/hands.h"

#include "rules/joint_solder.h"
#include "thermal/strip_model.h"

#include <algorithm>

namespace stripwright {

std::optional<HandWork> handWorkOf(const BenchSheet& sheet)
{
    const bool swap = sheet.heat == HeatKind::Swap;
    if ((!swap && sheet.heat != HeatKind::Remove) || sheet.targets().empty())
        return {};
    HandWork work{.sites = sheet.targets(), .meltsC = allMeltsC(sheet), .firstS = sheet.hands.firstS};
    work.eachS = swap ? sheet.hands.siteS : sheet.hands.liftS;
    work.newMeltsC = newMeltsC(sheet);
    if (swap) {
        work.setsDown = true;
        work.wettingS = wettingOf(sheet).planS;
        work.body = setDownBodyOf(sheet);
    }
    return work;
}

SetDownBody setDownBodyOf(const BenchSheet& sheet)
{
    constexpr double mm = 1e-3, um = 1e-6;
    const LedPackage& led = sheet.strip.led;
    const double bodyM2 = led.lengthMm * led.widthMm * mm * mm;
    const double jointM2 =
        std::min(led.lengthMm, led.padLengthMm) * std::min(led.widthMm, led.padWidthMm) * mm * mm;
    const double copperM2 = heatedCopperM2(sheet.strip);
    const Alloy& solder = sheet.usesFreshSolder() || !sheet.oldAlloy ? sheet.paste.alloy : *sheet.oldAlloy;
    const Dielectric& dielectric = sheet.strip.dielectric;
    const Core& core = sheet.strip.core;
    return {.heatCapacityJPerK = led.volumetricHeatJPerM3K * bodyM2 * led.heightMm * mm,
            .toCoreKPerW = dielectric.thicknessUm * um / (dielectric.conductivityWPerMK * copperM2) +
                           core.thicknessMm * mm / 2 / (core.conductivityWPerMK * copperM2) +
                           sheet.strip.jointThicknessUm * um / (solder.conductivityWPerMK * jointM2),
            .acrossKPerW = led.heightMm * mm / (led.conductivityWPerMK * bodyM2)};
}

double mostShockK(const LedPackage& led)
{
    if (led.body == BodyMaterial::Plastic)
        return 225;
    const double longMm = std::max(led.lengthMm, led.widthMm), shortMm = std::min(led.lengthMm, led.widthMm);
    return longMm <= 3.2 && shortMm <= 1.6 ? 150 : 130;
}

std::optional<double> spareAtMm(const BenchSheet& sheet)
{
    constexpr double offEdgeMm = 35, fromEndMm = 3;
    if (sheet.spareMm)
        return sheet.spareMm;
    const double before = sheet.plateStartMm, beyond = sheet.strip.lengthMm - sheet.plateEndMm();
    if (std::max(before, beyond) < offEdgeMm + fromEndMm)
        return {};
    return beyond >= before ? sheet.plateEndMm() + offEdgeMm : sheet.plateStartMm - offEdgeMm;
}

} // namespace stripwright
