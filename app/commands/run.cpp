#include "commands/commands.h"

#include "commands/inputs.h"
#include "commands/review.h"
#include "commands/run_in_terminal.h"
#include "models/plan_verdict.h"

#include <QCoreApplication>

#include <clocale>
#include <iostream>

namespace stripwright {

int carryOut(const RunCommand& command)
{
    const HeatPlan plan = readPlanFile(command.plan);
    if (!plan.runnable) {
        std::cerr << command.plan << ": " << verdictOf(plan).toStdString() << '\n';
        return exitNoPlan;
    }
    int argc = 1;
    char name[] = "stripwright";
    char* argv[] = {name, nullptr};
    const QCoreApplication application(argc, argv);
    std::setlocale(LC_NUMERIC, "C"); // Qt has taken the user's

    const std::filesystem::path runs = command.runs.empty() ? userRunsFile() : command.runs;
    const RunResult result = runInTerminal(
        plan,
        {.binFolder = binFolder(), .plateLink = command.plateLink, .runsFile = runs, .speed = command.speed});
    std::cerr << result.why.toStdString() << '\n';
    if (!result.runKey.empty()) {
        const RecordedRun recorded = RunReader(runs).read(result.runKey);
        printReview(recorded.summary, plan.sheet, recorded.samples);
        std::cout << "\nKept in " << runs.string() << '\n';
    }
    return result.code;
}

} // namespace stripwright
