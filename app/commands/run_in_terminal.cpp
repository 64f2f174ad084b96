#include "commands/run_in_terminal.h"

#include "commands/commands.h"
#include "commands/operator_signals.h"
#include "commands/progress_line.h"

#include <QEventLoop>

#include <algorithm>
#include <iostream>
#include <set>
#include <unistd.h>

namespace stripwright {

namespace {

class TerminalRun {
public:
    TerminalRun(const HeatPlan& plan, const LiveRunSetup& setup) : plan_(plan), setup_(setup) {}

    RunResult carryOut();

private:
    void phaseChanged();
    void statusChanged();
    void showCard(const std::string& id);
    void confirmFromKeyboard();
    void stop();
    void stopChanged();
    void ended();
    void finish(int code, const QString& why);

    const HeatPlan& plan_;
    const LiveRunSetup& setup_;
    ProgressLine progress_;
    LiveRun live_;
    OperatorSignals signals_;
    std::unique_ptr<QSocketNotifier> keyboard_;
    QEventLoop loop_;
    RunResult result_;
    std::set<std::string> cardsShown_;
    std::string cardToConfirm_;
    size_t eventsShown_ = 0;
    bool started_ = false, stopped_ = false, finished_ = false;
};

RunResult TerminalRun::carryOut()
{
    QObject::connect(&live_, &LiveRun::phaseChanged, &live_, [this] { phaseChanged(); });
    QObject::connect(&live_, &LiveRun::statusChanged, &live_, [this] { statusChanged(); });
    QObject::connect(&live_, &LiveRun::stopChanged, &live_, [this] { stopChanged(); });
    QObject::connect(&live_, &LiveRun::ended, &live_, [this] { ended(); });
    QObject::connect(&live_, &LiveRun::refused, &live_, [this](const QString& why) {
        progress_.say("The controller refuses: " + why.toStdString());
        if (!live_.runIsOn())
            finish(exitBadInput, why);
    });
    QObject::connect(&live_, &LiveRun::eventAdded, &live_, [this] {
        for (; eventsShown_ < live_.events().size(); ++eventsShown_)
            if (const Event& event = live_.events()[eventsShown_]; event.severity != "info")
                progress_.say(event.severity + ": " + event.text);
    });
    QObject::connect(&signals_, &OperatorSignals::stop, &live_, [this] { stop(); });
    live_.open(setup_, plan_.sheet);
    if (!finished_)
        loop_.exec();
    live_.close();
    return std::move(result_);
}

void TerminalRun::phaseChanged()
{
    switch (live_.phase()) {
    case LiveRun::Phase::Failed:
        finish(live_.controllerExitCode().value_or(exitInternalFailure), live_.phaseText());
        break;
    case LiveRun::Phase::Lost:
        finish(stopped_ ? exitStoppedByOperator : exitInternalFailure, live_.phaseText());
        break;
    default:
        break;
    }
}

void TerminalRun::statusChanged()
{
    if (!live_.status())
        return;
    const Status& status = *live_.status();
    if (!started_ && status.state == RunState::Idle && live_.phase() == LiveRun::Phase::Connected) {
        started_ = true;
        if (!live_.start(plan_))
            finish(exitInternalFailure, QStringLiteral("The controller did not take the plan."));
        return;
    }
    if (!status.runKey.empty())
        result_.runKey = status.runKey;
    if (!status.card.empty())
        showCard(status.card);
    progress_.show(status, live_.samples().empty() ? std::nullopt : std::optional(live_.samples().back()));
}

void TerminalRun::showCard(const std::string& id)
{
    if (!cardsShown_.insert(id).second)
        return;
    const auto card = std::find_if(plan_.cards.begin(), plan_.cards.end(),
                                   [&](const HandCard& candidate) { return candidate.id == id; });
    if (card == plan_.cards.end())
        return;
    progress_.say("By hand: " + card->text);
    if (!card->mustConfirm)
        return;
    if (live_.simulatedPlate()) {
        live_.confirmCard(id);
        return;
    }
    progress_.say("The heat starts when this is done. Press Enter then, or Ctrl+C to leave.");
    cardToConfirm_ = id;
    if (!keyboard_) {
        keyboard_ = std::make_unique<QSocketNotifier>(STDIN_FILENO, QSocketNotifier::Read);
        QObject::connect(keyboard_.get(), &QSocketNotifier::activated, &live_,
                         [this] { confirmFromKeyboard(); });
    }
}

void TerminalRun::confirmFromKeyboard()
{
    char typed[256];
    const ssize_t count = read(STDIN_FILENO, typed, sizeof typed);
    if (count <= 0) {
        keyboard_->setEnabled(false);
        if (!cardToConfirm_.empty()) {
            progress_.say("Nobody is there to confirm the card: standard input has ended.");
            stop();
        }
    } else if (std::find(typed, typed + count, '\n') != typed + count && !cardToConfirm_.empty()) {
        live_.confirmCard(std::exchange(cardToConfirm_, {}));
    }
}

void TerminalRun::stop()
{
    if (stopped_) {
        finish(exitStoppedByOperator,
               QStringLiteral("Left before \"heater off\" was read back. If the plate stays "
                              "hot, switch it off at the mains."));
        return;
    }
    stopped_ = true;
    if (!live_.heatMayBeOn() && !live_.runIsOn()) {
        finish(exitStoppedByOperator, QStringLiteral("Stopped before any heat."));
        return;
    }
    progress_.say("Stopping the heat.");
    live_.stopHeating();
}

void TerminalRun::stopChanged()
{
    if (!stopped_)
        return;
    if (live_.stop() == LiveRun::Stop::OffConfirmed)
        finish(exitStoppedByOperator, QStringLiteral("Stopped by the operator: heater off, read back."));
    else if (live_.stop() == LiveRun::Stop::NotConfirmed)
        progress_.say(
            "\"Heater off\" is NOT confirmed. Switch the plate off at the mains. Ctrl+C again to leave.");
}

void TerminalRun::ended()
{
    const Status& status = *live_.status();
    if (!status.runKey.empty())
        result_.runKey = status.runKey;
    const Outcome outcome = status.outcome.value_or(Outcome::Failed);
    QString why = QString::fromUtf8(inWords(outcome));
    if (!status.outcomeText.empty())
        why += ": " + QString::fromStdString(status.outcomeText);
    switch (outcome) {
    case Outcome::Completed:
        finish(exitOk, why);
        break;
    case Outcome::StoppedByOperator:
        finish(exitStoppedByOperator, why);
        break;
    case Outcome::StoppedByLimit:
        finish(exitStoppedByLimit, why);
        break;
    case Outcome::Interrupted:
    case Outcome::Failed:
        finish(exitInternalFailure, why);
        break;
    }
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

} // namespace

RunResult runInTerminal(const HeatPlan& plan, const LiveRunSetup& setup)
{
    return TerminalRun(plan, setup).carryOut();
}

} // namespace stripwright
