#include "commands/commands.h"

#include "commands/curves_csv.h"
#include "commands/inputs.h"
#include "commands/output_file.h"
#include "materials/json_fields.h"

#include <chrono>
#include <iostream>

namespace stripwright {

int carryOut(const PredictCommand& command)
{
    const BenchSheet sheet = readSheetFile(command.sheet, readWholeShelf());
    const PlateCurve plate =
        readPlateCurve(readTextFile(command.plateCurve, mostCurveMB), command.plateCurve);
    for (const double xMm : command.stripXMm)
        if (!(xMm >= 0 && xMm <= sheet.strip.lengthMm)) {
            std::cerr << "--at " << shortNumber(xMm, 3) << ": expected a place on the strip, from 0 to "
                      << shortNumber(sheet.strip.lengthMm, 3) << " mm from the connector end\n";
            return exitUsage;
        }
    checkCanWrite(command.out);

    PredictOptions options;
    options.stripXMm = command.stripXMm;
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
