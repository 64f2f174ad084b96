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

namespace {

constexpr double mm = 1e-3, um = 1e-6;

double jointM2(const LedPackage& led)
{
    return std::min(led.lengthMm, led.padLengthMm) * std::min(led.widthMm, led.padWidthMm) * mm * mm;
}

/// What the new LED stands on.
const Alloy& solderOf(const BenchSheet& sheet)
{
    return sheet.usesFreshSolder() || !sheet.oldAlloy ? sheet.paste.alloy : *sheet.oldAlloy;
}

double solderKPerW(const BenchSheet& sheet)
{
    return sheet.strip.jointThicknessUm * um /
           (solderOf(sheet).conductivityWPerMK * jointM2(sheet.strip.led));
}

} // namespace

SetDownBody setDownBodyOf(const BenchSheet& sheet)
{
    const LedPackage& led = sheet.strip.led;
    const double bodyM2 = led.lengthMm * led.widthMm * mm * mm, copperM2 = heatedCopperM2(sheet.strip);
    const Dielectric& dielectric = sheet.strip.dielectric;
    const Core& core = sheet.strip.core;
    return {.heatCapacityJPerK = led.volumetricHeatJPerM3K * bodyM2 * led.heightMm * mm,
            .toCoreKPerW = dielectric.thicknessUm * um / (dielectric.conductivityWPerMK * copperM2) +
                           core.thicknessMm * mm / 2 / (core.conductivityWPerMK * copperM2) +
                           solderKPerW(sheet),
            .acrossKPerW = led.heightMm * mm / (led.conductivityWPerMK * bodyM2)};
}

PadDip padDipOf(const BenchSheet& sheet, double padC, double startC)
{
    const StripType& strip = sheet.strip;
    const SetDownBody body = setDownBodyOf(sheet);
    const Alloy& solder = solderOf(sheet);
    const double padM2 = strip.led.padLengthMm * strip.led.padWidthMm * mm * mm;
    return {.padJPerK = strip.copper.volumetricHeatJPerM3K * strip.copper.thicknessUm * um * padM2 +
                        solder.densityKgPerM3 * solder.heatCapacityJPerKgK * strip.jointThicknessUm * um *
                            jointM2(strip.led),
            .bodyJPerK = body.heatCapacityJPerK,
            .padToCoreKPerW = body.toCoreKPerW - solderKPerW(sheet),
            .padToBodyKPerW = solderKPerW(sheet) + 0.4 * body.acrossKPerW,
            .coreC = padC,
            .startC = startC};
}

double mostShockK(const LedPackage& led)
{
    if (led.body == BodyMaterial::Plastic)
        return 225;
    const double longMm = std::max(led.lengthMm, led.widthMm), shortMm = std::min(led.lengthMm, led.widthMm);
    return longMm <= 3.2 && shortMm <= 1.6 ? 150 : 130;
}

namespace {

constexpr double spareOffEdgeMm = 35, spareFromEndMm = 3, betweenSparesMm = 3;

double spareRowMm(const BenchSheet& sheet, size_t spares)
{
    return static_cast<double>(spares - 1) * (sheet.strip.led.lengthMm + betweenSparesMm);
}

} // namespace

double spareOverhangMm(const BenchSheet& sheet, size_t spares)
{
    return spareOffEdgeMm + spareRowMm(sheet, spares) + spareFromEndMm;
}

std::vector<SpareLed> sparesOf(const BenchSheet& sheet)
{
    const std::vector<int> targets = sheet.targets();
    if (targets.empty())
        return {};
    const double before = sheet.plateStartMm, beyond = sheet.strip.lengthMm - sheet.plateEndMm();
    const double rowMm = spareRowMm(sheet, targets.size());
    if (!sheet.spareMm && std::max(before, beyond) < spareOverhangMm(sheet, targets.size()))
        return {};
    const double firstMm = sheet.spareMm.value_or(beyond >= before ? sheet.plateEndMm() + spareOffEdgeMm
                                                                   : sheet.plateStartMm - spareOffEdgeMm);
    const double awayFromPlate = firstMm > sheet.plateStartMm ? 1 : -1;
    const double lastMm = firstMm + awayFromPlate * rowMm;
    if (lastMm < 0 || lastMm > sheet.strip.lengthMm)
        return {};
    std::vector<SpareLed> spares;
    for (const int site : targets)
        spares.push_back({site, firstMm + awayFromPlate * static_cast<double>(spares.size()) *
                                              (sheet.strip.led.lengthMm + betweenSparesMm)});
    return spares;
}

} // namespace stripwright
