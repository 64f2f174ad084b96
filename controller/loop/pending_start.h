#pragma once

#include "loop/control_thread.h"
#include "loop/log_thread.h"

#include <chrono>
#include <future>

namespace stripwright {

/// A run that was asked for and has not begun yet. Its plan must be read, the plate must answer, the log must
/// have it on disk: nobody waits for that, it is looked at.
class PendingStart {
public:
    PendingStart(int client, std::string planText, std::string plateLinkText, const LoopSettings& loop,
                 ControlThread& control, LogThread& log);

    enum class Step { Waiting, Over, Begun };
    /// Begun: the control thread has the run.
    Step look(const CycleRecord& latest);

    /// The run will not heat. Waiting goes on until nothing is left to wait for; what is on disk by then
    /// becomes a run that was stopped before any heat.
    void cancel(const char* why);
    std::string takeRefusal(); ///< Why it does not begin, once; empty if there is nothing to say.

    int client() const { return client_; }
    const std::string& runKey() const { return runKey_; } ///< Once begun; the cards are the plan's.
    const std::vector<std::string>& cardIds() const { return cardIds_; }

private:
    using Clock = std::chrono::steady_clock;
    struct ReadPlan {
        HeatPlan plan;
        std::string refusal;
    };
    struct Ready {
        std::string runKey;
        std::unique_ptr<ControlLoop> run;
    };
    ReadPlan readPlan() const;

    Step refuse(std::string why);
    Step lookAtPlate(const CycleRecord& latest);
    Step lookAtLog(const CycleRecord& latest);

    ControlThread& control_;
    LogThread& log_;
    const int client_;
    const std::string planText_, plateLinkText_;
    const LoopSettings loop_;
    const long askedInCycle_;
    Clock::time_point deadline_;
    bool cancelled_ = false;
    std::string refusal_, runKey_;
    std::vector<std::string> cardIds_;
    HeatPlan plan_;
    std::future<ReadPlan> reading_; // last: they end before what they use
    std::future<Ready> onDisk_;
};

} // namespace stripwright
