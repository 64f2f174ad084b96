#include "commands/commands.h"

#include "commands/inputs.h"
#include "commands/margins.h"
#include "commands/output_file.h"
#include "models/plan_verdict.h"
#include "planner/plan_sheet.h"

#include <chrono>
#include <iostream>

namespace stripwright {

namespace {

nlohmann::ordered_json answerJson(const HeatPlan& plan, const PlanCommand& command, double planTimeMs)
{
    nlohmann::ordered_json stages = nlohmann::ordered_json::array();
    for (const Stage& stage : plan.stages)
        stages.push_back({{"name", stage.name}, {"start_s", stage.startS}, {"end_s", stage.endS}});
    nlohmann::ordered_json passes = nlohmann::ordered_json::array();
    for (const SitePasses& one : plan.passes)
        passes.push_back({{"site", one.site},
                          {"before", one.before},
                          {"in_this_heat", one.inThisHeat},
                          {"after", one.after},
                          {"allowed", one.allowed}});
    nlohmann::ordered_json suggestions = nlohmann::ordered_json::array();
    for (const Suggestion& suggestion : plan.suggestions)
        suggestions.push_back(suggestion.what);
    return {
        {"format", "stripwright-plan-answer"},
        {"version", 1},
        {"title", plan.sheet.title},
        {"runnable", plan.runnable},
        {"verdict", verdictOf(plan).toStdString()},
        {"refusals", plan.refusals},
        {"warnings", plan.warnings},
        {"end_s", plan.timeS.empty() ? 0.0 : plan.timeS.back()},
        {"heater_off_s", plan.heaterOffS},
        {"stages", stages},
        {"margins", marginsJson(plan.margins)},
        {"passes", passes},
        {"suggestions", suggestions},
        {"plan_file", command.out.empty() ? nlohmann::ordered_json() : nlohmann::ordered_json(command.out)},
        {"plan_time_ms", planTimeMs}};
}

void printAnswer(const HeatPlan& plan)
{
    std::cout << plan.sheet.title << '\n';
    std::cout << verdictOf(plan).toStdString() << '\n';
    for (const std::string& refusal : plan.refusals)
        std::cout << "refused: " << refusal << '\n';
    for (const std::string& warning : plan.warnings)
        std::cout << "warning: " << warning << '\n';
    std::cout << '\n';
    printMargins(std::cout, plan.margins);
    if (!plan.suggestions.empty())
        std::cout << "\nWhat would help:\n";
    for (const Suggestion& suggestion : plan.suggestions)
        std::cout << "- " << suggestion.what << '\n';
}

} // namespace

int carryOut(const PlanCommand& command)
{
    const Shelf shelf = readWholeShelf();
    const BenchSheet sheet = readSheetFile(command.sheet, shelf);
    if (!command.out.empty())
        checkCanWrite(command.out);
    const auto started = std::chrono::steady_clock::now();
    HeatPlan plan = planSheet(sheet);
    const std::chrono::duration<double, std::milli> took = std::chrono::steady_clock::now() - started;
    plan.suggestions = whatHelps(plan, shelf.pastes);
    if (!command.out.empty())
        writeWholeFile(command.out, toJson(plan).dump() + '\n');
    if (command.json)
        std::cout << answerJson(plan, command, took.count()).dump(2) << '\n';
    else
        printAnswer(plan);
    return plan.runnable ? exitOk : exitNoPlan;
}

} // namespace stripwright
