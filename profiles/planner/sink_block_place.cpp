#include "planner/sink_block_place.h"

#include <algorithm>

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

// How far the glue on one side of the plate passes its caps; squares, so that the worst lens counts most, and
// a little of the rest where none does.
static double excess(const BenchSheet& sheet, const Answer& base, bool beyond)
{
    const Scenario warm = scenariosOf(sheet)[warmAirScenario];
    const double stepS = base.reference.stepS;
    PlateCurve plate{{}, base.reference.plateC};
    for (size_t i = 0; i < plate.plateC.size(); ++i)
        plate.timeS.push_back(static_cast<double>(i) * stepS);
    PredictOptions options;
    options.contact = warm.contact;
    options.filmFactor = warm.filmFactor;
    options.ambientC = sheet.air.ambientC + warm.ambientRiseK;
    options.stepS = options.outputStepS = stepS;
    const Prediction prediction = predict(sheet, plate, options);
    double sum = 0;
    for (const StationCurve& curve : prediction.stations) {
        const double x = curve.station.xMm;
        if (curve.station.kind != StationKind::Glue ||
            !(beyond ? x > sheet.plateEndMm() : x < sheet.plateStartMm))
            continue;
        const double over = *std::max_element(curve.valueC.begin(), curve.valueC.end()) -
                            std::min(sheet.strip.lens->footMaxC, sheet.strip.glue->maxC);
        sum += std::max(over, 0.0) * std::max(over, 0.0) + 0.01 * over;
    }
    return sum;
}

std::optional<PlacedSinkBlock> bestBlockPlace(const BenchSheet& sheet, const Answer& base,
                                              const SinkBlock& block, bool beyond)
{
    constexpr double nearestMm = 3, stepMm = 6, farthestMm = 48; // of its edge from the plate's
    std::optional<PlacedSinkBlock> best;
    double least = 0;
    for (double gapMm = nearestMm; gapMm <= farthestMm; gapMm += stepMm) {
        BenchSheet tried = sheet;
        tried.sinkBlocks.push_back(
            {block, beyond ? sheet.plateEndMm() + gapMm : sheet.plateStartMm - gapMm - block.lengthMm});
        if (!blocksFit(tried))
            continue;
        const double passes = excess(tried, base, beyond);
        if (!best || passes < least) {
            best = tried.sinkBlocks.back();
            least = passes;
        }
    }
    return best;
}

} // namespace stripwright
