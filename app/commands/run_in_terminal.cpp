#include "commands/run_in_terminal.h"

#include "commands/commands.h"
#include "commands/terminal_run.h"
#include "messages/solder_mark_text.h"
#include "runlog/run_log.h"

#include <QDeadlineTimer>
#include <QThread>
#include <QTimer>

namespace stripwright {

using namespace std::chrono_literals;

RunResult TerminalRun::carryOut()
{
    QObject::connect(&live_, &LiveRun::phaseChanged, &live_, [this] { phaseChanged(); });
    QObject::connect(&live_, &LiveRun::statusChanged, &live_, [this] { statusChanged(); });
    QObject::connect(&live_, &LiveRun::stopChanged, &live_, [this] { stopChanged(); });
    QObject::connect(&live_, &LiveRun::ended, &live_, [this] { ended(); });
    QObject::connect(&live_, &LiveRun::refused, &live_, [this](const QString& why) { refused(why); });
    QObject::connect(&live_, &LiveRun::eventAdded, &live_, [this] {
        for (; eventsShown_ < live_.events().size(); ++eventsShown_) {
            const Event& event = live_.events()[eventsShown_];
            progress_.take(event);
            if (markOf(event))
                progress_.say((handsAreSimulated() ? "simulated hands: " : "") + event.text);
            if (event.severity == "trip" && firstTrip_.empty() && !stopped_)
                firstTrip_ = event.text;
        }
    });
    QObject::connect(&live_, &LiveRun::sampleAdded, &live_, [this] {
        markFromTruth();
        answerCards();
    });
    QObject::connect(&live_, &LiveRun::runStarted, &live_, [this] { eventsShown_ = 0; });
    QObject::connect(&signals_, &OperatorSignals::stop, &live_, [this] { stop(); });
    if (followed_)
        live_.attach(QString::fromStdString(followed_->socket));
    else
        live_.open(*setup_, plan_->sheet);
    if (!finished_)
        loop_.exec();
    if (!live_.samples().empty())
        result_.samples = live_.samples().back().seq;
    if (followed_)
        live_.leave();
    else
        live_.close();
    // The end of the log may still be on its way to the disk.
    for (const QDeadlineTimer longest(20s); live_.controllerLeaves() && !longest.hasExpired();) {
        QEventLoop moment;
        QTimer::singleShot(50ms, &moment, &QEventLoop::quit);
        moment.exec();
    }
    if (live_.controllerExitCode() == exitCannotWrite) {
        if (result_.code == exitOk)
            result_.code = exitCannotWrite;
        else
            progress_.say("The controller could not write all of the run.");
    }
    return std::move(result_);
}

void TerminalRun::phaseChanged()
{
    switch (live_.phase()) {
    case LiveRun::Phase::Failed: {
        // One that was asked to end by somebody else ends well, and this run is none.
        const int code = live_.controllerExitCode().value_or(exitInternalFailure);
        finish(followed_        ? exitPlateNotReachable
               : code == exitOk ? int(exitInternalFailure)
                                : code,
               wordsOfALostController());
        break;
    }
    case LiveRun::Phase::Lost:
        lost();
        break;
    default:
        break;
    }
}

// What the controller ended with says more than that it is gone, and comes a moment later.
void TerminalRun::lost()
{
    const std::optional<int> code = live_.controllerExitCode();
    if (code)
        finish(*code == exitOk ? int(exitInternalFailure) : *code, wordsOfALostController());
    else if (!std::exchange(lost_, true))
        QTimer::singleShot(followed_ ? 0ms : 3000ms, &live_,
                           [this] { finish(exitInternalFailure, wordsOfALostController()); });
}

void TerminalRun::statusChanged()
{
    if (!live_.status())
        return;
    const Status& status = *live_.status();
    if (!started_ && live_.phase() == LiveRun::Phase::Connected) {
        if (followed_) {
            started_ = true;
            if (status.state == RunState::Idle)
                finish(exitPlateNotReachable, QStringLiteral("No run is on that could be followed."));
            else if (status.state == RunState::Ended)
                ended();
            if (finished_)
                return;
        } else if (status.state == RunState::Idle) {
            started_ = true;
            if (!live_.start(*plan_))
                finish(exitInternalFailure, QStringLiteral("The controller did not take the plan."));
            return;
        }
    }
    if (!status.runKey.empty())
        result_.runKey = status.runKey;
    if (status.card != cardToConfirm_) {
        cardToConfirm_.clear(); // it has gone down
        sitesAsked_.clear();
    }
    sayThatHandsAreSimulated();
    noticePassed();
    if (!status.card.empty())
        showCard(status.card);
    progress_.show(status, live_.samples().empty() ? std::nullopt : std::optional(live_.samples().back()),
                   live_.brokenOff());
}

void TerminalRun::refused(const QString& why)
{
    const QString words = QStringLiteral("The controller refuses: ") + why;
    if (live_.runIsOn() || followed_)
        progress_.say(words.toStdString());
    else
        finish(exitCodeOfRefusal(why, live_.status()), words);
}

// Of a run that is followed it stands in the log.
void TerminalRun::readPlan()
{
    if (plan_ || !followed_ || !live_.status() || std::exchange(planAsked_, true))
        return;
    try {
        RecordedRun recorded = RunReader(followed_->runsFile).read(live_.status()->runKey);
        plan_ = readHeatPlan(recorded.planText, "plan");
        eventsBefore_ = std::move(recorded.events);
    } catch (const std::exception& error) {
        progress_.say(std::string("The cards of this run cannot be shown: ") + error.what());
    }
}

void TerminalRun::ended()
{
    const Status& status = *live_.status();
    if (!status.runKey.empty())
        result_.runKey = status.runKey;
    result_.logFollows = followed_;
    const Outcome outcome = status.outcome.value_or(Outcome::Failed);
    QString why = QString::fromStdString(inWords(outcome, status.outcomeText));
    why[0] = why[0].toUpper();
    finish(exitCodeOf(outcome), why.endsWith('.') ? why : why + '.');
}

void TerminalRun::finish(int code, const QString& why)
{
    if (finished_)
        return;
    finished_ = true;
    result_.code = code;
    result_.why = why;
    loop_.quit();
}

int exitCodeOf(Outcome outcome)
{
    switch (outcome) {
    case Outcome::Completed:
        return exitOk;
    case Outcome::StoppedByOperator:
        return exitStoppedByOperator;
    case Outcome::StoppedByLimit:
        return exitStoppedByLimit;
    case Outcome::Interrupted:
    case Outcome::Failed:
        break;
    }
    return exitInternalFailure;
}

int exitCodeOfRefusal(const QString& why, const std::optional<Status>& status)
{
    constexpr double coldStartBelowC = 50; // as the controller wants it
    if (why.contains("guardian process is gone") || why.contains("shutting down"))
        return exitInternalFailure;
    if (why.contains("heating was stopped"))
        return exitStoppedByOperator;
    if (why.startsWith("plan") || why.startsWith("the plan "))
        return exitBadInput;
    if (why.startsWith("a run is ") || why.startsWith("the control cycle stands still"))
        return exitPlateNotReachable; // in use, or it does not answer
    if (why.startsWith("a trip stands"))
        return exitStoppedByLimit;
    if (why.startsWith("the run was not started: "))
        return exitInternalFailure;
    if (!status || status->link != LinkState::Up || !status->sensorC)
        return exitPlateNotReachable;
    if (status->heater != HeaterState::OffConfirmed || status->trip || why.startsWith("the plate ") ||
        !(*status->sensorC < coldStartBelowC))
        return exitStoppedByLimit;
    return exitCannotWrite; // nothing else is left but the run log and its disk
}

namespace {

// Whoever leaves before the end is told what goes on, and how to get at it.
QString whatGoesOn(const std::filesystem::path& runs, bool heated)
{
    QString text;
    QThread::msleep(300); // one that was killed a moment ago has let go of its mark by then
    for (const RunningController& one : runningControllers()) {
        std::error_code none;
        if (lookAt(one) == EntryState::Held && std::filesystem::equivalent(one.runsFile, runs, none))
            text +=
                QStringLiteral("\nProcess %1 goes on with %2: see \"stripwright stop %1\" and \"stripwright "
                               "follow %1\".")
                    .arg(one.pid)
                    .arg(QString::fromStdString(one.plate));
    }
    if (text.isEmpty() && heated)
        return QStringLiteral(
            "\nNobody drives the plate any more, and nobody has read back that its heater is off: "
            "pull the mains plug.");
    return text;
}

} // namespace

RunResult runInTerminal(const HeatPlan& plan, const LiveRunSetup& setup, const PatientOutput& talk)
{
    RunResult result = TerminalRun(plan, setup, talk).carryOut();
    if (result.code == exitInternalFailure)
        result.why += whatGoesOn(setup.runsFile, result.samples > 0);
    return result;
}

RunResult followInTerminal(const RunningController& controller, const PatientOutput& talk)
{
    RunResult result = TerminalRun(controller, talk).carryOut();
    if (result.code == exitInternalFailure)
        result.why += whatGoesOn(controller.runsFile, result.samples > 0);
    return result;
}

} // namespace stripwright
