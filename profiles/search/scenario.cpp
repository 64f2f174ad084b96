#include "search/scenario.h"

#include <algorithm>
#include <cmath>

namespace stripwright {

std::vector<Scenario> scenariosOf(const BenchSheet& sheet)
{
    const Core& core = sheet.strip.core;
    const double lowWPerMK = core.conductivityLowWPerMK.value_or(core.conductivityWPerMK),
                 highWPerMK = core.conductivityHighWPerMK.value_or(core.conductivityWPerMK);
    const double films = sheet.air.filmRangeShare, roomK = sheet.air.ambientRangeK,
                 losses = sheet.plate.lossRangeShare;
    std::vector<Scenario> all = {{ContactLevel::Low, 1 + films, -roomK, highWPerMK, 1 + losses},
                                 {ContactLevel::Nominal, 1, 0, core.conductivityWPerMK, 1},
                                 {ContactLevel::High, 1 - films, roomK, lowWPerMK, 1 - losses}};
    if (lowWPerMK < highWPerMK) {
        all.push_back(all.back());
        all.back().coreWPerMK = highWPerMK;
    }
    return all;
}

size_t hottestParts(const BenchSheet& sheet)
{
    return scenariosOf(sheet).size() - 1;
}

BenchSheet asThoughKnown(BenchSheet sheet)
{
    constexpr double least = 1e-6; // a range is never nothing
    ContactCondition& contact = sheet.contact;
    contact.lowWPerM2K = contact.highWPerM2K = contact.nominalWPerM2K;
    Core& core = sheet.strip.core;
    core.conductivityLowWPerMK.reset();
    core.conductivityHighWPerMK.reset();
    sheet.air.filmRangeShare = sheet.air.ambientRangeK = sheet.plate.lossRangeShare = least;
    return sheet;
}

PlateCurve plateIn(const Scenario& scenario, const PlateCurve& plate, double heaterOffS)
{
    PlateCurve in = plate;
    for (size_t i = 0; i < in.timeS.size(); ++i)
        if (const double afterS = in.timeS[i] - heaterOffS; afterS > 0)
            in.plateC[i] = plate.at(heaterOffS + afterS * scenario.plateLossFactor);
    return in;
}

std::vector<double> coastingIn(const Scenario& scenario, std::span<const double> plateC, double stepS,
                               double heaterOffS)
{
    std::vector<double> in(plateC.begin(), plateC.end());
    for (size_t i = 0; plateC.size() > 1 && i < in.size(); ++i) {
        const double afterS = static_cast<double>(i) * stepS - heaterOffS;
        if (afterS <= 0)
            continue;
        const double place = (heaterOffS + afterS * scenario.plateLossFactor) / stepS;
        const auto before = std::min(static_cast<size_t>(place), plateC.size() - 2);
        in[i] =
            plateC[before] + (place - static_cast<double>(before)) * (plateC[before + 1] - plateC[before]);
    }
    return in;
}

PredictOptions optionsIn(const Scenario& scenario, const BenchSheet& sheet, PredictOptions shared)
{
    shared.contact = scenario.contact;
    shared.filmFactor = scenario.filmFactor;
    shared.ambientC = sheet.air.ambientC + scenario.ambientRiseK;
    shared.startC = sheet.air.ambientC;
    shared.coreWPerMK = scenario.coreWPerMK;
    return shared;
}

} // namespace stripwright
