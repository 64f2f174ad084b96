#include "commands/run_in_terminal.h"

#include "commands/card_keys.h"
#include "commands/commands.h"
#include "commands/progress_line.h"
#include "messages/solder_mark_text.h"
#include "models/operator_signals.h"
#include "models/simulated_hands.h"
#include "planner/solder_melts.h"
#include "rules/wording.h"
#include "runlog/run_log.h"

#include <QDeadlineTimer>
#include <QEventLoop>
#include <QTimer>

#include <algorithm>
#include <cerrno>
#include <map>
#include <set>
#include <unistd.h>

namespace stripwright {

namespace {

using namespace std::chrono_literals;

class TerminalRun {
public:
    TerminalRun(const HeatPlan& plan, const LiveRunSetup& setup, const PatientOutput& talk)
        : plan_(plan), setup_(&setup), progress_(talk.isTerminal())
    {
    }
    TerminalRun(const RunningController& controller, const PatientOutput& talk)
        : followed_(&controller), progress_(talk.isTerminal())
    {
    }

    RunResult carryOut();

private:
    void phaseChanged();
    void lost();
    void statusChanged();
    void refused(const QString& why);
    void showCard(const std::string& id);
    void askWhetherLiquid(const HandCard& card);
    void markSolder(bool liquid);
    bool handsAreSimulated() const { return setup_ && setup_->plateLink.empty(); }
    bool personMayAnswer(const HandCard& card) const;
    void sayThatHandsAreSimulated();
    void answerCards();
    void markFromTruth();
    void confirmFromKeyboard();
    void keyboardHasEnded();
    void stop();
    void stopChanged();
    void ended();
    void finish(int code, const QString& why);

    std::optional<HeatPlan> plan_;
    const LiveRunSetup* setup_ = nullptr;         // one of
    const RunningController* followed_ = nullptr; // these
    ProgressLine progress_;
    LiveRun live_;
    OperatorSignals signals_;
    std::unique_ptr<QSocketNotifier> keyboard_;
    QEventLoop loop_;
    RunResult result_;
    std::set<std::string> cardsShown_;
    std::string cardToConfirm_;
    bool mustConfirm_ = false;       // cardToConfirm_, before the heat goes on
    bool mayConfirm_ = false;        // cardToConfirm_ at all; else it is up for its marks
    std::vector<int> sitesAsked_;    // whose solder the card that is up asks about
    std::set<std::string> answered_; // cards for the hands, by simulated ones or a person
    std::map<int, double> notYetSaidS_;
    std::set<int> liquidSaid_;
    CardKeys keys_;
    std::string firstTrip_; // before anybody asked for a stop
    size_t eventsShown_ = 0;
    bool simulatedSaid_ = false, started_ = false, coolingSaid_ = false, stopped_ = false, lost_ = false,
         finished_ = false;
};

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
               live_.phaseText());
        break;
    }
    case LiveRun::Phase::Lost:
        lost();
        break;
    default:
        break;
    }
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

// What the controller ended with says more than that it is gone, and comes a moment later.
void TerminalRun::lost()
{
    const std::optional<int> code = live_.controllerExitCode();
    if (code)
        finish(*code == exitOk ? int(exitInternalFailure) : *code, live_.phaseText());
    else if (!std::exchange(lost_, true))
        QTimer::singleShot(followed_ ? 0ms : 3000ms, &live_,
                           [this] { finish(exitInternalFailure, live_.phaseText()); });
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

void TerminalRun::showCard(const std::string& id)
{
    if (cardsShown_.contains(id))
        return;
    if (!plan_ && followed_)
        try {
            plan_ =
                readHeatPlan(RunReader(followed_->runsFile).read(live_.status()->runKey).planText, "plan");
        } catch (const std::exception& error) {
            progress_.say(std::string("The cards of this run cannot be shown: ") + error.what());
        }
    cardsShown_.insert(id);
    if (!plan_)
        return;
    const auto card = std::find_if(plan_->cards.begin(), plan_->cards.end(),
                                   [&](const HandCard& candidate) { return candidate.id == id; });
    if (card == plan_->cards.end())
        return;
    progress_.say("By hand: " + card->text);
    if (handsAreSimulated() && card->mustConfirm)
        live_.confirmCard(id);
    if (handsAreSimulated() && !personMayAnswer(*card))
        return;
    dropTyped(STDIN_FILENO);
    keys_.forget();
    sitesAsked_.clear();
    if (card->asksLiquid && !handsAreSimulated())
        askWhetherLiquid(*card);
    const std::string how = howToConfirm(*card);
    if (how.empty() && sitesAsked_.empty())
        return;
    if (!how.empty())
        progress_.say(how);
    cardToConfirm_ = id;
    mustConfirm_ = card->mustConfirm;
    mayConfirm_ = !how.empty();
    if (keyboard_) {
        keyboard_->setEnabled(true);
    } else {
        keyboard_ = std::make_unique<QSocketNotifier>(STDIN_FILENO, QSocketNotifier::Read);
        QObject::connect(keyboard_.get(), &QSocketNotifier::activated, &live_,
                         [this] { confirmFromKeyboard(); });
    }
}

void TerminalRun::askWhetherLiquid(const HandCard& card)
{
    const std::vector<int> targets = plan_->sheet.targets();
    const bool ofOne = card.id.ends_with('-' + std::to_string(siteToWatch(*plan_, card)));
    sitesAsked_ = ofOne ? std::vector{siteToWatch(*plan_, card)} : targets;
    const auto watches = [](const HandCard& one) { return one.id == watchSolderCard; };
    if (card.id == "hands-off" && std::ranges::any_of(plan_->cards, watches))
        return; // it is asked in good time
    if (sitesAsked_.size() == 1)
        progress_.say("Watch the solder at site " + std::to_string(sitesAsked_.front()) +
                      ": type l and Enter at the moment it turns liquid, n and Enter if you find it not "
                      "liquid yet.");
    else
        progress_.say("Watch the solder at " + sitesInWords(sitesAsked_) +
                      ": type l, the site's number and Enter (l " + std::to_string(sitesAsked_.front()) +
                      ") at the moment it turns liquid, n and the number if you find it not liquid yet.");
}

// With several sites a letter alone does not tell which.
void TerminalRun::markSolder(bool liquid)
{
    const int site = keys_.site() > 0 ? keys_.site() : sitesAsked_.size() == 1 ? sitesAsked_.front() : 0;
    if (site > 0)
        live_.markSolder(site, liquid);
    else
        progress_.say("Found " + keys_.found() + ", expected the number of one of " +
                      sitesInWords(sitesAsked_) + " too, such as " + (liquid ? "l " : "n ") +
                      std::to_string(sitesAsked_.front()) + '.');
}

// A person's seconds are the plate's only at real speed.
bool TerminalRun::personMayAnswer(const HandCard& card) const
{
    return isHandsCard(card.id) && setup_->speed == 1 && isatty(STDIN_FILENO);
}

void TerminalRun::sayThatHandsAreSimulated()
{
    const Status& status = *live_.status();
    if (!handsAreSimulated() || status.runKey.empty() || !live_.runIsOn() ||
        std::exchange(simulatedSaid_, true))
        return;
    live_.addNote(QString::fromStdString(simulatedHandsNote));
    progress_.say("Simulated plate, simulated hands: they answer the cards and say when solder turns liquid; "
                  "nobody touches a strip.");
}

void TerminalRun::answerCards()
{
    if (!handsAreSimulated() || !plan_ || !live_.runIsOn() || stopped_ || live_.brokenOff())
        return;
    const double onItsWayS = 0.04 * setup_->speed; // from here into the control cycle
    const Sample& sample = live_.samples().back();
    for (const HandCard& card : plan_->cards)
        if (isHandsCard(card.id) && card.atS >= 0 && sample.profileS >= card.untilS - onItsWayS &&
            answered_.insert(card.id).second)
            live_.confirmCard(card.id);
}

// On a simulated plate nobody can look at solder; the plate says how warm its joints are.
void TerminalRun::markFromTruth()
{
    if (!handsAreSimulated() || !plan_ || !live_.runIsOn() || !live_.status())
        return;
    const RunState state = live_.status()->state;
    const auto melts = solderMelts(plan_->sheet);
    if (!melts || !melts->known() || (state != RunState::Running && state != RunState::Holding))
        return;
    constexpr double sayAgainS = 8;
    const Sample& sample = live_.samples().back();
    for (const int site : plan_->sheet.targets()) {
        const std::string channel = "truth_" + jointOf(site).name() + "_C";
        const auto truth = std::ranges::find(sample.extra, channel, &std::pair<std::string, double>::first);
        if (truth == sample.extra.end() || liquidSaid_.contains(site))
            continue;
        const auto dueS = surelyLiquidFromS(*plan_, site);
        if (truth->second >= melts->lowC) {
            liquidSaid_.insert(site);
            live_.markSolder(site, true);
        } else if (dueS && sample.profileS >= *dueS &&
                   (!notYetSaidS_.contains(site) || sample.timeS - notYetSaidS_[site] >= sayAgainS)) {
            notYetSaidS_[site] = sample.timeS;
            live_.markSolder(site, false);
        }
    }
}

void TerminalRun::confirmFromKeyboard()
{
    char typed[256];
    const ssize_t count = read(STDIN_FILENO, typed, sizeof typed);
    if (count < 0 && (errno == EINTR || errno == EAGAIN))
        return;
    if (count <= 0) {
        keyboard_->setEnabled(false);
        if (count < 0 && isatty(STDIN_FILENO)) // in the background: the keys are another's for now
            QTimer::singleShot(500ms, &live_, [this] { keyboard_->setEnabled(true); });
        else
            keyboardHasEnded();
        return;
    }
    if (cardToConfirm_.empty())
        return;
    const CardKeys::Answer answer = keys_.take({typed, static_cast<size_t>(count)}, !sitesAsked_.empty());
    switch (answer == CardKeys::Answer::Confirmed && !mayConfirm_ ? CardKeys::Answer::SomethingElse
                                                                  : answer) {
    case CardKeys::Answer::Confirmed:
        if (handsAreSimulated() || handsWereSimulated(live_.events()))
            live_.addNote(QString::fromStdString(byPersonNote(cardToConfirm_)));
        answered_.insert(cardToConfirm_);
        live_.confirmCard(std::exchange(cardToConfirm_, {}));
        break;
    case CardKeys::Answer::Liquid:
        markSolder(true);
        break;
    case CardKeys::Answer::NotYet:
        markSolder(false);
        break;
    case CardKeys::Answer::SomethingElse: {
        const std::string marks = "l once the solder is liquid, n while it is not";
        dropTyped(STDIN_FILENO);
        progress_.say("Found " + keys_.found() +
                      (mayConfirm_
                           ? ", which confirms nothing. Expected Enter alone, or the word done, once the "
                             "card is done" +
                                 (sitesAsked_.empty() ? "" : ", " + marks)
                           : ", and nothing is to be confirmed here. Expected " + marks) +
                      "; Ctrl+C " + (mustConfirm_ ? "leaves without heat." : "stops the heat."));
        break;
    }
    case CardKeys::Answer::None:
        break;
    }
}

void TerminalRun::keyboardHasEnded()
{
    if (!std::exchange(cardToConfirm_, {}).empty() && mustConfirm_ && !stopped_) {
        progress_.say("Nobody is there to confirm the card: standard input has ended.");
        stop();
    }
}

void TerminalRun::stop()
{
    if (stopped_ && signals_.last() != SIGINT) { // a hang-up behind a kill is no wish to leave
        live_.stopHeating();
        return;
    }
    if (stopped_) {
        finish(exitInternalFailure,
               QStringLiteral("Left before \"heater off\" was read back. If the plate stays "
                              "hot, switch it off at the mains."));
        return;
    }
    const auto& status = live_.status();
    const bool causeSeen = status && status->trip && status->trip->causeSeen; // such as heat nobody asked for
    const bool cools =
        live_.live() && status->state == RunState::Cooling && readBackOff(*status) && !causeSeen;
    const bool byKey = signals_.last() == SIGINT || signals_.last() == SIGTSTP || signals_.last() == SIGQUIT;
    if (cools && byKey && !std::exchange(coolingSaid_, true)) {
        progress_.say(std::string("The heater is off already, read back; the cooling goes on being recorded. "
                                  "Once more ") +
                      (followed_ ? "leaves it to itself." : "ends the record here."));
        live_.stopHeating();
        return;
    }
    stopped_ = true;
    if (!live_.heatMayBeOn() && !live_.runIsOn()) {
        finish(exitStoppedByOperator, QStringLiteral("Stopped before any heat."));
        return;
    }
    progress_.say(!cools ? "Stopping the heat." : followed_ ? "Leaving." : "Ending the record.");
    live_.stopHeating();
}

void TerminalRun::stopChanged()
{
    if (coolingSaid_ && live_.stop() == LiveRun::Stop::NotConfirmed)
        stopped_ = true; // what was read back before holds no more
    if (!stopped_)
        return;
    if (live_.stop() == LiveRun::Stop::NotConfirmed)
        progress_.say(
            "\"Heater off\" is NOT confirmed. Switch the plate off at the mains. Ctrl+C again to leave.");
    if (live_.stop() != LiveRun::Stop::OffConfirmed)
        return;
    const auto& status = live_.status();
    const std::string first = status && status->trip ? status->trip->text : firstTrip_;
    if (!first.empty())
        finish(exitStoppedByLimit, QStringLiteral("Stopped by a limit: %1. Heater off, read back.")
                                       .arg(QString::fromStdString(first)));
    else
        finish(exitStoppedByOperator, QStringLiteral("Stopped by the operator: heater off, read back."));
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

// Whoever leaves before the end is told what goes on, and how to get at it.
QString whatGoesOn(const std::filesystem::path& runs)
{
    QString text;
    for (const RunningController& one : runningControllers()) {
        std::error_code none;
        if (std::filesystem::equivalent(one.runsFile, runs, none))
            text +=
                QStringLiteral("\nProcess %1 goes on with %2: see \"stripwright stop %1\" and \"stripwright "
                               "follow %1\".")
                    .arg(one.pid)
                    .arg(QString::fromStdString(one.plate));
    }
    return text;
}

} // namespace

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

RunResult runInTerminal(const HeatPlan& plan, const LiveRunSetup& setup, const PatientOutput& talk)
{
    RunResult result = TerminalRun(plan, setup, talk).carryOut();
    if (result.code == exitInternalFailure)
        result.why += whatGoesOn(setup.runsFile);
    return result;
}

RunResult followInTerminal(const RunningController& controller, const PatientOutput& talk)
{
    RunResult result = TerminalRun(controller, talk).carryOut();
    if (result.code == exitInternalFailure)
        result.why += whatGoesOn(controller.runsFile);
    return result;
}

} // namespace stripwright
