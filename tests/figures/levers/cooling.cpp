#include "by_hand.h"
#include "levers.h"

#include "search/plate_reference.h"
#include "thermal/heat_network.h"

#include <algorithm>
#include <cmath>
#include <cstdio>

namespace stripwright::figures {

namespace {

struct Variant {
    std::string name;
    BenchSheet sheet;
    const WhatIf* lever = nullptr; ///< That whatIf made it by; none as the sheet is.
};

std::vector<Variant> variantsOf(const BenchSheet& sheet, const WhatIfAnswer& answer)
{
    std::vector<Variant> variants{{sheet.paste.id + ", no fan", sheet}};
    for (const WhatIf& one : answer.levers) {
        if (!one.helps || one.refused || (one.lever != "fan" && one.lever != "paste"))
            continue;
        Variant variant{one.sheet.paste.id + (one.sheet.cooling.fan ? ", fan from heater-off" : ", no fan"),
                        sheet, &one};
        variant.sheet.cooling = one.sheet.cooling;
        variant.sheet.paste = one.sheet.paste;
        variants.push_back(variant);
    }
    return variants;
}

/// One body that cools.
struct Lump {
    double capacityJPerK = 0, lossWPerK = 0, radiatingAreaM2 = 0;
};

Lump plateAlone(const BenchSheet& sheet)
{
    const PlateType& plate = sheet.plate;
    return {plate.heatCapacityJPerK, plate.lossWPerK + (sheet.cooling.fan ? plate.fanLossWPerK : 0),
            plate.radiatingAreaM2};
}

/// What the strip takes as fins that have settled, without LEDs and lenses, its radiation as a film.
Lump stripOnIt(BenchSheet sheet, double plateC)
{
    const double hotK = (plateC + sheet.air.ambientC) / 2 + zeroCelsiusK,
                 coldK = sheet.air.ambientC + zeroCelsiusK;
    const double perEmissivity = stefanBoltzmannWPerM2K4 * (hotK * hotK + coldK * coldK) * (hotK + coldK);
    sheet.air.filmTopWPerM2K += sheet.strip.emissivityTop * perEmissivity;
    sheet.air.filmUndersideWPerM2K += sheet.strip.emissivityUnderside * perEmissivity;
    sheet.air.filmSideWPerM2K += sheet.strip.emissivitySide * perEmissivity;
    const ByHand hand = byHand(sheet, 1, 0);
    return {hand.strip.capacityJPerMK * hand.plateLengthM, hand.fromPlateW(), 0};
}

double lossW(const Lump& lump, double atC, double ambientC)
{
    return lump.lossWPerK * (atC - ambientC) +
           lump.radiatingAreaM2 * stefanBoltzmannWPerM2K4 *
               (std::pow(atC + zeroCelsiusK, 4) - std::pow(ambientC + zeroCelsiusK, 4));
}

/// Simpson's rule for C times the integral of dT / loss, from three losses.
double coastByHandS(const Lump& lump, double fromC, double toC, double ambientC)
{
    const auto perW = [&](double atC) { return 1 / lossW(lump, atC, ambientC); };
    return lump.capacityJPerK * (fromC - toC) / 6 * (perW(fromC) + 4 * perW((fromC + toC) / 2) + perW(toC));
}

Lump together(const Lump& a, const Lump& b)
{
    return {a.capacityJPerK + b.capacityJPerK, a.lossWPerK + b.lossWPerK,
            a.radiatingAreaM2 + b.radiatingAreaM2};
}

/// From a curve's peak to its last fall through a level.
std::optional<double> fallS(Curve curve, double levelC)
{
    const auto fall = lastFallThrough(curve, levelC);
    return fall ? std::optional(*fall - peakOf(curve)->atS) : std::nullopt;
}

void printSteps(const HeatPlan& plan)
{
    const Lump plate = plateAlone(plan.sheet);
    const double ambientC = plan.sheet.air.ambientC, toC = plan.sheet.paste.countLiquidusC;
    const double fromC = peakOf({plan.timeS, plan.plateC})->valueC, middleC = (fromC + toC) / 2;
    std::printf("\n  The plate by hand, as one body: C dT/dt = -G (T - Ta) - eA sigma (T^4 - Ta^4)\n"
                "    C = %g J/K, G = %g W/K, eA = %g m2, Ta = %g C\n",
                plate.capacityJPerK, plate.lossWPerK, plate.radiatingAreaM2, ambientC);
    for (double atC : {fromC, middleC, toC}) {
        const double linearW = plate.lossWPerK * (atC - ambientC), allW = lossW(plate, atC, ambientC);
        std::printf("    at %5.1f C: %g x %.1f K = %.1f W and %.1f W of radiation: %.1f W, falls %.3f K/s\n",
                    atC, plate.lossWPerK, atC - ambientC, linearW, allW - linearW, allW,
                    allW / plate.capacityJPerK);
    }
    std::printf(
        "    from the plan's plate peak to liquidus, Simpson: C x %.1f K / 6 x (1/%.1f + 4/%.1f + 1/%.1f) = "
        "%.1f s\n",
        fromC - toC, lossW(plate, fromC, ambientC), lossW(plate, middleC, ambientC),
        lossW(plate, toC, ambientC), coastByHandS(plate, fromC, toC, ambientC));
    const Lump strip = stripOnIt(plan.sheet, middleC);
    std::printf(
        "    with the strip on it, settled fins, radiation as a film: C %.1f J/K and G %.4f W/K more,\n"
        "    at %.1f C %.1f W more: %.1f s\n",
        strip.capacityJPerK, strip.lossWPerK, middleC, lossW(strip, middleC, ambientC),
        coastByHandS(together(plate, strip), fromC, toC, ambientC));
    std::printf(
        "    at the plate's peak its element gives as much as is lost and fades over its lag: %g s more\n",
        plan.sheet.plate.elementLagS);
}

void printPlateRow(const std::string& name, const HeatPlan& plan)
{
    const BenchSheet& sheet = plan.sheet;
    const Curve curve{plan.timeS, plan.plateC};
    const double fromC = peakOf(curve)->valueC, toC = sheet.paste.countLiquidusC,
                 ambientC = sheet.air.ambientC;
    const Lump plate = plateAlone(sheet), all = together(plate, stripOnIt(sheet, (fromC + toC) / 2));
    std::printf("  %-40s %6.1f %5.0f %9.1f %7.0f %9.1f %8.1f\n", name.c_str(), fromC, toC,
                coastByHandS(plate, fromC, toC, ambientC),
                coastS(sheet.plate, fromC, toC, ambientC, sheet.cooling.fan),
                coastByHandS(all, fromC, toC, ambientC) + sheet.plate.elementLagS,
                fallS(curve, toC).value_or(0));
}

void printJointRow(const std::string& name, const HeatPlan& plan)
{
    const BenchSheet& sheet = plan.sheet;
    const double liquidusC = sheet.paste.countLiquidusC;
    const StationId joint = jointOf(sheet.targets().front());
    for (const PlanCurve& curve : plan.curves) {
        if (curve.station != joint)
            continue;
        for (const auto& [contact, valueC] :
             {std::pair{"low", &curve.lowC}, {"nominal", &curve.nominalC}, {"high", &curve.highC}}) {
            const Curve at{plan.timeS, *valueC};
            const double aboveS = timeAboveS(at, liquidusC), downS = fallS(at, liquidusC).value_or(0);
            std::printf("  %-40s %-8s %6.1f  %9.1f %8.1f %8.1f %8.2f\n", name.c_str(), contact,
                        peakOf(at)->valueC, aboveS - downS, downS, aboveS,
                        meanCoolingCPerS(at, liquidusC).value_or(0));
        }
    }
}

void printBroken(const HeatPlan& plan)
{
    const Judgement judged = judgementOf(plan);
    std::printf("  As the sheet is, fan off: %s. Lenses lost: %s. Broken apart from lenses:\n",
                plan.runnable ? "runnable" : "not runnable", lensesInWords(judged.lost).c_str());
    int broken = 0;
    for (const MarginRow& row : plan.margins) {
        if (lensSiteOf(row.limit) > 0 || row.margin >= 0)
            continue;
        ++broken;
        const int decimals = std::string(row.limit.unit()) == "K/s" ? 2 : 1;
        std::printf("    %s%s\n      at low contact %.*f, nominal %.*f, high %.*f %s; allowed",
                    inWords(row).c_str(), row.limit.habit ? ", a habit" : "", decimals, row.low.value_or(0),
                    decimals, row.nominal.value_or(0), decimals, row.high.value_or(0), row.limit.unit());
        if (row.limit.min)
            std::printf(" from %g", *row.limit.min);
        if (row.limit.max)
            std::printf(" to %g", *row.limit.max);
        std::printf("\n");
    }
    if (broken == 0)
        std::printf("    nothing\n");
}

std::vector<int> lensesOff(const BenchSheet& sheet)
{
    std::vector<int> off;
    for (const SiteOnBench& site : sheet.sites)
        if (site.lens == LensState::Off)
            off.push_back(site.site);
    return off;
}

/// Returns the lenses lost.
std::vector<int> printVerdict(const HeatPlan& plan, const char* remark)
{
    const Judgement judged = judgementOf(plan);
    std::printf("    %-19s %-19s %-46s %s%s\n", lensesInWords(lensesOff(plan.sheet)).c_str(),
                lensesInWords(judged.lost).c_str(), inWords(*judged.tightest).c_str(),
                plan.runnable ? "yes" : "no", remark);
    for (const std::string& refusal : plan.refusals)
        std::printf("      refused: %s\n", refusal.c_str());
    return judged.lost;
}

void printVerdicts(const Variant& variant, const HeatPlan& plan)
{
    std::printf("  %s\n", variant.name.c_str());
    BenchSheet off = variant.sheet;
    // Another search: a lens that was just kept may be lost by it, and comes off too.
    for (std::vector<int> lost = printVerdict(plan, ""); !lost.empty();) {
        off = withLensesOff(off, lost);
        lost = printVerdict(planSheet(off), "");
    }
    if (variant.lever && lensesOff(variant.lever->sheet) != lensesOff(off))
        printVerdict(planSheet(variant.lever->sheet), ", as whatIf leaves it");
}

} // namespace

void printCooling(const BenchSheet& sheet, const WhatIfAnswer& answer)
{
    std::printf("\n\nCOOLING: a plate that cools too slowly for the paste: %s\n\n", sheet.title.c_str());
    const std::vector<Variant> variants = variantsOf(sheet, answer);
    std::vector<HeatPlan> plans;
    plans.reserve(variants.size());
    for (const Variant& variant : variants)
        plans.push_back(planSheet(variant.sheet));

    printBroken(plans.front());
    printSteps(plans.front());
    std::printf(
        "\n                                                    plate alone, s   strip and element, s\n"
        "  Plate, from peak to liquidus           from C  to C   by hand  coastS   by hand  planned\n");
    for (size_t i = 0; i < plans.size(); ++i)
        printPlateRow(variants[i].name, plans[i]);
    std::printf(
        "\n  Target joint                             contact    peak    over liquidus, s        cooling\n"
        "                                                        C    to peak    after      all      K/s\n");
    for (size_t i = 0; i < plans.size(); ++i)
        printJointRow(variants[i].name, plans[i]);
    std::printf("\n  Planned again, by the levers of whatIf that help. Tightest: of the limits that are no "
                "habit, lenses\n"
                "  that are lost left out; normalised in brackets.\n\n"
                "    lenses off          lenses lost         tightest of all else                           "
                "runnable\n");
    for (size_t i = 0; i < plans.size(); ++i)
        printVerdicts(variants[i], plans[i]);
    std::printf("\n  Shown by whatIf:\n");
    for (const Variant& variant : variants)
        if (variant.lever)
            std::printf("    \"%s\"\n", variant.lever->what.c_str());
}

} // namespace stripwright::figures
