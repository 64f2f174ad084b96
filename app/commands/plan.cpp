#include "commands/commands.h"

#include "commands/inputs.h"
#include "commands/margins.h"
#include "materials/output_file.h"
#include "models/plan_verdict.h"
#include "planner/plan_sheet.h"
#include "planner/what_if.h"

#include <chrono>
#include <cmath>
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

nlohmann::ordered_json whatIfJson(const WhatIfAnswer& answer, double timeMs)
{
    const auto finite = [](double value) {
        return std::isfinite(value) ? nlohmann::ordered_json(value) : nlohmann::ordered_json();
    };
    nlohmann::ordered_json levers = nlohmann::ordered_json::array();
    for (const WhatIf& one : answer.levers)
        levers.push_back({{"lever", one.lever},
                          {"what", one.what},
                          {"refused", one.refused},
                          {"helps", one.helps},
                          {"lenses_that_stay", one.lensesThatStay},
                          {"worst_margin", finite(one.worstMargin)}});
    return {{"lenses_that_stay", answer.lensesThatStay},
            {"worst_margin", finite(answer.worstMargin)},
            {"levers", levers},
            {"what_if_time_ms", timeMs}};
}

void printWhatIf(const WhatIfAnswer& answer)
{
    std::cout << "\nWhat if, best first; as it is " << answer.lensesThatStay << " lenses stay:\n";
    for (const WhatIf& one : answer.levers)
        std::cout << (one.refused ? "x " : one.helps ? "+ " : "  ") << one.what << '\n';
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
    if (!command.out.empty()) {
        auto inputs = filesOfShelves();
        inputs.push_back(command.sheet);
        checkOutput(command.out, OutputKind::HeatPlan, inputs);
    }
    const Shelf shelf = readWholeShelf();
    const BenchSheet sheet = readSheetFile(command.sheet, shelf);
    const auto started = std::chrono::steady_clock::now();
    HeatPlan plan = planSheet(sheet);
    const std::chrono::duration<double, std::milli> took = std::chrono::steady_clock::now() - started;
    std::optional<WhatIfAnswer> levers;
    const auto leversStarted = std::chrono::steady_clock::now();
    if (command.whatIf || !plan.runnable)
        if (!plan.margins.empty())
            levers = whatIf(sheet, shelf);
    const std::chrono::duration<double, std::milli> leversTook =
        std::chrono::steady_clock::now() - leversStarted;
    if (levers && !plan.runnable)
        plan.suggestions = helpful(*levers);
    if (!command.out.empty())
        writeWholeFile(command.out, toJson(plan).dump() + '\n');
    if (command.json) {
        nlohmann::ordered_json answer = answerJson(plan, command, took.count());
        if (command.whatIf && levers)
            answer["what_if"] = whatIfJson(*levers, leversTook.count());
        std::cout << answer.dump(2) << '\n';
    } else {
        printAnswer(plan);
        if (command.whatIf && levers)
            printWhatIf(*levers);
    }
    return plan.runnable ? exitOk : exitNoPlan;
}

} // namespace stripwright
