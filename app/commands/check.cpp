#include "commands/commands.h"

#include "commands/curves_csv.h"
#include "commands/inputs.h"
#include "commands/run_texts.h"
#include "materials/json_fields.h"
#include "runlog/salvage.h"

#include <algorithm>
#include <array>
#include <cerrno>
#include <cstring>
#include <fstream>
#include <iostream>
#include <optional>
#include <spawn.h>
#include <sys/wait.h>
#include <unistd.h>

namespace stripwright {

namespace {

constexpr std::array shelfFileNames{"alloys.json",      "pastes.json",     "leds.json",   "lenses.json",
                                    "glues.json",       "strips.json",     "plates.json", "contacts.json",
                                    "sink-blocks.json", "core-alloys.json"};

bool isRunLog(const std::string& file)
{
    std::error_code error;
    if (!std::filesystem::is_regular_file(file, error)) // Opening a pipe would wait for its other end.
        return false;
    std::ifstream in(file, std::ios::binary);
    std::string start(15, '\0');
    in.read(start.data(), 15);
    return start == "SQLite format 3";
}

// A shelf file is read where it stands, over the shipped shelf; only its own problems are its fault.
void checkShelfFile(const std::filesystem::path& file)
{
    const std::array folders{shippedData(), std::filesystem::absolute(file).parent_path()};
    try {
        readShelf(folders);
    } catch (const BadInput& bad) {
        std::vector<Problem> own;
        for (Problem problem : bad.problems()) {
            std::error_code none;
            if (!std::filesystem::equivalent(problem.file, file, none))
                continue;
            problem.file = file;
            own.push_back(problem);
        }
        if (!own.empty())
            throw BadInput(own);
    }
}

/// What plate links are only the controller knows: it says so itself, in the lines of this command.
int checkedByController(const std::string& file)
{
    std::cout.flush();
    const std::string program = binFolder() / "stripwright-controller";
    std::string check = "check-link", separator = "--", link = file;
    char* const argv[] = {const_cast<char*>(program.c_str()), check.data(), separator.data(), link.data(),
                          nullptr};
    pid_t child = 0;
    int status = 0;
    if (const int error = posix_spawn(&child, program.c_str(), nullptr, nullptr, argv, environ); error != 0) {
        std::cerr << program << " cannot be started: " << std::strerror(error)
                  << ". It belongs beside stripwright: build or install it again\n";
        return exitInternalFailure;
    }
    while (waitpid(child, &status, 0) < 0 && errno == EINTR)
        ;
    const int code = WIFEXITED(status) ? WEXITSTATUS(status) : exitInternalFailure;
    return code == exitOk || code == exitBadInput ? code : exitInternalFailure;
}

// That a check could not be made comes before what the others found.
int worse(int a, int b)
{
    return a == exitInternalFailure || b == exitInternalFailure ? exitInternalFailure : std::max(a, b);
}

// What the file is, in words; none: a plate link. Throws what is wrong with it.
std::optional<std::string> checkedKind(const std::string& file)
{
    if (isRunLog(file)) {
        constexpr double lookAtFileS = 300;
        if (const FileHealth health = healthOf(file, lookAtFileS); !health.sound)
            throw RunLogError(file + ": damaged: " + health.fault +
                              "; \"stripwright runs\" saves what is left of it");
        const RunReader reader(file);
        const auto runs = reader.runs();
        for (const RunSummary& run : runs)
            if (const RunTexts texts = textsOf(reader.read(run.key)); !texts.garbled.empty())
                throw RunLogError(file + ": garbled texts, run " + printable(run.key + ": " + texts.garbled) +
                                  "; look for an earlier copy of this file");
        return "run log with " + std::to_string(runs.size()) + (runs.size() == 1 ? " run" : " runs");
    }
    const std::string name = std::filesystem::path(file).filename();
    if (std::find(shelfFileNames.begin(), shelfFileNames.end(), name) != shelfFileNames.end()) {
        readTextFile(file);
        checkShelfFile(file);
        return "shelf file";
    }
    if (name.ends_with(".plate.json"))
        return {};
    if (name.ends_with(".csv"))
        return "plate curve with " +
               std::to_string(readPlateCurve(readTextFile(file, mostCurveMB), file).timeS.size()) + " points";
    const bool namedSheet = name.ends_with(".bench.json");
    const std::string text = readTextFile(file, namedSheet ? mostSheetMB : mostPlanMB);
    std::vector<Problem> problems;
    const auto document = parseDocument(text, file, "", 0, problems);
    if (!document)
        throw BadInput(problems);
    const nlohmann::json format =
        document->is_object() ? document->value("format", nlohmann::json()) : nlohmann::json();
    if (format == "stripwright-heat-plan") {
        return readHeatPlan(text, file).runnable ? "heat plan" : "heat plan, marked not runnable";
    }
    if (format == "stripwright-bench-sheet" || namedSheet) {
        readBenchSheet(text, file, readWholeShelf());
        return "bench sheet";
    }
    if (format == "stripwright-plate-link")
        return {};
    throw BadInput(
        {{file, "/format", format.is_null() ? "nothing" : quoted(format),
          oneOf({"\"stripwright-bench-sheet\"", "\"stripwright-heat-plan\"", "\"stripwright-plate-link\""}) +
              ", a shelf file by its name, a .csv plate curve or a run log"}});
}

} // namespace

int carryOut(const CheckCommand& command)
{
    int code = exitOk;
    for (const std::string& file : command.files) {
        try {
            if (const auto kind = checkedKind(file))
                std::cout << file << ": ok, " << *kind << '\n';
            else
                code = worse(code, checkedByController(file));
        } catch (const BadInput& bad) {
            for (const Problem& problem : bad.problems())
                std::cout << problem.text() << '\n';
            code = worse(code, exitBadInput);
        } catch (const RunLogError& bad) {
            std::cout << bad.what() << '\n';
            code = worse(code, exitBadInput);
        }
    }
    return code;
}

} // namespace stripwright
