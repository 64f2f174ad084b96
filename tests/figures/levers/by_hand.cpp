#include "by_hand.h"

#include <cmath>

namespace stripwright::figures {

StripByHand stripByHand(const BenchSheet& sheet, double growthPerS)
{
    constexpr double mm = 1e-3, um = 1e-6;
    const StripType& type = sheet.strip;
    const double w = type.widthMm * mm, t = type.core.thicknessMm * mm,
                 copperT = type.copper.thicknessUm * um;
    StripByHand strip;
    strip.conductivityTimesAreaWmPerK =
        (type.core.conductivityWPerMK * t + type.copper.conductivityWPerMK * copperT) * w;
    strip.capacityJPerMK = (type.core.densityKgPerM3 * type.core.heatCapacityJPerKgK * t +
                            type.dielectric.volumetricHeatJPerM3K * type.dielectric.thicknessUm * um +
                            type.copper.volumetricHeatJPerM3K * copperT) *
                           w;
    strip.coveredWPerMK = sheet.air.filmTopWPerM2K * w + 2 * sheet.air.filmSideWPerM2K * t;
    strip.bareWPerMK = strip.coveredWPerMK + sheet.air.filmUndersideWPerM2K * w;
    // A third of the core in series with the contact: mean temperature of a slab heated through one face.
    strip.plateWPerMK = w / (1 / sheet.contact.nominalWPerM2K + t / 3 / type.core.conductivityWPerMK);
    strip.tipWPerK = sheet.air.filmSideWPerM2K * w * t;
    strip.widthM = w;
    strip.growthPerS = growthPerS;
    return strip;
}

double Fin::share(double xM) const
{
    const auto shape = [&](double leftM) {
        return std::cosh(mPerM * leftM) + ratio * std::sinh(mPerM * leftM);
    };
    return shape(lengthM - xM) / shape(lengthM);
}

Fin fin(const StripByHand& strip, double lossWPerMK, double lengthM, double nextWPerK)
{
    const double kA = strip.conductivityTimesAreaWmPerK;
    Fin one{lengthM, std::sqrt(strip.perM(lossWPerMK) / kA), 0, 0};
    one.ratio = nextWPerK / (kA * one.mPerM);
    const double tanhML = std::tanh(one.mPerM * lengthM);
    one.takesWPerK = kA * one.mPerM * (one.ratio + tanhML) / (1 + one.ratio * tanhML);
    return one;
}

Overhang overhang(const StripByHand& strip, double lengthM, const PlacedSinkBlock* block, double blockFromM)
{
    Overhang over;
    over.lengthM = lengthM;
    over.hasBlock = block;
    if (!block) {
        over.gap = fin(strip, strip.bareWPerMK, lengthM, strip.tipWPerK);
        return over;
    }
    const double kA = strip.conductivityTimesAreaWmPerK, L = block->block.lengthMm * 1e-3;
    over.blockFromM = blockFromM;
    over.blockLengthM = L;
    over.tail = fin(strip, strip.bareWPerMK, lengthM - blockFromM - L, strip.tipWPerK);
    over.contactWPerMK = block->block.conductanceWPerM2K * strip.widthM;
    over.blockLossWPerK = block->block.lossWPerK + strip.growthPerS * block->block.heatCapacityJPerK;

    // kA theta'' = loss theta + contact (theta - 1): the fin settles towards beta where it is long.
    const double q = over.contactWPerMK, loss = strip.perM(strip.coveredWPerMK);
    over.mPerM = std::sqrt((loss + q) / kA);
    over.beta = q / (loss + q);
    const double sinhML = std::sinh(over.mPerM * L), coshML = std::cosh(over.mPerM * L);
    const double y = over.tail.takesWPerK / (kA * over.mPerM);
    // The block keeps its 1 K: contact times the integral of (theta - 1) is what it loses. At the outer end b
    // = y (beta + a).
    over.a = (over.blockLossWPerK / q + (1 - over.beta) * L - y * over.beta * (coshML - 1) / over.mPerM) *
             over.mPerM / (sinhML + y * (coshML - 1));
    over.b = y * (over.beta + over.a);
    over.outerOverBlock = over.beta + over.a;
    over.innerOverBlock = over.beta + over.a * coshML + over.b * sinhML;
    over.atBlockWPerK = kA * over.mPerM * (over.a * sinhML + over.b * coshML) / over.innerOverBlock;
    over.gap = fin(strip, strip.bareWPerMK, blockFromM, over.atBlockWPerK);
    return over;
}

double Overhang::share(double xM) const
{
    if (!hasBlock || xM <= blockFromM)
        return gap.share(xM);
    const double xi = blockFromM + blockLengthM - xM;
    if (xi >= 0)
        return blockShare() * (beta + a * std::cosh(mPerM * xi) + b * std::sinh(mPerM * xi));
    return blockShare() * outerOverBlock * tail.share(-xi);
}

double Overhang::blockShare() const
{
    return gap.share(blockFromM) / innerOverBlock;
}

ByHand byHand(const BenchSheet& sheet, double plateOverAmbientK, double growthPerS)
{
    constexpr double mm = 1e-3;
    const StripByHand strip = stripByHand(sheet, growthPerS);
    const double startMm = sheet.plateStartMm, endMm = sheet.plateEndMm();
    const PlacedSinkBlock *nearBlock = nullptr, *farBlock = nullptr;
    for (const PlacedSinkBlock& placed : sheet.sinkBlocks)
        (placed.startMm < startMm ? nearBlock : farBlock) = &placed;
    ByHand all{strip, startMm * mm, sheet.plate.lengthMm * mm, {}, {}};
    all.near = overhang(strip, startMm * mm, nearBlock,
                        nearBlock ? (startMm - nearBlock->startMm - nearBlock->block.lengthMm) * mm : 0);
    all.far = overhang(strip, (sheet.strip.lengthMm - endMm) * mm, farBlock,
                       farBlock ? (farBlock->startMm - endMm) * mm : 0);

    const double kA = strip.conductivityTimesAreaWmPerK, loss = strip.perM(strip.coveredWPerMK);
    all.mPerM = std::sqrt((loss + strip.plateWPerMK) / kA);
    all.settledK = plateOverAmbientK * strip.plateWPerMK / (loss + strip.plateWPerMK);
    const double nearY = all.near.takesWPerK() / (kA * all.mPerM),
                 farY = all.far.takesWPerK() / (kA * all.mPerM);
    const double sinhML = std::sinh(all.mPerM * all.plateLengthM),
                 coshML = std::cosh(all.mPerM * all.plateLengthM);
    // What flows over the near edge is near.takes times the temperature there, b = nearY (settled + a); the
    // same at the far edge gives a.
    all.a = -all.settledK * (nearY * coshML + farY + farY * nearY * sinhML) /
            (sinhML + nearY * coshML + farY * coshML + farY * nearY * sinhML);
    all.b = nearY * (all.settledK + all.a);
    return all;
}

double ByHand::fromPlateW() const
{
    const double meanKM = settledK * plateLengthM + a * std::sinh(mPerM * plateLengthM) / mPerM +
                          b * (std::cosh(mPerM * plateLengthM) - 1) / mPerM;
    return nearEdgeK() * near.takesWPerK() + farEdgeK() * far.takesWPerK() +
           strip.perM(strip.coveredWPerMK) * meanKM;
}

double ByHand::overAmbientK(double xM) const
{
    const double inM = xM - plateStartM;
    const auto over = [&](double fromEdgeM) {
        return settledK + a * std::cosh(mPerM * fromEdgeM) + b * std::sinh(mPerM * fromEdgeM);
    };
    if (inM < 0)
        return over(0) * near.share(-inM);
    if (inM > plateLengthM)
        return over(plateLengthM) * far.share(inM - plateLengthM);
    return over(inM);
}

} // namespace stripwright::figures
