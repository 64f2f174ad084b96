#include "commands/commands.h"

#include "commands/heat_files.h"
#include "commands/inputs.h"
#include "commands/margins.h"
#include "commands/plan_text.h"
#include "commands/wrapped.h"
#include "materials/output_file.h"
#include "materials/problem.h"
#include "models/plan_verdict.h"
#include "models/simulated_hands.h"
#include "planner/what_if.h"
#include "rules/wording.h"
#include "search/scenario.h"

#include <algorithm>
#include <chrono>
#include <cmath>
#include <iostream>

namespace stripwright {

namespace {

nlohmann::ordered_json heatJson(const HeatPlan& plan, const std::string& file)
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
    nlohmann::ordered_json cards = nlohmann::ordered_json::array();
    for (const HandCard& card : plan.cards)
        if (card.comesByTime())
            cards.push_back(
                {{"id", card.id},
                 {"at_s", card.atS < 0 ? nlohmann::ordered_json() : nlohmann::ordered_json(card.atS)},
                 {"until_s", card.atS < 0 ? nlohmann::ordered_json() : nlohmann::ordered_json(card.untilS)},
                 {"text", card.text}});
    nlohmann::ordered_json newLeds = nlohmann::ordered_json::array();
    for (const NewLed& led : plan.newLeds)
        newLeds.push_back({{"site", led.site},
                           {"set_down_s", led.setDownS},
                           {"start_C", led.startC},
                           {"step_K", led.stepK},
                           {"pad_lowest_C", led.padLowestC},
                           {"liquid_after_s", led.liquidAfterS ? nlohmann::ordered_json(*led.liquidAfterS)
                                                               : nlohmann::ordered_json()}});
    return {{"heat", plan.heat},
            {"kind", inWords(plan.sheet.heat)},
            {"sites", plan.sheet.targets()},
            {"plate_start_mm", plan.sheet.plateStartMm},
            {"runnable", plan.runnable},
            {"verdict", verdictOf(plan).toStdString()},
            {"refusals", plan.refusals},
            {"warnings", plan.warnings},
            {"end_s", plan.timeS.empty() ? 0.0 : plan.timeS.back()},
            {"heater_off_s", plan.heaterOffS},
            {"stages", stages},
            {"cards", cards},
            {"new_leds", newLeds},
            {"margins", marginsJson(plan.margins)},
            {"passes", passes},
            {"plan_file", file.empty() ? nlohmann::ordered_json() : nlohmann::ordered_json(file)}};
}

nlohmann::ordered_json answerJson(const BenchSheet& sheet, const JobPlan& job,
                                  const std::vector<std::string>& files, double planTimeMs)
{
    nlohmann::ordered_json heats = nlohmann::ordered_json::array();
    for (size_t i = 0; i < job.heats.size(); ++i)
        heats.push_back(heatJson(job.heats[i], files.empty() ? "" : files[i]));
    nlohmann::ordered_json suggestions = nlohmann::ordered_json::array();
    for (const Suggestion& suggestion : job.heats.front().suggestions)
        suggestions.push_back(suggestion.what);
    return {{"format", "stripwright-plan-answer"},
            {"version", 3},
            {"title", sheet.title},
            {"runnable", job.runnable()},
            {"verdict", verdictOf(job).toStdString()},
            {"heats", heats},
            {"suggestions", suggestions},
            {"plan_time_ms", planTimeMs}};
}

nlohmann::ordered_json whatIfJson(const WhatIfAnswer& answer, double timeMs)
{
    const auto finite = [](double value) {
        return std::isfinite(value) ? nlohmann::ordered_json(value) : nlohmann::ordered_json();
    };
    nlohmann::ordered_json levers = nlohmann::ordered_json::array();
    for (const WhatIf& one : answer.levers)
        levers.push_back(
            {{"lever", one.lever},
             {"what", one.what},
             {"refused", one.refused},
             {"helps", one.helps},
             {"lenses_that_stay", one.lensesThatStay},
             {"heats", one.heats > 0 ? nlohmann::ordered_json(one.heats) : nlohmann::ordered_json()},
             {"leds_past_passes", one.ledsPastPasses},
             {"worst_margin", finite(one.worstMargin)}});
    return {{"lenses_that_stay", answer.lensesThatStay},
            {"worst_margin", finite(answer.worstMargin)},
            {"levers", levers},
            {"what_if_time_ms", timeMs}};
}

void printWhatIf(const WhatIfAnswer& answer)
{
    std::cout << '\n';
    printWrapped(std::cout, "",
                 "What if, best first; as it is " + std::to_string(answer.lensesThatStay) +
                     (answer.lensesThatStay == 1 ? " lens stays; " : " lenses stay; ") +
                     quickSearchText().toStdString() + ":");
    for (const WhatIf& one : answer.levers)
        printWrapped(std::cout, one.refused ? "x " : one.helps ? "+ " : "  ", one.what);
}

} // namespace

static Hands handsFrom(const std::string& runs)
{
    const LearntHands learnt = personsHandsIn(runs);
    if (const auto hands = paceOf(learnt.measured))
        return *hands;
    throw BadInput({{runs, "", learnt.found,
                     "at least " + std::to_string(fewestSites) +
                         " sites of one kind timed by a person: press Enter at each site's card when it is "
                         "done while it runs, or give the sheet a pace (hands/pace)"}});
}

/// What stands in the way of a sheet that is refused is no number that a lever moves: those that no rule
/// forbids help already where they make a heat that keeps every limit.
static std::vector<Suggestion> waysAround(const WhatIfAnswer& answer)
{
    constexpr size_t most = 5;
    std::vector<Suggestion> suggestions;
    for (const WhatIf& one : answer.levers)
        if (!one.refused && one.worstMargin >= 0 && suggestions.size() < most)
            suggestions.push_back({one.what, one.sheet});
    return suggestions;
}

int carryOut(const PlanCommand& command)
{
    auto inputs = filesOfShelves();
    inputs.push_back(command.sheet);
    if (!command.handsFrom.empty())
        std::ranges::copy(filesOfRunLog(command.handsFrom), std::back_inserter(inputs));
    if (!command.out.empty())
        checkOutput(command.out, OutputKind::HeatPlan, inputs);
    const Shelf shelf = readWholeShelf();
    BenchSheet sheet = readSheetFile(command.sheet, shelf);
    if (!command.handsFrom.empty())
        sheet.hands = handsFrom(command.handsFrom);
    const auto started = std::chrono::steady_clock::now();
    const std::vector<HeatAnswer> answers =
        hasHeatsToAnswer(sheet) ? answerJob(sheet) : std::vector<HeatAnswer>();
    JobPlan job = jobPlanOf(sheet, answers);
    const std::chrono::duration<double, std::milli> took = std::chrono::steady_clock::now() - started;
    std::optional<WhatIfAnswer> levers;
    const auto leversStarted = std::chrono::steady_clock::now();
    if (!answers.empty() && (command.whatIf || !job.runnable()))
        levers = whatIf(sheet, shelf, answers);
    const std::chrono::duration<double, std::milli> leversTook =
        std::chrono::steady_clock::now() - leversStarted;
    if (levers && !job.runnable())
        job.heats.front().suggestions = job.refused() ? waysAround(*levers) : helpful(*levers);
    const std::vector<std::string> files = planFiles(command.out, job.heats.size());
    if (files.size() > 1)
        for (const std::string& file : files)
            checkOutput(file, OutputKind::HeatPlan, inputs);
    for (const std::string& said : writeHeats(command.out, job))
        printWrapped(std::cerr, "", said);
    if (command.json) {
        nlohmann::ordered_json answer = answerJson(sheet, job, files, took.count());
        if (command.whatIf && levers)
            answer["what_if"] = whatIfJson(*levers, leversTook.count());
        std::cout << answer.dump(2) << '\n';
    } else {
        if (command.whatIf)
            job.heats.front().suggestions.clear(); // all of them follow
        printJob(std::cout, sheet, job, files, command.all);
        if (command.all && !answers.empty()) {
            std::cout << '\n';
            printWrapped(std::cout, "", costOfRanges(job, planJob(asThoughKnown(sheet))));
        }
        if (command.whatIf && levers)
            printWhatIf(*levers);
    }
    return job.runnable() ? exitOk : exitNoPlan;
}

} // namespace stripwright
