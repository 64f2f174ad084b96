#pragma once

#include "child_program.h"
#include "client.h"
#include "scratch_folder.h"
#include "shim_control.h"
#include "short_plan.h"
#include "trace_file.h"

#include <memory>

namespace stripwright::faults {

enum class Line { Tcp, Tty };

struct Setting {
    const Row* row = nullptr;
    Phase phase = Phase::Idle;
    Line line = Line::Tcp;
    double speed = 4;   ///< Plant seconds a second.
    std::string traces; ///< Folder to keep the plate's trace in; empty: it is thrown away.
};

/// A plate, its controller with its guardian and whoever stands in front, and what a window would be: each a
/// process but for the last. Ends them all. Throws std::runtime_error with what did not come about.
class Stand {
public:
    Stand(const Setting& setting, const HeatPlan& plan, std::string planText);
    ~Stand();

    void startPlate();
    bool startController(); ///< False: it ended instead of getting ready.
    void reachPhase();
    void startRun() { client->send(StartRun{planText_}); }
    void doIt(); ///< The row's fault, or act.
    void watch(double forS);

    double beganS() const { return beganS_; } ///< On the monotonic clock: when the fault came.
    double secondsSince(double wallS) const { return nowS() - wallS; }
    bool hasFront() const { return guardian_ != front_; }
    bool workerLives() const { return !hasEnded(worker_); }
    std::string controllerErrors() const { return controller_ ? controller_->errors() : ""; }
    std::optional<int> controllerExit() { return controller_->exitCode(0); }
    std::filesystem::path tracePath() const { return folder_ / "trace.csv"; }
    std::filesystem::path folder() const { return folder_ / ""; }

    const Setting setting;
    std::unique_ptr<Client> client;
    std::string actSays; ///< What the act itself brought: of a second controller, of a lock.
    bool actFailed = false;

private:
    bool preloaded() const;
    void writeLink();
    void findProcesses();
    void act(Act act);
    void keepBusy();
    void secondController();
    void lockRuns();
    void flood();
    std::vector<std::string> controllerArguments(const std::string& socket) const;
    std::map<std::string, std::string> environment() const;

    const HeatPlan& plan_;
    std::string planText_;
    ScratchFolder folder_;
    std::unique_ptr<ChildProgram> plate_, controller_;
    ShimControl* shim_ = nullptr;
    pid_t front_ = 0, guardian_ = 0, worker_ = 0;
    double beganS_ = 0;
    std::vector<pid_t> burners_;
    std::shared_ptr<void> held_; // what an act holds until the end
};

} // namespace stripwright::faults
