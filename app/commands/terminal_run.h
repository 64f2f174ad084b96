#pragma once

#include "commands/card_keys.h"
#include "commands/progress_line.h"
#include "commands/run_in_terminal.h"
#include "models/operator_signals.h"

#include <QEventLoop>

#include <map>
#include <set>

namespace stripwright {

/// One run at the terminal, of its own or followed, from its start until whoever is there leaves it.
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
    void listen();
    void noticePassed();
    void confirmLate();
    void confirm(const std::string& card);
    void answerCards();
    void markFromTruth();
    void confirmFromKeyboard();
    void keyboardHasEnded();
    void stop();
    void stopChanged();
    void readPlan();
    bool heatRanToItsEnd();
    std::string hotWords();
    QString whereTheRecordIs(bool leftInGoodOrder);
    QString wordsOfALostController();
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
    bool mustConfirm_ = false;         // cardToConfirm_, before the heat goes on
    bool mayConfirm_ = false;          // cardToConfirm_ at all; else it is up for its marks
    std::vector<int> sitesAsked_;      // whose solder the card that is up asks about
    std::set<std::string> answered_;   // cards for the hands, by simulated ones or a person
    std::set<std::string> passedSaid_; // cards whose time passed without a word
    std::vector<HandCard> passed_;     // of these, those that can still be said done
    std::map<int, double> notYetSaidS_;
    std::set<int> liquidSaid_;
    CardKeys keys_;
    std::string firstTrip_; // before anybody asked for a stop
    size_t eventsShown_ = 0;
    bool simulatedSaid_ = false, started_ = false, coolingSaid_ = false, stopped_ = false, lost_ = false,
         finished_ = false;
    bool ranToItsEnd_ = false, neverHeated_ = false; // when it was stopped
    bool planAsked_ = false;
    std::vector<Event> eventsBefore_; // of a run that is followed, from its log
};

} // namespace stripwright
