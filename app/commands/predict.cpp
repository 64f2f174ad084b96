#include "commands/commands.h"

#include "commands/curves_csv.h"
#include "commands/inputs.h"
#include "materials/json_fields.h"
#include "materials/output_file.h"

#include <chrono>
#include <cmath>
#include <iostream>

namespace stripwright {

namespace {

// A week over a strip of 400 sites would take gigabytes and a quarter of an hour.
void refuseIfEndless(const std::string& curveFile, const BenchSheet& sheet, const PlateCurve& plate,
                     const PredictOptions& options)
{
    constexpr double mostValues = 20e6, mostNodeSteps = 1e9; // 160 MB; half a minute.
    const StripModel model = buildStripModel(sheet, options);
    const double lastS = plate.timeS.back();
    const double longestS =
        std::floor(mostValues / static_cast<double>(model.stations.size())) * options.outputStepS;
    const double steps = static_cast<double>(plate.timeS.size()) + lastS / options.stepS;
    const double mostSteps =
        std::floor(mostNodeSteps / static_cast<double>(model.network.capacityJPerK.size()));
    if (lastS > longestS)
        throw BadInput({{curveFile, "", "a curve of " + shortNumber(lastS, 0) + " s",
                         "at most " + shortNumber(longestS, 0) + " s for a strip of so many sites"}});
    if (steps > mostSteps)
        throw BadInput(
            {{curveFile, "", "rows and half seconds for " + shortNumber(steps, 0) + " steps",
              "at most " + shortNumber(mostSteps, 0) + " for a strip of this size: thin the curve out"}});
}

} // namespace

int carryOut(const PredictCommand& command)
{
    auto inputs = filesOfShelves();
    inputs.insert(inputs.end(), {command.sheet, command.plateCurve});
    checkOutput(command.out, OutputKind::PredictedCurves, inputs);
    const BenchSheet sheet = readSheetFile(command.sheet, readWholeShelf());
    const PlateCurve plate =
        readPlateCurve(readTextFile(command.plateCurve, mostCurveMB), command.plateCurve);
    for (const double xMm : command.stripXMm)
        if (!(xMm >= 0 && xMm <= sheet.strip.lengthMm)) {
            std::cerr << "--at: found " << (std::isfinite(xMm) ? shortNumber(xMm, 3) : "no finite number")
                      << ", expected a place on the strip, from 0 to " << shortNumber(sheet.strip.lengthMm, 3)
                      << " mm from the connector end\n";
            return exitUsage;
        }
    PredictOptions options;
    options.stripXMm = command.stripXMm;
    refuseIfEndless(command.plateCurve, sheet, plate, options);
    const auto started = std::chrono::steady_clock::now();
    const Prediction prediction = predict(sheet, plate, options);
    const std::chrono::duration<double, std::milli> took = std::chrono::steady_clock::now() - started;

    writeWholeFile(command.out, predictionCsv(prediction));
    if (command.json)
        std::cout << nlohmann::ordered_json{{"format", "stripwright-prediction"},
                                            {"version", 1},
                                            {"title", sheet.title},
                                            {"end_s", prediction.timeS.back()},
                                            {"sites", sheet.strip.siteXMm.size()},
                                            {"strip_length_mm", sheet.strip.lengthMm},
                                            {"energy_closure", prediction.energy.closure()},
                                            {"solve_time_ms", took.count()},
                                            {"curves_file", command.out}}
                         .dump(2)
                  << '\n';
    return exitOk;
}

} // namespace stripwright
