#pragma once

#include "interlocks/interlock_set.h"
#include "interlocks/watchdog_at_rest.h"
#include "link/plate_link.h"
#include "loop/cycle_record.h"
#include "loop/dwell_guard.h"
#include "loop/follower.h"
#include "loop/foreign_heat.h"
#include "loop/heat_bounds.h"
#include "loop/joint_estimate.h"
#include "loop/look_ahead.h"
#include "loop/own_loop_model.h"
#include "loop/planned_load.h"
#include "loop/runnable_plan.h"
#include "loop/seat_watch.h"
#include "loop/stretch_limit.h"
#include "loop/tuning.h"

#include <atomic>
#include <memory>
#include <readerwriterqueue/readerwriterqueue.h>

namespace stripwright {

struct LoopSettings {
    DriveKind drive = DriveKind::Duty;
    double setpointFloorC = 0;
    double periodS = 0.2;          ///< Control period, plant time.
    double plantSPerWallS = 1;     ///< Above 1 only for a simulated plate.
    bool watchdogUnproven = false; ///< Nobody has seen the plate cut its heater; every heat says so.
    bool simulatedStrip = false;   ///< The plate lifts the strip itself when told; no card is waited for.
    std::optional<IdentifiedPlate> identified; ///< As measured on this plate; none: the plan's figures.
    bool tellsDuty = true;                     ///< A plate driven by its set-point says what its loop gives.
    double watchdogProvenS = 0; ///< Silence after which this plate was found cut; 0: never found so.
    bool virtualTime = false;   ///< The cycle waits for what a thread would do meanwhile.
};

/// One run of one plan on one plate: in every cycle read, decide, write, record.
///
/// cycle() is for the control thread: no allocation (but for the text of a link failure), no disk, no socket,
/// no exception. Heat is on only in the states Running and Holding, before the plan's heaterOffS, within
/// HeatBounds, with nothing latched; what must end it is written before anything else. Every way out of
/// heating is the same: heaterOff() every cycle until it was read back, then cooling and recording until
/// plate and strip are below the plan's safeBelowC. No run resumes by itself.
class ControlLoop {
public:
    /// The plan must have no reason in whyNotRunnable(). The plate must outlive this.
    ControlLoop(Plate& plate, HeatPlan plan, const LoopSettings& settings);

    CycleRecord cycle(double wallS); ///< Monotonic wall time, rising.
    bool ended() const { return state_ == RunState::Ended; }
    const HeatPlan& plan() const { return plan_; }

    // From any thread; taken up by the next cycle.
    void requestStop() { stopRequested_ = true; }
    void requestAbort(const char* reason)
    {
        abortReason_ = reason;
    } ///< For the program, not the operator; `reason` must live for ever.
    void requestLeave()
    {
        leaveRequested_ = true;
    }                                        ///< Heater off, then end the run without waiting for cooling.
    bool confirmCard(const std::string& id); ///< False if the plan has no such card.
    /// What the hands see of a target's solder; false if too many wait. One thread at a time.
    bool markSolder(const SolderMark& mark) { return marks_.try_enqueue(mark); }
    /// Heater off was sent a moment ago, before the next cycle: that cycle need not send it again.
    void heaterOffSent(bool readBack) { offFirst_ = readBack; }
    void setGuardianGone() { guardianGone_ = true; }
    void setWatchedByNobody(bool nobody) { watchedByNobody_ = nobody; }
    void setLogFailing(bool failing) { logFailing_ = failing; }

    /// An event of the next cycle's record. Control thread only.
    [[gnu::format(printf, 4, 5)]] void say(EventKind kind, Severity severity, const char* format, ...);

private:
    struct Command {
        bool off = true;
        double duty = 0, setpointC = 0;
    };

    bool heating() const { return state_ == RunState::Running || state_ == RunState::Holding; }
    bool mayHeat() const;
    void advanceTime(double wallS);
    void observe();
    void takeRequests();
    void judge();
    void judgeCompany();
    void decide();
    void startWhenReady();
    bool watchdogLetsHeat();
    bool enableHoldsBack();
    void followPlan();
    double paceShare(double behindK);
    bool waitsToCool() const;
    bool heldBack();
    bool unseated();
    void steer();
    double highestSetpointC() const;
    void steerOwnLoop(double wantedDuty);
    void steerSetpoint(double wantedDuty);
    bool heaterDoesAsTold() const { return settings_.drive == DriveKind::Duty || ownLoop_; }
    void followOwnLoop();
    double mostDuty() const { return ownLoop_ ? settings_.identified->ownLoop->mostDuty : 1; }
    void lookAhead(double behindK);
    void followCooling();
    bool readingDoubted() const;
    void waitForSafe();
    void coolingAids();
    bool liftConfirmed() const;
    void followStrip();
    void noteCause(const char* text);
    bool endsNow() const;
    double silenceWallS() const;
    void turnOffFirst();
    bool noUseToRead();
    bool standsAsCommanded(const PlateReading& reading) const;
    bool standsAtNoHeat(const PlateReading& reading) const;
    void write();
    bool noHeatConfirmed() const;
    bool heatHasArrived() const;
    void setHeater(HeaterState heater);
    void publish();
    int cardUp() const;
    void setState(RunState state, const char* text);
    void stop(Outcome outcome, EventKind kind, Severity severity, const char* text);
    void endHeat(const char* text);
    [[gnu::format(printf, 3, 4)]] void end(Outcome outcome, const char* format, ...);
    void estimateJoints();
    void takeMarks();
    void take(const SolderMark& mark);
    void judgeMelting();
    std::array<char, 160> lastSaidNotLiquid() const;

    Plate& plate_;
    const HeatPlan plan_;
    const LoopSettings settings_;
    const PlateFigures figures_; // of the real plate, as far as it is known
    const PidGains gains_;
    InterlockSet interlocks_;
    const PlannedLoad load_;
    Follower follower_;
    Pid pid_;
    std::optional<OwnLoopModel> ownLoop_; // of a plate with a loop of its own that was learnt
    JointEstimate joints_;
    DwellGuard dwell_;
    SeatWatch seat_;
    StretchLimit stretchLimit_;
    Stretch stretch_;
    LookAhead ahead_;
    HeatBounds heatBounds_;
    ForeignHeat foreignHeat_;
    WatchdogAtRest watchdog_;

    struct Target {
        std::optional<double> surelyLiquidFromS; // by the plan, profile time
        std::optional<double> notLiquidAtS;      // last said so, when it should have been
    };
    std::vector<Target> targets_; // in the order of the plan's joints
    bool marked_ = false;         // in this cycle
    double judgedMeltingS_ = 0, hopelessS_ = 0;

    RunState state_ = RunState::Starting;
    HeaterState heater_ = HeaterState::Unknown, heaterSaid_ = HeaterState::Unknown;
    LinkState link_ = LinkState::Unknown;
    double wallS_ = 0, wallStepS_ = 0, plantS_ = 0, stepS_ = 0;
    double heatStartedS_ = 0, sinceLastPidS_ = 0, sinceOwnLoopS_ = 0, ownLoopDuty_ = 0, heldSetpointC_ = 0;
    double soakEndS_ = 0, soakEndLeastC_ = 0; // of the joints, to go on to reflow
    bool holdSaid_ = false, setpointBound_ = false, provingEnable_ = false;
    double provingSinceS_ = 0, unseatedS_ = 0;
    double lastUsableC_ = 0, lastAnswerWallS_ = 0, lastUsableWallS_ = 0, lastDutyWallS_ = 0,
           stoppingSinceWallS_ = 0;
    std::optional<double> guardianGoneWallS_;
    bool firstCycle_ = true, heatStarted_ = false, byPlan_ = false;
    bool laidOn_ = false, fanOn_ = false, fanRefusalSaid_ = false, liftTold_ = false;
    StripPlace strip_ = StripPlace::OnPlate;
    std::array<bool, interlockCount> endedHeat_{};
    std::optional<double> noHeatSinceS_, noHeatWallS_, unconfirmedSinceWallS_;
    std::optional<double> lastDuty_; // of a plate that drives itself
    std::optional<PlateReading> reading_;
    Observation seen_;
    Command command_;
    bool commandConfirmed_ = true, commandRefused_ = false, offReadBack_ = false;
    bool plateSilent_ = false, readSkipped_ = false;
    double givenDutyS_ = 0;          // full heat times seconds so far
    bool offMayHaveArrived_ = false; // sent in mid-heat, and its answer did not come
    std::optional<unsigned> lastCounter_;
    bool heatConfirmed_ = false;     // since it was last asked for
    std::optional<bool> offFirst_;   // heater off was sent before this cycle's reading; read back?
    std::optional<Outcome> outcome_; // said only once the run has ended
    double duty_ = 0, plateC_ = 0;
    long sampleSeq_ = 0, eventSeq_ = 0;
    int lastCard_ = -1;
    std::array<char, eventTextBytes> stopText_{};
    CycleRecord record_;

    std::atomic<bool> stopRequested_ = false, leaveRequested_ = false, guardianGone_ = false,
                      watchedByNobody_ = false, logFailing_ = false;
    std::atomic<const char*> abortReason_ = nullptr;
    std::unique_ptr<std::atomic<bool>[]> confirmed_; // by card
    std::unique_ptr<bool[]> confirmationSaid_;
    moodycamel::ReaderWriterQueue<SolderMark> marks_{16};
};

} // namespace stripwright
