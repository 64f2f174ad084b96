#include "commands/review.h"

#include "commands/commands.h"
#include "commands/curve_png.h"
#include "commands/curves_csv.h"
#include "commands/inputs.h"
#include "commands/margins.h"
#include "commands/output_file.h"
#include "models/run_review.h"

#include <iostream>

namespace stripwright {

nlohmann::ordered_json reviewJson(const RunSummary& summary, const std::vector<MarginRow>& rows)
{
    return {{"format", "stripwright-review"},
            {"version", 1},
            {"run", summary.key},
            {"title", summary.title},
            {"started_utc", summary.startedUtc},
            {"ended_utc", summary.endedUtc.empty() ? nlohmann::ordered_json() : summary.endedUtc},
            {"outcome", summary.outcome ? inWords(*summary.outcome) : nlohmann::ordered_json()},
            {"outcome_text", summary.outcomeText},
            {"samples", summary.samples},
            {"every_limit_kept", everyLimitKept(rows)},
            {"margins", marginsJson(rows)}};
}

void printReview(const RunSummary& summary, const std::vector<MarginRow>& rows)
{
    std::cout << "Run " << summary.key << ", " << summary.title << '\n'
              << "started " << summary.startedUtc << ", " << outcomeText(summary).toStdString() << ", "
              << summary.samples << " samples\n\n";
    if (rows.empty())
        std::cout << "Nothing was recorded that the sheet's limits could be held against.\n";
    else
        printMargins(std::cout, rows);
}

static RecordedRun recordedRun(const ReviewCommand& command, const std::filesystem::path& file)
{
    const RunReader reader(file);
    std::string key = command.run;
    if (key.empty()) {
        const auto runs = reader.runs();
        if (runs.empty())
            throw RunLogError(file.string() + ": found no run, expected at least one");
        key = runs.front().key;
    }
    return reader.read(key);
}

int reviewCommand(const ReviewCommand& command)
{
    for (const std::string& out : {command.csv, command.png})
        if (!out.empty())
            checkCanWrite(out);
    const RecordedRun run = recordedRun(command, command.runs.empty() ? userRunsFile() : command.runs);
    const HeatPlan plan = readHeatPlan(run.planText, "plan of run " + run.summary.key);
    const auto rows = measuredRows(plan.sheet, run.samples);
    if (!command.csv.empty())
        writeWholeFile(command.csv, samplesCsv(run.samples));
    if (!command.png.empty())
        writeWholeFile(command.png, curvePng(plan, run.samples));
    if (command.json)
        std::cout << reviewJson(run.summary, rows).dump(2) << '\n';
    else
        printReview(run.summary, rows);
    return exitOk;
}

} // namespace stripwright
