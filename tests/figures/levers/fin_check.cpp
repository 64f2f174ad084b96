#include "fin_check.h"

#include "by_hand.h"

#include "thermal/predict.h"

#include <cmath>
#include <cstdio>

namespace stripwright::figures {

namespace {

constexpr double fineCellMm = 0.25;
constexpr double foldS = 100; ///< Rise by e in this time: from 1 K over the room to soldering in 9 minutes.

/// What the closed form can be asked for: no radiation, LEDs or lenses, no heat capacity that rises.
BenchSheet bare(BenchSheet sheet)
{
    sheet.strip.emissivityTop = sheet.strip.emissivityUnderside = sheet.strip.emissivitySide = 0;
    sheet.strip.core.heatCapacitySlopeJPerKgK2 = 0;
    sheet.strip.siteXMm.clear();
    sheet.strip.lens.reset();
    sheet.strip.glue.reset();
    sheet.sites.clear();
    return sheet;
}

struct Place {
    std::string name;
    double xMm = 0;
    int block = 0; ///< Its number; 0: a place of the strip.
};

std::vector<Place> placesOf(const BenchSheet& sheet)
{
    std::vector<Place> near, far, blocks;
    for (size_t i = 0; i < sheet.strip.siteXMm.size(); ++i) {
        const double x = sheet.strip.siteXMm[i], footMm = sheet.strip.lens->footCircleMm / 2;
        const std::string name = "lens " + std::to_string(i + 1) + ", nearer foot";
        if (x + footMm < sheet.plateStartMm)
            near.push_back({name, x + footMm});
        else if (x - footMm > sheet.plateEndMm())
            far.push_back({name, x - footMm});
    }
    near.push_back({"plate's near edge", sheet.plateStartMm});
    far.insert(far.begin(), {"plate's far edge", sheet.plateEndMm()});
    near.insert(near.end(), far.begin(), far.end());
    for (size_t b = 0; b < sheet.sinkBlocks.size(); ++b) {
        const PlacedSinkBlock& placed = sheet.sinkBlocks[b];
        const char* side = placed.startMm < sheet.plateStartMm ? "near" : "far";
        near.push_back({std::string("block, ") + side + " side", placed.startMm + placed.block.lengthMm / 2,
                        static_cast<int>(b) + 1});
    }
    return near;
}

double handC(const ByHand& hand, const BenchSheet& sheet, const Place& place)
{
    if (place.block == 0)
        return sheet.air.ambientC + hand.overAmbientK(place.xMm * 1e-3);
    return sheet.air.ambientC + (place.xMm < sheet.plateStartMm ? hand.nearEdgeK() * hand.near.blockShare()
                                                                : hand.farEdgeK() * hand.far.blockShare());
}

std::vector<double> modelC(const BenchSheet& sheet, const std::vector<Place>& places, double plateC,
                           double growthPerS, double cellMm)
{
    PredictOptions options;
    options.cellMm = cellMm;
    for (const Place& place : places)
        options.stripXMm.push_back(place.xMm);
    PlateCurve plate{{0}, {plateC}};
    if (growthPerS > 0) {
        // From so little that what the start was is forgotten at the end.
        constexpr double startK = 0.01;
        plate = {};
        const double endS = std::log((plateC - sheet.air.ambientC) / startK) / growthPerS;
        const int steps = static_cast<int>(std::ceil(endS));
        for (int i = 0; i <= steps; ++i) {
            const double t = endS * i / steps;
            plate.timeS.push_back(t);
            plate.plateC.push_back(sheet.air.ambientC + startK * std::exp(growthPerS * t));
        }
        options.outputStepS = endS;
    } else {
        options.endS = 40000;
        options.stepS = options.outputStepS = 20;
    }
    const Prediction prediction = predict(sheet, plate, options);
    // Stations at places of the strip come last, in their order.
    const size_t first = prediction.stations.size() - places.size();
    std::vector<double> values;
    for (size_t i = 0; i < places.size(); ++i) {
        const int block = places[i].block;
        const auto* ofBlock = block ? prediction.find("block_" + std::to_string(block)) : nullptr;
        values.push_back((ofBlock ? *ofBlock : prediction.stations[first + i]).valueC.back());
    }
    return values;
}

void printStrip(const BenchSheet& sheet, const StripByHand& strip)
{
    const StripType& type = sheet.strip;
    std::printf("  k A = (%g W/mK x %g mm + %g W/mK x %g mm of copper) x %g mm = %.4e W m/K\n",
                type.core.conductivityWPerMK, type.core.thicknessMm, type.copper.conductivityWPerMK,
                type.copper.thicknessUm / 1000, type.widthMm, strip.conductivityTimesAreaWmPerK);
    std::printf(
        "  loss a metre, four faces in air: (%.2f top + %.2f underside) W/m2K x %g mm + 2 x %.2f x %g "
        "mm = %.4f W/mK\n",
        sheet.air.filmTopWPerM2K, sheet.air.filmUndersideWPerM2K, type.widthMm, sheet.air.filmSideWPerM2K,
        type.core.thicknessMm, strip.bareWPerMK);
    std::printf("  underside covered, by block or plate: %.4f W/mK; end face %.2e W/K\n", strip.coveredWPerMK,
                strip.tipWPerK);
    std::printf("  to the plate: %g mm / (1/%g + %g mm / 3 / %g) = %.3f W/mK\n", type.widthMm,
                sheet.contact.nominalWPerM2K, type.core.thicknessMm, type.core.conductivityWPerMK,
                strip.plateWPerMK);
}

void printGrowth(const BenchSheet& sheet, const StripByHand& strip)
{
    if (strip.growthPerS <= 0)
        return;
    std::printf("  growing, s = 1/%g per s: every loss a metre gets s c = s x %.3f J/mK = %.4f W/mK more",
                1 / strip.growthPerS, strip.capacityJPerMK, strip.growthPerS * strip.capacityJPerMK);
    const double blockJPerK = sheet.sinkBlocks.front().block.heatCapacityJPerK;
    std::printf(",\n  the block's loss s C = s x %g J/K = %.3f W/K more\n", blockJPerK,
                strip.growthPerS * blockJPerK);
}

void printFarSide(const ByHand& without, const ByHand& with)
{
    const double kA = with.strip.conductivityTimesAreaWmPerK;
    const Overhang& over = with.far;
    const Fin& alone = without.far.gap;
    std::printf(
        "  far side without: m = sqrt(%.4f / kA) = %.3f 1/m over %.1f mm, takes %.5f W/K at the edge\n",
        without.strip.perM(without.strip.bareWPerMK), alone.mPerM, 1e3 * alone.lengthM, alone.takesWPerK);
    std::printf("  far side with, from the tip inwards:\n");
    std::printf("    tail    %5.1f mm, m %.3f 1/m: takes %.5f W/K\n", 1e3 * over.tail.lengthM,
                over.tail.mPerM, over.tail.takesWPerK);
    std::printf(
        "    block   %5.1f mm, contact q = %.3f W/mK, loss %.4f W/K; m = sqrt((%.4f + q) / kA) = %.3f "
        "1/m, beta = %.4f\n"
        "            for a block of 1 K: a = %.5f, b = %.5f; strip %.4f K at its outer end, %.4f K at "
        "its inner\n"
        "            takes k A m (a sinh + b cosh) / inner = %.5f W/K\n",
        1e3 * over.blockLengthM, over.contactWPerMK, over.blockLossWPerK,
        with.strip.perM(with.strip.coveredWPerMK), over.mPerM, over.beta, over.a, over.b, over.outerOverBlock,
        over.innerOverBlock, over.atBlockWPerK);
    std::printf(
        "    gap     %5.1f mm, m %.3f 1/m, what follows over k A m = %.4f: takes %.5f W/K at the edge\n",
        1e3 * over.gap.lengthM, over.gap.mPerM, over.gap.ratio, over.gap.takesWPerK);
    std::printf(
        "    plate   m = sqrt((%.4f + %.3f) / kA) = %.2f 1/m, k A m = %.4f W/K; core far from the edges "
        "%.2f K over the room,\n"
        "            at the far edge %.2f K without and %.2f K with\n",
        with.strip.perM(with.strip.coveredWPerMK), with.strip.plateWPerMK, with.mPerM, kA * with.mPerM,
        with.settledK, without.farEdgeK(), with.farEdgeK());
}

void printOutwards(const ByHand& with, double ambientC)
{
    const Fin& gap = with.far.gap;
    const double edgeK = with.farEdgeK(), middleM = gap.lengthM / 2, endShare = gap.share(gap.lengthM);
    std::printf(
        "  and outwards again: at x of the gap, edge x [cosh m(L-x) + r sinh m(L-x)] / [cosh mL + r sinh "
        "mL], "
        "r = %.4f:\n            in its middle %.2f K x %.4f = %.2f K, %.2f C; at its end x %.4f = %.2f K;\n"
        "            the block %.2f K / %.4f = %.2f K, %.2f C\n",
        gap.ratio, edgeK, gap.share(middleM), edgeK * gap.share(middleM),
        ambientC + edgeK * gap.share(middleM), endShare, edgeK * endShare, edgeK * endShare,
        with.far.innerOverBlock, edgeK * with.far.blockShare(), ambientC + edgeK * with.far.blockShare());
}

void printCase(const BenchSheet& withBlocks, const std::vector<Place>& places, double plateC,
               double growthPerS)
{
    BenchSheet without = withBlocks;
    without.sinkBlocks.clear();
    const double plateK = plateC - withBlocks.air.ambientC, defaultCellMm = PredictOptions().cellMm;
    const ByHand handWithout = byHand(without, plateK, growthPerS),
                 handWith = byHand(withBlocks, plateK, growthPerS);
    printGrowth(withBlocks, handWith.strip);
    if (handWith.far.hasBlock) {
        printFarSide(handWithout, handWith);
        printOutwards(handWith, withBlocks.air.ambientC);
    }
    std::vector<Place> ofStrip;
    for (const Place& place : places)
        if (place.block == 0)
            ofStrip.push_back(place);
    const auto coarse = [&](const BenchSheet& sheet, const std::vector<Place>& of) {
        return modelC(sheet, of, plateC, growthPerS, defaultCellMm);
    };
    const std::vector<double> modelWithout = coarse(without, ofStrip), modelWith = coarse(withBlocks, places);
    const std::vector<double> fineWithout = modelC(without, ofStrip, plateC, growthPerS, fineCellMm),
                              fineWith = modelC(withBlocks, places, plateC, growthPerS, fineCellMm);
    std::printf("\n                                    without block, C            with block, C\n"
                "  place                 x mm    by hand    model  diff K    by hand    model  diff K\n");
    double worstK = 0, worstFineK = 0;
    const auto took = [&](double hand, double model, double fine) {
        worstK = std::max(worstK, std::abs(model - hand));
        worstFineK = std::max(worstFineK, std::abs(fine - hand));
        std::printf("  %9.2f %8.2f  %+6.3f", hand, model, model - hand);
    };
    for (size_t i = 0; i < places.size(); ++i) {
        std::printf("  %-20s %5.1f", places[i].name.c_str(), places[i].xMm);
        if (i < ofStrip.size())
            took(handC(handWithout, without, places[i]), modelWithout[i], fineWithout[i]);
        else
            std::printf("%28s", "");
        took(handC(handWith, withBlocks, places[i]), modelWith[i], fineWith[i]);
        std::printf("\n");
    }
    std::printf("  worst %.3f K with the model's cells of %g mm, %.4f K with cells of %g mm\n", worstK,
                defaultCellMm, worstFineK, fineCellMm);
}

} // namespace

void printFinCheck(const BenchSheet& withBlocks, double plateC)
{
    const std::vector<Place> places = placesOf(withBlocks);
    const BenchSheet sheet = bare(withBlocks);
    std::printf(
        "\nThe same BY HAND. Strip without LEDs, lenses and radiation in both, nominal contact, plate at "
        "%.1f C,\nroom at %g C: a chain of fins, the block a body of one temperature behind a contact "
        "spread over its length.\nExact for this; the model may differ by its cells only.\n\n",
        plateC, sheet.air.ambientC);
    printStrip(sheet, stripByHand(sheet, 0));
    std::printf("\n  (1) plate held until all is settled\n\n");
    printCase(sheet, places, plateC, 0);
    std::printf(
        "\n  (2) plate rising over the room by e every %g s, up to the same temperature: about as fast as in "
        "a "
        "heat, so\n  that strip and block take what warms them. All temperatures grow alike, and the same "
        "fins hold with s times\n  the heat capacity added to each loss.\n\n",
        foldS);
    printCase(sheet, places, plateC, 1 / foldS);
}

} // namespace stripwright::figures
