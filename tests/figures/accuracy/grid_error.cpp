#include "heat.h"

#include <cmath>
#include <cstdio>

namespace stripwright::figures {

namespace {

constexpr double referenceCellMm = 0.5, referenceStepS = 0.125, outputS = 4;
constexpr double cellsMm[] = {1, 2, 3, 4, 5, 10}, stepsS[] = {0.25, 0.5, 1, 2, 4};

Prediction run(const Heat& heat, double cellMm, double stepS)
{
    PredictOptions options = heat.options;
    options.cellMm = cellMm;
    options.stepS = stepS;
    options.outputStepS = outputS;
    return predict(heat.sheet, heat.plate, options);
}

/// The row above, for the order between the two.
struct RowAbove {
    double cellMm = 0, stepS = 0, anyK = 0, jointK = 0;
};

std::string orderOf(double errorK, double aboveK, double ratio)
{
    char text[16] = "-";
    if (aboveK > 0)
        std::snprintf(text, sizeof text, "%.1f", std::log(errorK / aboveK) / std::log(ratio));
    return text;
}

RowAbove printRow(const Heat& heat, const Prediction& reference, double cellMm, double stepS,
                  const RowAbove& above, const char* remark)
{
    const Prediction ours = run(heat, cellMm, stepS);
    const Apart worst = mostApart(ours, reference, any), joint = mostApart(ours, reference, isJoint);
    const RowAbove row{cellMm, stepS, std::abs(worst.differenceK), std::abs(joint.differenceK)};
    const double ratio = cellMm / above.cellMm * (stepS / above.stepS); // only one of them varies
    std::printf("  %5g %6g   %8.4f %6s  %-29s  %8.4f %6s  %-24s  %s\n", cellMm, stepS, row.anyK,
                orderOf(row.anyK, above.anyK, ratio).c_str(), placeOf(worst.station, heat.sheet).c_str(),
                row.jointK, orderOf(row.jointK, above.jointK, ratio).c_str(),
                placeOf(joint.station, heat.sheet).c_str(), remark);
    return row;
}

void printHeat(const Heat& heat)
{
    const PredictOptions defaults;
    std::printf("\n%s\n", heat.name.c_str());
    std::printf("  cells  steps   any station                                     joint\n");
    std::printf("     mm      s          K  order  worst                                 K  order  worst\n");
    const Prediction reference = run(heat, referenceCellMm, referenceStepS);
    RowAbove above;
    for (double cellMm : cellsMm)
        above = printRow(heat, reference, cellMm, referenceStepS, above, "");
    std::printf("\n");
    above = {};
    for (double stepS : stepsS)
        above = printRow(heat, reference, referenceCellMm, stepS, above, "");
    std::printf("\n");
    const RowAbove byDefault =
        printRow(heat, reference, defaults.cellMm, defaults.stepS, {}, "<- default of predict");
    std::printf("  at the default, cells and steps put a joint off by up to %.2f K\n", byDefault.jointK);
}

} // namespace

void printGrid(const std::vector<Heat>& heats)
{
    std::printf("\n\nGRID: what cells and steps cost, against cells of %g mm and steps of %g s\n\n",
                referenceCellMm, referenceStepS);
    std::printf(
        "Greatest difference of any station, and of any joint, at any %g s. Order: between a row and\n"
        "the one above. Second order shows as %.1f between the first two rows, since the reference has\n"
        "half the first row's cells or steps; it scatters where sites and plate edges come to lie at\n"
        "other places in their cells. The demo's plate curve is taken by its points every %g s, since\n"
        "steps end at every point of a plate curve.\n",
        outputS, std::log2(5.0), outputS);
    for (Heat heat : heats) {
        if (heat.plate.timeS[1] - heat.plate.timeS[0] < outputS)
            heat.plate = thinned(heat.plate, outputS);
        printHeat(heat);
    }
}

void printCellsAgainstTruth(const std::vector<test::FiniteElementCase>& cases)
{
    std::printf(
        "\nCells alone, at the default step of %g s: greatest K from the finite elements every 10 s\n\n",
        PredictOptions().stepS);
    std::printf("  cells of    ");
    for (double cellMm : cellsMm)
        std::printf(" %6g", cellMm);
    std::printf(" mm\n");
    for (const auto& one : cases) {
        std::printf("  %s\n", one.name.c_str());
        for (const auto& [kind, name] :
             {std::pair{"strip_", "core"}, {"joint_", "joint"}, {"body_", "body top"}}) {
            std::printf("    %-10s", name);
            for (double cellMm : cellsMm) {
                PredictOptions options = one.options();
                options.cellMm = cellMm;
                options.outputStepS = one.timeS[1] - one.timeS[0];
                const Prediction ours = predict(one.sheet, one.plate, options);
                double worstK = 0;
                for (const auto& [station, truthC] : one.stationC)
                    if (station.rfind(kind, 0) == 0)
                        for (size_t i = 0; i < truthC.size(); ++i)
                            worstK = std::max(worstK, std::abs(ours.find(station)->valueC.at(i) - truthC[i]));
                std::printf(" %6.2f", worstK);
            }
            std::printf(" K\n");
        }
    }
}

} // namespace stripwright::figures
