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
    exitNoPlan = 4,            ///< No plan keeps every limit, or a plan to be run is marked not runnable.
    exitPlateNotReachable = 5, ///< Or in use, or no controller to talk to.
    exitStoppedByOperator = 6,
    exitStoppedByLimit = 7,
    exitCannotWrite = 8,
};

// Each command with what carries it out and returns an ExitCode. Results go to standard output, talk and
// errors to standard error. They throw BadInput, CannotWrite and RunLogError; exitCodeOfCurrentException()
// turns those into words.

struct PlanCommand {
    std::string sheet;
    std::string out;       ///< Empty: no plan file.
    bool whatIf = false;   ///< Plan every lever too, whether the plan is runnable or not.
    std::string handsFrom; ///< Run log; empty: the sheet's pace.
    bool all = false;      ///< Every limit as a table, not only the broken and the tightest.
    bool json = false;
};
int carryOut(const PlanCommand& command);

struct PredictCommand {
    std::string sheet, plateCurve, out;
    std::vector<double> stripXMm;
    bool json = false;
};
int carryOut(const PredictCommand& command);

struct RunCommand {
    std::string plan;
    std::string plateLink;      ///< Empty: a simulated plate.
    std::filesystem::path runs; ///< Empty: the user's own run log.
    double speed = 1;           ///< Plate seconds in a second; other than 1 only for simulated plates.
    bool outOfOrder = false;    ///< Heats of its job before it need not have been run, nor this one be new.
};
int carryOut(const RunCommand& command);

/// Which controllers of this user live, the run of a command line that was killed included.
struct RunningCommand {
    bool json = false;
};
int carryOut(const RunningCommand& command);

struct StopCommand {
    std::optional<int> process; ///< Absent: the only one.
};
int carryOut(const StopCommand& command);

/// Progress and cards of a run that another command line or a window began.
struct FollowCommand {
    std::optional<int> process; ///< Absent: the only one.
};
int carryOut(const FollowCommand& command);

struct ReviewCommand {
    std::string run;            ///< Key; empty: the newest.
    std::filesystem::path runs; ///< Empty: the user's own run log.
    std::string csv, png;       ///< Empty: not written.
    bool json = false;
};
int carryOut(const ReviewCommand& command);

struct CheckCommand {
    std::vector<std::string> files;
};
int carryOut(const CheckCommand& command);

struct RunsCommand {
    std::string file;
    std::string copyTo;    ///< Empty: no copy.
    std::string salvageTo; ///< Empty: nothing is salvaged.
    bool json = false;
};
int carryOut(const RunsCommand& command);

/// Handed on to stripwright-controller, which becomes this process; it is what keeps a guardian over the
/// heat.
struct ControllerCommand {
    std::vector<std::string> arguments; ///< "find", "connect" or "tune", then what belongs to it.
};
/// What the controller is started with: the user's shelf, where tuning puts the plate, is added.
std::vector<std::string> argumentsOf(const ControllerCommand& command,
                                     const std::filesystem::path& userShelf);
int carryOut(const ControllerCommand& command);

/// The shipped demo sheet planned, run on the simulated plate and reviewed; everything is left in one folder.
struct DemoCommand {
    std::filesystem::path folder; ///< Empty: a new one in the system's temporary folder.
    double speed = 40;
};
int carryOut(const DemoCommand& command);

/// Whether standard output has taken everything: if not, says so, and exitCannotWrite takes the place of a
/// code that speaks of an answer. A code that tells how a heat ended stays.
int withOutputWritten(int code);

/// Says what the exception that is being handled means, on standard error, and which code the program ends
/// with.
int exitCodeOfCurrentException();

} // namespace stripwright
