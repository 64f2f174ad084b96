#include "drawn_bench.h"

#include <algorithm>

namespace stripwright::figures {

namespace {

double byRatio(double low, double high, double place)
{
    return low * std::pow(high / low, place);
}

} // namespace

DrawnBench drawBench(Dice& dice)
{
    DrawnBench bench;
    bench.contactPlace = dice.between(0, 1);
    bench.bowResistance = dice.between(0, 0.5);
    bench.arched = dice.chance(0.5);
    bench.patternSeed = static_cast<std::uint64_t>(dice.between(0, 1e9));
    bench.corePlace = dice.between(0, 1);
    bench.films = dice.between(0.8, 1.2);
    bench.roomRiseK = dice.between(-5, 5);
    bench.plateLosses = dice.between(0.9, 1.1);
    return bench;
}

BenchSheet truthOf(const BenchSheet& sheet, const DrawnBench& bench)
{
    BenchSheet truth = sheet;
    const ContactCondition& contact = sheet.contact;
    const double meanWPerM2K = byRatio(contact.lowWPerM2K, contact.highWPerM2K, bench.contactPlace);
    constexpr double placeMm = 15, placeSd = 0.2;
    const double fromMm = std::max(0.0, sheet.plateStartMm);
    const double toMm = std::min(sheet.plateEndMm(), sheet.strip.lengthMm);
    Dice dice(bench.patternSeed, 0);
    truth.contact.segments.clear();
    for (double atMm = fromMm; atMm < toMm - 1; atMm += placeMm) {
        const double endMm = std::min(toMm, atMm + placeMm);
        const double fromMiddle = ((atMm + endMm) - (fromMm + toMm)) / (toMm - fromMm); // -1 to 1
        const double gap = bench.arched ? 1 - fromMiddle * fromMiddle : fromMiddle * fromMiddle;
        const double hereWPerM2K =
            meanWPerM2K * std::exp(placeSd * dice.normal()) / (1 + bench.bowResistance * gap);
        truth.contact.segments.push_back(
            {atMm, endMm, std::clamp(hereWPerM2K, contact.lowWPerM2K, contact.highWPerM2K)});
    }
    Core& core = truth.strip.core;
    core.conductivityWPerMK =
        std::lerp(core.conductivityLowWPerMK.value_or(core.conductivityWPerMK),
                  core.conductivityHighWPerMK.value_or(core.conductivityWPerMK), bench.corePlace);
    Air& air = truth.air;
    for (double* film : {&air.filmTopWPerM2K, &air.filmUndersideWPerM2K, &air.filmSideWPerM2K})
        *film *= bench.films;
    air.ambientC += bench.roomRiseK;
    truth.plate.lossWPerK *= bench.plateLosses;
    truth.plate.radiatingAreaM2 *= bench.plateLosses;
    return truth;
}

DrawnHands drawHands(const BenchSheet& sheet, const DrawnBench& bench)
{
    constexpr double sd = 0.25, lateShare = 0.1;
    Dice dice(bench.patternSeed, 1);
    const double usualS = sheet.heat == HeatKind::Swap ? sheet.hands.siteS : sheet.hands.liftS;
    DrawnHands hands;
    hands.firstS = sheet.hands.firstS * std::exp(sd * dice.normal());
    for (size_t i = 0; i < sheet.targets().size(); ++i) {
        hands.eachS.push_back(usualS * std::exp(sd * dice.normal()));
        const bool late = dice.chance(lateShare);
        const double lateS = dice.between(3, 10);
        hands.eachS.back() += late ? lateS : 0;
    }
    return hands;
}

} // namespace stripwright::figures
