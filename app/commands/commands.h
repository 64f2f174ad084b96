#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

namespace stripwright {

/// What the program ends with; stable, for scripts.
enum ExitCode {
    exitOk = 0,
    exitInternalFailure = 1,
    exitUsage = 2,
    exitBadInput = 3,
    exitNoPlan = 4,             ///< No plan keeps every limit, or a plan to be run is marked not runnable.
    exitPlateNotReachable = 5,
    exitStoppedByOperator = 6,
    exitStoppedByLimit = 7,
    exitCannotWrite = 8,
};

// One function for each command. Results go to standard output, talk and errors to standard error. They throw
// BadInput, CannotWrite and RunLogError; exitCodeOf() turns those into words and a code.

struct PlanCommand {
    std::string sheet;
    std::string out;    ///< Empty: no plan file.
    bool json = false;
};
int planCommand(const PlanCommand& command);

struct PredictCommand {
    std::string sheet, plateCurve, out;
    std::vector<double> stripXMm;
    bool json = false;
};
int predictCommand(const PredictCommand& command);

struct RunCommand {
    std::string plan;
    std::string plateLink;                 ///< Empty: a simulated plate.
    std::filesystem::path runs;            ///< Empty: the user's own run log.
    double speed = 1;                      ///< Plate seconds in a second; other than 1 only for simulated plates.
};
int runCommand(const RunCommand& command);

struct ReviewCommand {
    std::string run;                       ///< Key; empty: the newest.
    std::filesystem::path runs;            ///< Empty: the user's own run log.
    std::string csv, png;                  ///< Empty: not written.
    bool json = false;
};
int reviewCommand(const ReviewCommand& command);

struct CheckCommand {
    std::vector<std::string> files;
};
int checkCommand(const CheckCommand& command);

/// The shipped demo sheet planned, run on the simulated plate and reviewed; everything is left in one folder.
struct DemoCommand {
    std::filesystem::path folder;          ///< Empty: a new one in the system's temporary folder.
    double speed = 40;
};
int demoCommand(const DemoCommand& command);

/// Carries out a command and turns what it throws into lines on standard error and an exit code.
template <class Command>
int exitCodeOf(int (*carryOut)(const Command&), const Command& command);

int exitCodeOfCurrentException();

template <class Command>
int exitCodeOf(int (*carryOut)(const Command&), const Command& command)
{
    try {
        return carryOut(command);
    } catch (...) {
        return exitCodeOfCurrentException();
    }
}

} // namespace stripwright
