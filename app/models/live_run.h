#pragma once

#include "messages/messages.h"
#include "messages/running.h"
#include "models/bench_processes.h"
#include "models/line_backlog.h"
#include "models/recorded_runs.h"
#include "models/stop_line.h"
#include "planner/heat_plan.h"

#include <QDateTime>
#include <QElapsedTimer>
#include <QLocalSocket>
#include <QObject>
#include <QTimer>

namespace stripwright {

/// Only this counts as "off": while it heats by a plan, a zero in one cycle may be heat in the next.
bool readBackOff(const Status& status);

/// One controller process and what it says: starts it (and the simulated plate when no link is given), sends
/// it commands and keeps the samples and events of its run. Needs a running Qt event loop and nothing else,
/// so the command line uses it too. Nothing but its destructor ever waits.
///
/// Whoever destroys it while heat may be on sends the stop first and waits up to 2 s for "off, read back".
/// The processes go on to their own orderly end.
class LiveRun : public QObject {
    Q_OBJECT
public:
    enum class Phase { Off, StartingPlate, StartingController, Connecting, Connected, Lost, Failed };
    /// What became of the last stop; NotConfirmed after 2 s without the answer "heater off, read back", and
    /// from then on until that answer comes, whatever else happens.
    enum class Stop { None, Sent, Acknowledged, OffConfirmed, NotConfirmed };

    explicit LiveRun(QObject* parent = nullptr);
    ~LiveRun() override;

    /// Starts plate and controller. The sheet is what lies on the simulated plate; a real one ignores it.
    /// Anything still connected is shut down first; refused (false) while heat is on.
    bool open(const LiveRunSetup& setup, const BenchSheet& sheet);
    void attach(const QString& socketPath); ///< To a controller that listens already.
    /// Follows a controller that somebody else started, such as a window that was killed. Its run so far is
    /// read from its log: runRead(). Refused (false) as open().
    bool attach(const RunningController& controller);
    void close(); ///< Shuts down controller and simulated plate; does nothing while heat is on in a run.

    void leave(); ///< Lets go of an attached controller, which goes on as it is: no stop, no shutdown.

    /// The controller was lost, or failed. takeUpAgain() then goes back to that very controller if it lives,
    /// and reads its run from the log; else it starts another one on the plate, whose first act is to turn
    /// the heater off.
    bool canTakeUpAgain() const;
    void takeUpAgain();

    bool start(const HeatPlan& plan); ///< False if not connected, a run is on or a stop is unanswered.
    void confirmCard(const std::string& card);
    /// May always be called, in every phase, also again. The stop is with the system, on its way to the
    /// controller, before this returns. Where that cannot be, every means that is left is used: another
    /// connection, a signal to the controller's process, the controllers of this user that are found running
    /// on the plate (on any plate, if none was ever opened here). stopWords() says which.
    void stopHeating();
    /// What the hands see of a target's solder. Answered by an event that markOf() reads, or refused().
    void markSolder(int site, bool liquid);
    void addNote(const QString& text);
    void acknowledgeTrip(); ///< status()->trip was seen. It stays.
    void resetTrip(); ///< Refused while its cause is seen or before it was acknowledged. Starts nothing.

    Phase phase() const { return phase_; }
    QString phaseText() const; ///< In words; says why after Failed.
    bool controllerLeaves() const { return processes_.controllerLeaves(); } ///< Closed, and not ended yet.
    /// What the controller ended with, if it has: 5 plate not reachable, 8 run log not written.
    std::optional<int> controllerExitCode() const { return processes_.controllerExitCode(); }
    bool simulatedPlate() const { return simulated_; }
    const std::filesystem::path& plateLink() const { return setup_.plateLink; } ///< Empty: simulated.
    double speed() const { return setup_.speed; }
    const std::optional<Status>& status() const
    {
        return status_;
    } ///< Last one heard; none before the first. Of now only if live().
    /// Since when status() is old: the controller silent for 1.5 s, gone, ended or not yet heard after
    /// contact was taken up again, its own link to the plate lost, or so much unread that this lags behind.
    /// Nothing while there is no status, and while it is live.
    std::optional<QDateTime> unknownSince() const;
    bool live() const { return status_ && !unknownSince(); } ///< status() says what is so now.
    std::optional<double> liveSensorC() const { return live() ? status_->sensorC : std::nullopt; }
    /// The heat was ended before its plan ended it: the plan's times tell nothing any more.
    bool brokenOff() const;
    /// The place in the plan that cards and remaining time count from: profile time, which past the path's
    /// end goes on with the clock, for a plan's cool-down is longer than its path.
    double placeS() const;
    /// Until the plan has all of it cool; nothing once that is over, and where its times tell nothing.
    std::optional<double> toGoS() const;
    /// What a run waits for whose plan has no times left, "until the plate is below 45 °C"; empty: its plan
    /// still goes on, or none is on.
    QString waitsFor() const;
    bool runIsOn() const; ///< From start() to the outcome. Stays true when the controller is lost.
    /// Anything but "off, read back", from the moment a controller was connected; stays so when it is lost or
    /// closed before it said so. Always so while it heats by a plan: what it reads back off in one cycle it
    /// may heat in the next.
    bool heatMayBeOn() const { return startSent_ || !offConfirmed_; }
    Stop stop() const { return stop_; }
    QString stopWords() const; ///< What became of the last stop, and what to do; empty: none was given.
    const std::vector<Sample>& samples() const { return samples_; } ///< Of the run that is on, or was last.
    const std::vector<Event>& events() const { return events_; }    ///< Likewise, from runStarted() on.
    const std::vector<Event>& allEvents() const { return allEvents_; } ///< Of this controller, idle ones too.
    /// Of the run that is on, or was last; none before, and until a run that was followed has been read.
    const std::optional<HeatPlan>& runPlan() const { return runPlan_; }

signals:
    void phaseChanged();
    void statusChanged();
    void sampleAdded();
    void eventAdded();
    void stopChanged(); ///< stop() or stopWords().
    void runStarted();
    /// samples(), events() and runPlan() hold all that the log has of a run that was followed, or of which
    /// samples were passed over because too many came at once; or `problem` says why not. Earlier ones may
    /// now stand before those already shown.
    void runRead(const QString& problem);
    void refused(const QString& why); ///< The controller does not carry out the last command.
    /// status() carries the outcome; none if the controller was lost and another one knows of no run.
    void ended();
    void silenceChanged(); ///< unknownSince() came or went.
    void tripChanged();    ///< status()->trip.

private:
    struct OtherStop {
        std::unique_ptr<StopLine> line;
        QString socketPath;
        bool heard = false, off = false;
    };

    void enter(Phase phase, const QString& text = {});
    void follow(const RunningController& controller);
    void connected();
    void disconnected();
    void processEnded(const QString& why);
    void dropProcesses(bool shutController);
    void forgetController();
    void forgetSocket();

    void readSocket();
    void take(const Message& message);
    void takeEvent(const Event& event);
    void takeStatus(const Status& status);
    void readRun();
    void mergeRun(const ReadRun& read);
    void send(const Message& message);
    void beat();
    void tellUnknown();

    bool stopPending() const { return stop_ != Stop::None && stop_ != Stop::OffConfirmed; }
    bool sendStop();
    std::vector<RunningController> concerned() const; ///< Those running that may heat the plate of this run.
    void stopOthers();
    void askToEnd(bool others);
    void repeatStop();
    void stopUnanswered();
    bool namesStop(const Status& status) const;
    bool stopHeard() const { return heardOnTalk_ || heardOnStops_; }
    void hearAnswer(const Status& status, bool& heardHere);
    void forgetOldWords();
    void hearOther(const QString& socketPath, const Status& status);
    void settleStop();
    void use(const QString& means);
    void setStop(Stop stop);

    LiveRunSetup setup_;
    BenchSheet sheet_;
    bool simulated_ = true;
    Phase phase_ = Phase::Off;
    QString phaseText_, endedWhy_;
    BenchProcesses processes_;
    QLocalSocket socket_;
    QString socketPath_;
    LineBacklog received_;
    QTimer heartbeat_, connectAgain_, startLimit_, readOn_;
    bool closing_ = false, startSent_ = false, followed_ = false, samplesSkipped_ = false,
         everOpened_ = false;

    QElapsedTimer sinceLive_;
    QDateTime lastLive_; ///< When the last status came that told of the plate.
    bool awaitsStatus_ = false, toldUnknown_ = false, offConfirmed_ = true;

    StopLine stopLine_;
    std::vector<OtherStop> otherStops_;
    QTimer stopAnswer_, stopRepeat_;
    Stop stop_ = Stop::None;
    long firstStop_ = 0, lastStop_ = 0; ///< Ids of the stops that wait for an answer, or waited last.
    /// Whether each connection has brought the answer: what stood on it before tells of the time before.
    bool heardOnTalk_ = false, heardOnStops_ = false, askedToEnd_ = false, noneToStop_ = false;
    bool offSeen_ = false; ///< On the talk too, since the stop was confirmed.
    QStringList means_;

    std::optional<Status> status_;
    std::string runKey_;
    std::vector<Sample> samples_;
    std::vector<Event> events_, allEvents_;
    std::optional<HeatPlan> runPlan_;
    std::unique_ptr<RecordedRuns> runs_; ///< Reads the log of a followed run.
};

} // namespace stripwright
