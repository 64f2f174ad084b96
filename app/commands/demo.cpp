#include "commands/commands.h"

#include "commands/curve_png.h"
#include "commands/curves_csv.h"
#include "commands/inputs.h"
#include "commands/margins.h"
#include "commands/review.h"
#include "commands/run_in_terminal.h"
#include "commands/wrapped.h"
#include "materials/json_fields.h"
#include "materials/output_file.h"
#include "models/run_review.h"
#include "planner/job_plan.h"

#include <QDateTime>
#include <iostream>
#include <unistd.h>

namespace stripwright {

namespace {

std::filesystem::path freshFolder(const std::filesystem::path& wanted)
{
    const std::string now = QDateTime::currentDateTime().toString("yyyyMMdd-HHmmss").toStdString();
    std::filesystem::path folder =
        wanted.empty() ? std::filesystem::temp_directory_path() / ("stripwright-demo-" + now) : wanted;
    std::error_code error;
    std::filesystem::create_directories(folder, error);
    if (error)
        throw CannotWrite(folder.string() + ": cannot be made (" + error.message() +
                          "); name a folder that you may write to with --out");
    return folder;
}

// A demo sheet that somebody has changed since is theirs.
void checkOutputs(const std::filesystem::path& folder, const std::string& sheetText)
{
    const auto inputs = filesOfShelves();
    const std::filesystem::path sheet = folder / "demo.bench.json";
    checkOutput(sheet, OutputKind::BenchSheet, inputs);
    if (std::error_code none; std::filesystem::file_size(sheet, none) > 0 && !none)
        if (readTextFile(sheet) != sheetText)
            throw CannotWrite(sheet.string() +
                              ": holds a bench sheet other than the demo's; name another folder with --out");
    checkOutput(folder / "demo.plan.json", OutputKind::HeatPlan, inputs);
    checkOutput(folder / "runs.db", OutputKind::RunLog, inputs);
    checkOutput(folder / "run.csv", OutputKind::RecordedCurves, inputs);
    checkOutput(folder / "run.png", OutputKind::Picture, inputs);
    checkOutput(folder / "review.json", OutputKind::Review, inputs);
}

} // namespace

int carryOut(const DemoCommand& command)
{
    const PictureApplication application;
    const std::filesystem::path folder = freshFolder(command.folder);
    const std::string sheetText = readTextFile(demoSheetFile());
    checkOutputs(folder, sheetText);
    std::cerr << "Everything goes into " << folder.string() << '\n';
    const BenchSheet sheet = readBenchSheet(sheetText, demoSheetFile(), readWholeShelf());
    writeWholeFile(folder / "demo.bench.json", sheetText);

    std::cerr << "Planning: " << sheet.title << '\n';
    const HeatPlan plan = planJob(sheet).heats.front();
    writeWholeFile(folder / "demo.plan.json", toJson(plan).dump() + '\n');
    std::cout << "Planned, coldest · as stated · hottest:\n";
    printMargins(std::cout, plan.margins);
    if (!plan.runnable) {
        std::cerr << "No plan keeps every limit of the demo sheet.\n";
        return exitNoPlan;
    }

    std::cerr << "Running on the simulated plate at " << shortNumber(command.speed, 2)
              << " times real speed\n";
    const std::filesystem::path runs = folder / "runs.db";
    const PatientOutput talk(STDERR_FILENO);
    const RunResult result =
        runInTerminal(plan, {.binFolder = binFolder(), .runsFile = runs, .speed = command.speed}, talk);
    printWrapped(std::cerr, "", result.why.toStdString());
    if (result.runKey.empty())
        return result.code == exitOk ? exitInternalFailure : result.code;

    std::cout << '\n';
    const int code = reviewResult(result, runs);
    const RecordedRun recorded = RunReader(runs).read(result.runKey);
    writeWholeFile(folder / "run.csv", samplesCsv(recorded.samples));
    writeWholeFile(folder / "run.png", curvePng(plan, recorded.samples, recorded.events));
    writeWholeFile(folder / "review.json", reviewJson(recorded, plan).dump(2) + '\n');
    std::cout << "\nSheet, plan, run log, curves (CSV and PNG) and review: " << folder.string() << '\n';
    if (code != exitOk)
        return code;
    if (!everyLimitKept(measuredRows(plan.sheet, recorded.samples, recorded.events, true, plan.newLeds))) {
        std::cerr << "The recorded run broke a limit that the plan had kept.\n";
        return exitInternalFailure;
    }
    return exitOk;
}

} // namespace stripwright
