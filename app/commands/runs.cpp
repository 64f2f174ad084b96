#include "commands/commands.h"

#include "materials/output_file.h"
#include "messages/wire_names.h"
#include "runlog/run_log.h"
#include "runlog/salvage.h"

#include <iostream>
#include <nlohmann/json.hpp>

namespace stripwright {

namespace {

constexpr double lookAtFileS = 300;

// Before anything is read: a run log takes long to make and must not be lost to a slip of the hand.
void checkIsNew(const std::string& out)
{
    std::error_code error;
    if (std::filesystem::symlink_status(out, error).type() != std::filesystem::file_type::not_found)
        throw CannotWrite(out + ": exists already; name a new file");
    checkCanWrite(out);
}

std::string endOf(const RunSummary& run)
{
    return run.outcome ? inWords(*run.outcome) : "not ended: being written, or its controller died";
}

nlohmann::ordered_json jsonOf(const RunSummary& run)
{
    return {{"run", run.key},
            {"title", run.title},
            {"started_utc", run.startedUtc},
            {"outcome", run.outcome ? nlohmann::ordered_json(wireName(*run.outcome)) : nullptr},
            {"outcome_text", run.outcomeText},
            {"samples", run.samples}};
}

// What could be read of a damaged file is no reason to fail: it is what the command is for.
void readWhatIsIn(const std::string& file, bool sound, std::vector<RunSummary>& runs,
                  std::vector<BenchEvent>& events)
{
    try {
        const RunReader reader(file);
        runs = reader.runs();
        events = reader.benchEvents();
    } catch (const RunLogError& failure) {
        if (sound)
            throw; // such as an empty file
        std::cerr << failure.what() << '\n';
    }
}

} // namespace

int carryOut(const RunsCommand& command)
{
    for (const std::string& out : {command.copyTo, command.salvageTo})
        if (!out.empty())
            checkIsNew(out);
    std::error_code error;
    if (!std::filesystem::is_regular_file(command.file, error))
        throw RunLogError(command.file + (std::filesystem::is_directory(command.file, error)
                                              ? ": is a folder, expected a run log; name the file"
                                              : ": found no file, expected a run log"));
    const FileHealth health = healthOf(command.file, lookAtFileS);
    std::vector<RunSummary> runs;
    std::vector<BenchEvent> events;
    readWhatIsIn(command.file, health.sound, runs, events);

    Salvaged salvaged;
    try {
        if (!command.copyTo.empty() && health.sound)
            copyRunLog(command.file, command.copyTo);
        if (!command.salvageTo.empty())
            salvaged = salvage(command.file, command.salvageTo);
    } catch (const RunLogError& failure) {
        throw CannotWrite(failure.what());
    }

    if (!command.salvageTo.empty() && !health.sound && salvaged.nothing()) {
        std::filesystem::remove(command.salvageTo, error);
        throw RunLogError(command.file + ": nothing in it can be read (" + health.fault +
                          "), nothing was saved; look for a copy of this file");
    }

    const std::string sound = !health.sound  ? "damaged: " + health.fault
                              : health.whole ? "sound"
                                             : "sound as far as it was looked through";
    if (command.json) {
        nlohmann::ordered_json answer{
            {"format", "stripwright-runs"}, {"version", 1},
            {"file", command.file},         {"sound", health.sound},
            {"fault", health.fault},        {"runs", nlohmann::ordered_json::array()},
            {"bench_events", events.size()}};
        for (const RunSummary& run : runs)
            answer["runs"].push_back(jsonOf(run));
        if (!command.copyTo.empty() && health.sound)
            answer["copied_to"] = command.copyTo;
        if (!command.salvageTo.empty())
            answer["salvaged"] = {{"to", command.salvageTo},
                                  {"runs", salvaged.runs},
                                  {"runs_found", salvaged.runsFound},
                                  {"samples", salvaged.samples},
                                  {"samples_found", salvaged.samplesFound}};
        std::cout << answer.dump(2) << '\n';
    } else {
        std::cout << command.file << ": " << sound << ", " << runs.size()
                  << (runs.size() == 1 ? " run" : " runs") << ", " << events.size()
                  << " events between runs\n";
        for (const RunSummary& run : runs)
            std::cout << "  " << run.key << "  " << run.samples << " samples  " << endOf(run) << "  "
                      << run.title << '\n';
        if (!command.copyTo.empty() && health.sound)
            std::cout << "copied to " << command.copyTo << '\n';
        if (!command.salvageTo.empty())
            std::cout << salvaged.inWords() << " saved to " << command.salvageTo << '\n';
        else if (!health.sound)
            std::cout
                << "Save what can be read with --salvage-to NEWFILE; the damaged file stays as it is.\n";
    }
    if (!command.copyTo.empty() && !health.sound)
        std::cerr << command.file << ": is damaged, a copy would be as well; use --salvage-to\n";
    return health.sound || !command.salvageTo.empty() ? exitOk : exitBadInput;
}

} // namespace stripwright
