#pragma once

#include "messages/messages.h"
#include "models/bench_processes.h"
#include "planner/heat_plan.h"

#include <QDateTime>
#include <QElapsedTimer>
#include <QLocalSocket>
#include <QObject>
#include <QTimer>

namespace stripwright {

/// One controller process and what it says: starts it (and the simulated plate when no link is given), sends
/// it commands and keeps the samples and events of its run. Needs a running Qt event loop and nothing else,
/// so the command line uses it too.
///
/// Whoever destroys it while heat may be on sends the stop first and waits up to 2 s for "off, read back".
class LiveRun : public QObject {
    Q_OBJECT
public:
    enum class Phase { Off, StartingPlate, StartingController, Connecting, Connected, Lost, Failed };
    /// What became of the last stop; NotConfirmed after 2 s without the answer "heater off, read back".
    enum class Stop { None, Sent, Acknowledged, OffConfirmed, NotConfirmed };

    explicit LiveRun(QObject* parent = nullptr);
    ~LiveRun() override;

    /// Starts plate and controller. The sheet is what lies on the simulated plate; a real one ignores it.
    /// Anything still connected is shut down first; refused (false) while heat is on.
    bool open(const LiveRunSetup& setup, const BenchSheet& sheet);
    void attach(const QString& socketPath); ///< To a controller that listens already.
    void close(); ///< Shuts down controller and simulated plate; does nothing while heat is on.

    void leave(); ///< Lets go of an attached controller, which goes on as it is: no stop, no shutdown.

    bool start(const HeatPlan& plan); ///< False if not connected or a run is on.
    void confirmCard(const std::string& card);
    void stopHeating(); ///< May always be called, also again.
    void addNote(const QString& text);

    Phase phase() const { return phase_; }
    QString phaseText() const; ///< In words; says why after Failed.
    /// What the controller ended with by itself, if it has: 5 plate not reachable, 8 run log not writable.
    std::optional<int> controllerExitCode() const { return processes_.controllerExitCode(); }
    bool simulatedPlate() const { return setup_.plateLink.empty(); }
    double speed() const { return setup_.speed; }
    const std::optional<Status>& status() const
    {
        return status_;
    } ///< Last one heard; none before the first.
    /// When the controller was last heard, once it has been silent for 1.5 s or the line is gone: all values
    /// are then old.
    std::optional<QDateTime> unknownSince() const;
    bool runIsOn() const; ///< From start() to the outcome. Stays true when the controller is lost.
    /// Anything but "off, read back", once a controller was connected. Always so while it heats by a plan:
    /// what it reads back off in one cycle it may heat in the next.
    bool heatMayBeOn() const;
    Stop stop() const { return stop_; }
    const std::vector<Sample>& samples() const { return samples_; }
    const std::vector<Event>& events() const { return events_; }

signals:
    void phaseChanged();
    void statusChanged();
    void sampleAdded();
    void eventAdded();
    void stopChanged();
    void runStarted();
    void refused(const QString& why); ///< The controller does not carry out the last command.
    void ended();                     ///< status() carries the outcome.
    void silenceChanged();            ///< unknownSince() came or went.

private:
    void enter(Phase phase, const QString& text = {});
    void readSocket();
    void take(const Message& message);
    void takeStatus(const Status& status);
    void send(const Message& message);
    void beat();
    void setStop(Stop stop);
    void processEnded(const QString& why);
    void dropProcesses();

    LiveRunSetup setup_;
    Phase phase_ = Phase::Off;
    QString phaseText_;
    BenchProcesses processes_;
    QLocalSocket socket_;
    QString socketPath_;
    QByteArray received_;
    QTimer heartbeat_, connectAgain_, stopAnswer_, startLimit_;
    QElapsedTimer sinceHeard_;
    QDateTime lastHeard_;
    bool silent_ = false, startSent_ = false, closing_ = false;
    Stop stop_ = Stop::None;
    std::optional<Status> status_;
    std::vector<Sample> samples_;
    std::vector<Event> events_;
};

} // namespace stripwright
