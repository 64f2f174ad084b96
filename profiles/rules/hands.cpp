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

constexpr double spareOffEdgeMm = 35, betweenSparesMm = 3;

/// Whether an LED that lies there is on the strip, and clear of the LEDs and lenses that are on it.
bool isFree(const BenchSheet& sheet, double xMm)
{
    const double halfMm = sheet.strip.led.lengthMm / 2;
    if (xMm < halfMm || xMm > sheet.strip.lengthMm - halfMm)
        return false;
    for (const SiteOnBench& here : sheet.sites) {
        const double siteMm = sheet.strip.siteXMm[static_cast<size_t>(here.site - 1)];
        const Lens* lens = sheet.lensStaysOn(here.site) ? &*sheet.strip.lens : nullptr;
        const double reachMm =
            lens ? std::max(halfMm, (lens->footCircleMm + lens->footDiameterMm) / 2) : halfMm;
        if (std::abs(xMm - siteMm) < reachMm + halfMm + 1)
            return false;
    }
    return std::none_of(sheet.sinkBlocks.begin(), sheet.sinkBlocks.end(), [&](const PlacedSinkBlock& placed) {
        return xMm > placed.startMm - halfMm && xMm < placed.startMm + placed.block.lengthMm + halfMm;
    });
}

/// A row away from the plate, from there on; shorter than asked for where the strip ends.
std::vector<SpareLed> rowFrom(const BenchSheet& sheet, double firstMm, bool firstAsStated)
{
    constexpr double stepMm = 0.5;
    const double away = firstMm > sheet.plateStartMm ? 1 : -1;
    std::vector<SpareLed> row;
    double xMm = firstMm;
    for (const int site : sheet.targets()) {
        const bool asStated = firstAsStated && row.empty();
        while (!asStated && !isFree(sheet, xMm) && xMm >= 0 && xMm <= sheet.strip.lengthMm)
            xMm += away * stepMm;
        if (xMm < 0 || xMm > sheet.strip.lengthMm)
            break;
        row.push_back({site, xMm});
        xMm += away * (sheet.strip.led.lengthMm + betweenSparesMm);
    }
    return row;
}

} // namespace

std::vector<SpareLed> sparesOf(const BenchSheet& sheet)
{
    const size_t wanted = sheet.targets().size();
    const double before = sheet.plateStartMm, beyond = sheet.strip.lengthMm - sheet.plateEndMm();
    std::vector<double> firsts = {sheet.plateEndMm() + spareOffEdgeMm, sheet.plateStartMm - spareOffEdgeMm};
    if (before > beyond)
        std::swap(firsts[0], firsts[1]);
    if (sheet.spareMm)
        firsts = {*sheet.spareMm};
    for (const double firstMm : firsts)
        if (auto row = rowFrom(sheet, firstMm, sheet.spareMm.has_value()); row.size() == wanted)
            return row;
    return {};
}

} // namespace stripwright
