#include "fin_check.h"
#include "levers.h"

#include "thermal/predict.h"

#include <algorithm>
#include <cstdio>

namespace stripwright::figures {

namespace {

const WhatIf* bestBlocks(const WhatIfAnswer& answer)
{
    const WhatIf* best = nullptr;
    for (const WhatIf& one : answer.levers)
        if (one.lever == "sink-block" && (!best || one.lensesThatStay > best->lensesThatStay))
            best = &one;
    return best;
}

const MarginRow* peakRow(const HeatPlan& plan, const std::string& station)
{
    for (const MarginRow& row : plan.margins)
        if (row.limit.id == station + "/peak")
            return &row;
    return nullptr;
}

double hottestC(const MarginRow& row)
{
    return std::max({row.low.value_or(0), row.nominal.value_or(0), row.high.value_or(0)});
}

void printLenses(const HeatPlan& before, const HeatPlan& after)
{
    const BenchSheet& sheet = before.sheet;
    const Judgement judgedBefore = judgementOf(before), judgedAfter = judgementOf(after);
    const auto fate = [](const Judgement& judged, int site) {
        return std::count(judged.lost.begin(), judged.lost.end(), site) ? "lost" : "kept";
    };
    std::printf("  Hottest in any scenario, C\n\n"
                "               glue and foot, cap %-4.0f     lens body, cap %.0f\n"
                "  lens  x mm    without     with         without     with       without    with\n",
                peakRow(before, "glue_1")->limit.max.value_or(0),
                peakRow(before, "lens_1")->limit.max.value_or(0));
    for (int site = 1; site <= static_cast<int>(sheet.sites.size()); ++site) {
        if (!sheet.lensStaysOn(site))
            continue;
        const std::string number = std::to_string(site);
        std::printf("  %4d %5.1f  ", site, sheet.strip.siteXMm[static_cast<size_t>(site - 1)]);
        for (const char* part : {"glue_", "lens_"})
            std::printf("%9.1f %8.1f       ", hottestC(*peakRow(before, part + number)),
                        hottestC(*peakRow(after, part + number)));
        std::printf("%5s    %s%s\n", fate(judgedBefore, site), fate(judgedAfter, site),
                    fate(judgedBefore, site) == fate(judgedAfter, site) ? "" : "  <-");
    }
    std::printf("\n  lost without: %s; lost with: %s\n", lensesInWords(judgedBefore.lost).c_str(),
                lensesInWords(judgedAfter.lost).c_str());
    std::printf("  tightest of all else without: %s\n                       with:    %s\n",
                inWords(*judgedBefore.tightest).c_str(), inWords(*judgedAfter.tightest).c_str());
}

void printWhatTheBlocksTake(const HeatPlan& plan)
{
    PredictOptions options;
    if (plan.sheet.cooling.fan)
        options.fanFromS = plan.heaterOffS;
    const Prediction heat = predict(plan.sheet, {plan.timeS, plan.plateC}, options);
    for (size_t b = 0; b < plan.sheet.sinkBlocks.size(); ++b) {
        const SinkBlock& block = plan.sheet.sinkBlocks[b].block;
        const auto& valueC = heat.find("block_" + std::to_string(b + 1))->valueC;
        double lostJ = 0;
        for (size_t i = 1; i < valueC.size(); ++i)
            lostJ += block.lossWPerK * ((valueC[i] + valueC[i - 1]) / 2 - plan.sheet.air.ambientC) *
                     (heat.timeS[i] - heat.timeS[i - 1]);
        const double heldJ = block.heatCapacityJPerK * (valueC.back() - plan.sheet.air.ambientC);
        std::printf(
            "  block %zu at the plan's end, %.0f s, nominal: %.1f C; holds %g J/K x %.1f K = %.0f J and has "
            "lost %.0f J to the air\n",
            b + 1, heat.timeS.back(), valueC.back(), block.heatCapacityJPerK,
            valueC.back() - plan.sheet.air.ambientC, heldJ, lostJ);
    }
}

/// The blocks save lenses, not the joint: what it takes to run them.
void printMadeRunnable(const HeatPlan& withBlocks)
{
    const std::vector<int> off = judgementOf(withBlocks).lost;
    BenchSheet sheet = withLensesOff(withBlocks.sheet, off);
    sheet.cooling.fan = true;
    const HeatPlan plan = planSheet(sheet);
    std::printf(
        "  The blocks, those lenses off and a fan from heater-off: %s, %zu lenses lost, tightest %s\n",
        plan.runnable ? "runnable" : "not runnable", judgementOf(plan).lost.size(),
        inWords(*judgementOf(plan).tightest).c_str());
}

} // namespace

void printSinkBlock(const BenchSheet& sheet, const WhatIfAnswer& answer)
{
    std::printf("\n\nSINK BLOCK: what it saves on %s (%s)\n\n", sheet.title.c_str(),
                sheet.paste.name.c_str());
    const WhatIf* lever = bestBlocks(answer);
    if (!lever) {
        std::printf("  whatIf finds none that helps.\n");
        return;
    }
    std::printf("  Shown by whatIf:\n    \"%s\"\n\n", lever->what.c_str());
    BenchSheet with = sheet;
    with.sinkBlocks = lever->sheet.sinkBlocks;
    std::printf("  Plate from %g to %g mm of a strip of %g mm", sheet.plateStartMm, sheet.plateEndMm(),
                sheet.strip.lengthMm);
    for (const PlacedSinkBlock& placed : with.sinkBlocks)
        std::printf("; block from %g to %g mm", placed.startMm, placed.startMm + placed.block.lengthMm);
    std::printf(".\n  Planned as a plan to run, in steps of 1 s (whatIf compares in steps of 4 s), all "
                "lenses on.\n\n");
    const HeatPlan before = planSheet(sheet), after = planSheet(with);
    printLenses(before, after);
    printWhatTheBlocksTake(after);
    printMadeRunnable(after);
    printFinCheck(with, *std::max_element(after.plateC.begin(), after.plateC.end()));
}

} // namespace stripwright::figures
