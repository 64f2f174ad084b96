#include "commands/commands.h"

#include "commands/inputs.h"
#include "commands/margins.h"
#include "commands/run_in_terminal.h"
#include "models/run_review.h"

#include <QCoreApplication>

#include <clocale>
#include <iostream>

namespace stripwright {

int runCommand(const RunCommand& command)
{
    const HeatPlan plan = readPlanFile(command.plan);
    if (!plan.runnable) {
        std::cerr << command.plan << ": this plan is marked not runnable; it would break:\n";
        for (const std::string& refusal : plan.refusals)
            std::cerr << "- " << refusal << '\n';
        for (const MarginRow& row : plan.margins)
            if (row.margin < 0 && !row.limit.habit)
                std::cerr << "- " << row.limit.what << '\n';
        return exitNoPlan;
    }
    int argc = 1;
    char name[] = "stripwright";
    char* argv[] = {name, nullptr};
    const QCoreApplication application(argc, argv);
    std::setlocale(LC_NUMERIC, "C"); // Qt has taken the user's

    const std::filesystem::path runs = command.runs.empty() ? userRunsFile() : command.runs;
    const RunResult result = runInTerminal(
        plan, {.binFolder = binFolder(), .plateLink = command.plateLink, .runsFile = runs, .speed = command.speed});
    std::cerr << result.why.toStdString() << '\n';
    if (!result.runKey.empty()) {
        std::cout << "Run " << result.runKey << " is kept in " << runs.string() << '\n';
        printMargins(std::cout, measuredRows(plan.sheet, result.samples));
    }
    return result.code;
}

} // namespace stripwright
