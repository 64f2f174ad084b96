#include "commands/commands.h"

#include "commands/card_keys.h"
#include "commands/controller_line.h"
#include "commands/inputs.h"
#include "commands/review.h"
#include "commands/run_in_terminal.h"
#include "commands/wrapped.h"
#include "materials/json_fields.h"
#include "materials/output_file.h"
#include "models/chosen_plate.h"
#include "models/connected_plate.h"
#include "models/plan_verdict.h"
#include "models/run_history.h"

#include <QCoreApplication>

#include <cerrno>
#include <chrono>
#include <clocale>
#include <iostream>
#include <thread>
#include <unistd.h>

namespace stripwright {

using namespace std::chrono_literals;

namespace {

/// One that shows nothing, for the event loop.
class TerminalApplication {
public:
    TerminalApplication() : application_(argc_, argv_)
    {
        std::setlocale(LC_NUMERIC, "C"); // Qt has taken the user's
    }

private:
    int argc_ = 1;
    char name_[12] = "stripwright";
    char* argv_[2] = {name_, nullptr};
    QCoreApplication application_;
};

} // namespace

static RecordedRun readRecorded(const RunResult& result, const std::filesystem::path& runs)
{
    constexpr std::chrono::milliseconds longest = 5s, again = 100ms;
    const RunReader reader(runs);
    for (const auto until = std::chrono::steady_clock::now() + longest;; std::this_thread::sleep_for(again)) {
        RecordedRun recorded = reader.read(result.runKey);
        if (!result.logFollows || recorded.summary.outcome || std::chrono::steady_clock::now() > until)
            return recorded;
    }
}

// A stop may have crossed the end of the heat on its way: what the controller has recorded is so.
static int codeByRecord(int code, std::optional<Outcome> recorded)
{
    const bool ofAnEnd = code == exitOk || code == exitStoppedByOperator || code == exitStoppedByLimit;
    return ofAnEnd && recorded ? exitCodeOf(*recorded) : code;
}

int reviewResult(const RunResult& result, const std::filesystem::path& runs)
try {
    const RecordedRun recorded = readRecorded(result, runs);
    const HeatPlan plan = readHeatPlan(recorded.planText, "plan of run " + result.runKey);
    printReview(recorded, plan);
    const int code = codeByRecord(result.code, recorded.summary.outcome);
    if (code != result.code)
        std::cerr << "The record has this run as " << inWords(*recorded.summary.outcome)
                  << ": the exit code is by the record\n";
    std::cout << "\nKept in " << runs.string() << '\n';
    if (result.code == exitCannotWrite)
        std::cerr << runs.string() << ": the controller could not write all of the run\n";
    const long kept = static_cast<long>(recorded.samples.size());
    if (kept >= result.samples)
        return code;
    std::cerr << runs.string() << ": holds " << kept << " of the run's " << result.samples << " samples; "
              << (recorded.summary.outcome ? "the rest could not be written\n"
                                           : "the rest is not written yet, or could not be\n");
    return code == exitOk ? int(exitCannotWrite) : code;
} catch (const RunLogError& error) {
    std::cerr << error.what() << '\n';
    return result.code == exitOk ? int(exitCannotWrite) : result.code;
}

/// Byte by byte: what follows is meant for the cards.
static std::optional<std::string> typedLine()
{
    std::string line;
    while (!line.ends_with('\n')) {
        char c = 0;
        const ssize_t count = read(STDIN_FILENO, &c, 1);
        if (count == 1)
            line += c;
        else if (count == 0 || errno != EINTR)
            return {};
    }
    return line;
}

/// Whether a heat may be run that comes out of its job's order.
static bool mayComeNow(const HeatPlan& plan, const RunCommand& command, const std::filesystem::path& runs)
{
    const bool rehearsal = saysSimulated(command.plateLink);
    const QString why = outOfOrder(plan, completedRuns(runs, plan.sheet.title, rehearsal));
    if (why.isEmpty())
        return true;
    printWrapped(std::cerr, "warning: ", why.toStdString());
    if (rehearsal || command.outOfOrder) // nobody touches a strip there
        return true;
    dropTyped(STDIN_FILENO);
    printWrapped(
        std::cerr, "",
        "Press Enter alone, or type done, to run it all the same; anything else leaves without heat. "
        "--out-of-order answers beforehand.");
    const auto line = typedLine();
    if (!line)
        std::cerr << "Nobody is there to answer: standard input has ended.\n";
    return line && CardKeys().take(*line) == CardKeys::Answer::Confirmed;
}

int carryOut(const RunCommand& command)
{
    const std::filesystem::path runs = command.runs.empty() ? userRunsFile() : command.runs;
    // The folder of the user's own is made by the first run; one that was named is a slip of the hand.
    const bool ownFolderToBeMade = command.runs.empty() && !std::filesystem::exists(runs.parent_path());
    if (!ownFolderToBeMade) {
        auto inputs = filesOfShelves();
        inputs.insert(inputs.end(), {command.plan, command.plateLink});
        checkOutput(runs, OutputKind::RunLog, inputs);
    }
    if (command.speed != 1 && !saysSimulated(command.plateLink)) {
        std::cerr
            << command.plateLink
            << ": --speed is only for simulated plates, and this link does not say \"simulated\": true\n";
        return exitUsage;
    }
    const HeatPlan plan = readPlanFile(command.plan);
    if (!plan.runnable) {
        std::cerr << command.plan << ": " << verdictOf(plan).toStdString() << '\n';
        return exitNoPlan;
    }
    if (!mayComeNow(plan, command, runs)) {
        std::cerr << "Left before any heat.\n";
        return exitStoppedByOperator;
    }
    for (const std::string& warning : plan.warnings)
        printWrapped(std::cerr, "warning: ", warning);
    if (const auto plate = readConnectedPlate(command.plateLink))
        for (const std::string& difference :
             plateDifferences(plan.sheet.plate, *plate, plan.sheet.air.ambientC, plan.sheet.cooling.fan))
            printWrapped(std::cerr, "not as planned: ", difference);
    const TerminalApplication application;
    const PatientOutput talk(STDERR_FILENO);
    const RunResult result = runInTerminal(
        plan,
        {.binFolder = binFolder(), .plateLink = command.plateLink, .runsFile = runs, .speed = command.speed},
        talk);
    printWrapped(std::cerr, "", result.why.toStdString());
    return result.runKey.empty() ? result.code : reviewResult(result, runs);
}

int carryOut(const FollowCommand& command)
{
    const MeantController meant = meantController(runningControllers(), command.process, "follow");
    if (!meant.controller)
        return meant.code;
    const TerminalApplication application;
    const PatientOutput talk(STDERR_FILENO);
    const RunResult result = followInTerminal(*meant.controller, talk);
    printWrapped(std::cerr, "", result.why.toStdString());
    return result.runKey.empty() ? result.code : reviewResult(result, meant.controller->runsFile);
}

} // namespace stripwright
