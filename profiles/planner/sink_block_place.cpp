#include "planner/sink_block_place.h"

#include <algorithm>
#include <utility>

namespace stripwright {

bool blocksFit(const BenchSheet& sheet)
{
    for (size_t i = 0; i < sheet.sinkBlocks.size(); ++i) {
        const PlacedSinkBlock& placed = sheet.sinkBlocks[i];
        const double end = placed.startMm + placed.block.lengthMm;
        if (placed.startMm < 0 || end > sheet.strip.lengthMm ||
            (end > sheet.plateStartMm && placed.startMm < sheet.plateEndMm()))
            return false;
        for (size_t j = 0; j < i; ++j) {
            const PlacedSinkBlock& other = sheet.sinkBlocks[j];
            if (end > other.startMm && placed.startMm < other.startMm + other.block.lengthMm)
                return false;
        }
    }
    return true;
}

// What becomes of the lenses on one side of the plate: how many are lost, then how hot the others' glue gets.
static std::pair<int, double> beyondPlate(const BenchSheet& sheet, const PredictedHeat& base, bool beyond)
{
    PredictOptions shared;
    shared.stepS = shared.outputStepS = base.reference.stepS;
    const Prediction& hottest = base.predictions.back();
    const Prediction prediction =
        predict(sheet, {hottest.timeS, hottest.plateC}, optionsIn(scenariosOf(sheet).back(), sheet, shared));
    const double capC = std::min(sheet.strip.lens->footMaxC, sheet.strip.glue->holdC);
    int lost = 0;
    double hottestKeptC = 0;
    for (const StationCurve& curve : prediction.stations) {
        const double x = curve.station.xMm;
        const StationKind kind = curve.station.kind;
        if ((kind != StationKind::Glue && kind != StationKind::FarFoot) ||
            !(beyond ? x > sheet.plateEndMm() : x < sheet.plateStartMm))
            continue;
        const double peakC = *std::max_element(curve.valueC.begin(), curve.valueC.end());
        if (peakC > capC)
            ++lost;
        else
            hottestKeptC = std::max(hottestKeptC, peakC);
    }
    return {lost, hottestKeptC};
}

std::optional<PlacedSinkBlock> bestBlockPlace(const BenchSheet& sheet, const PredictedHeat& base,
                                              const SinkBlock& block, bool beyond)
{
    constexpr double nearestMm = 3, stepMm = 6, farthestMm = 48; // of its edge from the plate's
    std::optional<PlacedSinkBlock> best;
    std::pair<int, double> least;
    for (double gapMm = nearestMm; gapMm <= farthestMm; gapMm += stepMm) {
        BenchSheet tried = sheet;
        tried.sinkBlocks.push_back(
            {block, beyond ? sheet.plateEndMm() + gapMm : sheet.plateStartMm - gapMm - block.lengthMm});
        if (!blocksFit(tried))
            continue;
        const auto there = beyondPlate(tried, base, beyond);
        if (!best || there < least) {
            best = tried.sinkBlocks.back();
            least = there;
        }
    }
    return best;
}

} // namespace stripwright
