#include "commands/review.h"

#include "commands/commands.h"
#include "commands/curve_png.h"
#include "commands/curves_csv.h"
#include "commands/inputs.h"
#include "commands/margins.h"
#include "commands/run_texts.h"
#include "commands/wrapped.h"
#include "materials/output_file.h"
#include "messages/wire_names.h"
#include "models/hand_work.h"
#include "models/run_history.h"
#include "models/run_review.h"
#include "models/simulated_hands.h"
#include "models/wording.h"
#include "rules/wording.h"
#include "runlog/salvage.h"

#include <algorithm>
#include <iostream>
#include <set>

namespace stripwright {

namespace {

const char* wireName(MeasuredBy source)
{
    switch (source) {
    case MeasuredBy::PlateSensor:
        return "plate_sensor";
    case MeasuredBy::JointEstimate:
        return "joint_estimate";
    case MeasuredBy::Simulation:
        return "simulation";
    }
    return "";
}

const char* inWords(MeasuredBy source)
{
    switch (source) {
    case MeasuredBy::PlateSensor:
        return "sensor";
    case MeasuredBy::JointEstimate:
        return "est.";
    case MeasuredBy::Simulation:
        return "simulated";
    }
    return "";
}

std::string tenths(double valueC)
{
    return figure(valueC, 1).toStdString();
}

/// Two figures of one joint differ where one is the estimate and one is not: each row says what it is of.
void printSources(const std::set<MeasuredBy>& sources, const std::vector<Sample>& samples)
{
    if (!sources.empty())
        std::cout << '\n';
    if (sources.contains(MeasuredBy::PlateSensor))
        printWrapped(std::cout, "sensor     ", "what the plate's sensor read");
    if (sources.contains(MeasuredBy::Simulation))
        printWrapped(std::cout, "simulated  ",
                     "what the simulated plate says of its parts; no real one does");
    if (const auto peak = estimatedPeak(samples))
        printWrapped(
            std::cout, "est.       ",
            "what was estimated of the joints while it ran, from the plate's sensor; at its highest " +
                tenths(peak->nominalC) + " °C, " + tenths(peak->lowC) + " to " + tenths(peak->highC) + " °C" +
                (sources.contains(MeasuredBy::JointEstimate) ? "" : ". No row is of it"));
}

std::string unsaidIn(const RecordedRun& run, const HeatPlan& plan)
{
    return run.samples.empty()
               ? std::string()
               : workInWords(passedUnsaid(plan.cards, run.events, run.samples.back().profileS));
}

} // namespace

nlohmann::ordered_json reviewJson(const RecordedRun& run, const HeatPlan& plan)
{
    const BenchSheet& sheet = plan.sheet;
    const RunSummary& summary = run.summary;
    const auto orNull = [](const std::string& text) {
        return text.empty() ? nlohmann::ordered_json() : nlohmann::ordered_json(text);
    };
    const auto [rows, by] = measuredMargins(sheet, run.samples, run.events, true, plan.newLeds);
    nlohmann::ordered_json margins = marginsJson(rows);
    for (size_t i = 0; i < rows.size(); ++i)
        margins[i]["measured_by"] = wireName(by[i]);
    nlohmann::ordered_json over = nlohmann::ordered_json::array();
    for (const TimeOverLimit& part : timesOverLimits(sheet, run.samples))
        over.push_back({{"what", part.what}, {"seconds", part.seconds}});
    nlohmann::ordered_json marks = nlohmann::ordered_json::array();
    for (const auto& [timeS, mark] : marksOf(run.events))
        marks.push_back({{"site", mark.site},
                         {"liquid", mark.liquid},
                         {"withdraws", mark.withdraws},
                         {"time_s", timeS},
                         {"joint_before_C", mark.beforeC},
                         {"joint_after_C", mark.afterC},
                         {"melts_from_C", mark.meltsFromC},
                         {"melts_up_to_C", mark.meltsUpToC}});
    return {{"format", "stripwright-review"},
            {"version", 2},
            {"run", summary.key},
            {"title", summary.title},
            {"heat", plan.heat},
            {"of_heats", plan.ofHeats},
            {"kind", inWords(sheet.heat)},
            {"sites", sheet.targets()},
            {"started_utc", summary.startedUtc},
            {"ended_utc", orNull(summary.endedUtc)},
            {"outcome", orNull(summary.outcome ? wireName(*summary.outcome) : "")},
            {"outcome_text", summary.outcomeText},
            {"samples", summary.samples},
            {"every_limit_kept", everyLimitKept(rows)},
            {"margins", margins},
            {"over_limit", over},
            {"marks", marks},
            {"not_confirmed", unsaidIn(run, plan)},
            {"said_late", workInWords(saidLate(plan.cards, run.events))},
            {"simulated_hands", handsWereSimulated(run.events)}};
}

void printReview(const RecordedRun& run, const HeatPlan& plan)
{
    const RunSummary& summary = run.summary;
    printWrapped(std::cout, "", "Run " + summary.key + ", " + summary.title);
    printWrapped(std::cout, "", heatOfJobText(plan).toStdString());
    printWrapped(std::cout, "",
                 "started " + summary.startedUtc + ", " + outcomeText(summary).toStdString() + "; " +
                     std::to_string(summary.samples) + " samples");
    const bool simulatedHands = handsWereSimulated(run.events);
    const bool simulationSays = simulationAnswered(run.events);
    if (simulatedHands)
        printWrapped(std::cout, "",
                     simulationSays
                         ? "simulated hands: nobody touched a strip; what is said of solder below "
                           "is the simulation's"
                         : "simulated plate: nobody touched a strip, whatever cards and marks say");
    std::cout << '\n';
    auto [rows, by] = measuredMargins(plan.sheet, run.samples, run.events, true, plan.newLeds);
    const std::set<MeasuredBy> sources(by.begin(), by.end());
    for (size_t i = 0; i < rows.size(); ++i)
        rows[i].limit.what += std::string(", ") + inWords(by[i]);
    if (rows.empty())
        std::cout << "Nothing was recorded that the sheet's limits could be held against.\n";
    else
        printMargins(std::cout, rows);
    printSources(sources, run.samples);
    if (const std::string unsaid = unsaidIn(run, plan); !unsaid.empty())
        printWrapped(std::cout, "",
                     "Not confirmed: " + unsaid +
                         ". What is judged of a new LED there takes the times of the plan's hands");
    if (const std::string late = workInWords(saidLate(plan.cards, run.events)); !late.empty())
        printWrapped(std::cout, "",
                     "Said only after its time: " + late +
                         ". When it was is not known: a new LED there is judged by the plan's hands");
    for (const TimeOverLimit& part : timesOverLimits(plan.sheet, run.samples))
        if (part.seconds > 0)
            printWrapped(std::cout, "",
                         part.what + ": " + shortNumber(part.seconds, 1) + " s over its limit");
    for (const Event& event : run.events)
        if (markOf(event))
            printWrapped(std::cout, "at " + shortNumber(event.timeS, 1) + " s ",
                         (simulationSays ? "simulated hands: " : "") + event.text);
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

int carryOut(const ReviewCommand& command)
{
    const std::filesystem::path runs = command.runs.empty() ? userRunsFile() : command.runs;
    auto inputs = filesOfShelves();
    std::ranges::copy(filesOfRunLog(runs), std::back_inserter(inputs));
    if (!command.csv.empty())
        checkOutput(command.csv, OutputKind::RecordedCurves, inputs);
    inputs.push_back(command.csv);
    if (!command.png.empty())
        checkOutput(command.png, OutputKind::Picture, inputs);
    const RecordedRun run = recordedRun(command, runs);
    const HeatPlan plan = readHeatPlan(run.planText, "plan of run " + run.summary.key);
    if (!command.csv.empty())
        writeWholeFile(command.csv, samplesCsv(run.samples));
    if (!command.png.empty()) {
        const PictureApplication application;
        writeWholeFile(command.png, curvePng(plan, run.samples, run.events));
    }
    if (command.json)
        std::cout << reviewJson(run, plan).dump(2, ' ', false, nlohmann::json::error_handler_t::replace)
                  << '\n';
    else
        printReview(run, plan);
    constexpr double lookAtFileS = 20;
    const FileHealth health = healthOf(runs, lookAtFileS);
    const RunTexts texts = textsOf(run);
    if (!health.sound)
        std::cerr << runs.string() << ": damaged (" << health.fault
                  << "): samples may be missing, and what is judged above may be less than what happened; "
                     "\"stripwright "
                     "runs\" saves what is left of it\n";
    if (!texts.garbled.empty())
        std::cerr << runs.string() << ": garbled texts in this run: " << printable(texts.garbled)
                  << ": what is said above may not be what was recorded; look for an earlier copy of the "
                     "file\n";
    return health.sound && texts.garbled.empty() ? exitOk : exitBadInput;
}

} // namespace stripwright
