#include "commands/terminal_run.h"

#include "commands/commands.h"
#include "messages/solder_mark_text.h"
#include "models/chosen_plate.h"
#include "models/hand_work.h"
#include "models/simulated_hands.h"
#include "planner/solder_melts.h"
#include "rules/wording.h"

#include <QTimer>

#include <algorithm>
#include <cerrno>
#include <unistd.h>

namespace stripwright {

using namespace std::chrono_literals;

void TerminalRun::showCard(const std::string& id)
{
    if (cardsShown_.contains(id))
        return;
    readPlan();
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
    listen();
}

void TerminalRun::listen()
{
    if (keyboard_) {
        keyboard_->setEnabled(true);
        return;
    }
    keyboard_ = std::make_unique<QSocketNotifier>(STDIN_FILENO, QSocketNotifier::Read);
    QObject::connect(keyboard_.get(), &QSocketNotifier::activated, &live_, [this] { confirmFromKeyboard(); });
}

void TerminalRun::confirm(const std::string& card)
{
    const bool atPlateTime = !setup_ || setup_->speed == 1;
    if ((handsAreSimulated() || handsWereSimulated(live_.events())) && atPlateTime)
        live_.addNote(QString::fromStdString(byPersonNote(card)));
    answered_.insert(card);
    live_.confirmCard(card);
}

void TerminalRun::noticePassed()
{
    if (!plan_ || handsAreSimulated() || !live_.runIsOn())
        return;
    std::vector<Event> events = eventsBefore_;
    events.insert(events.end(), live_.events().begin(), live_.events().end());
    passed_ = passedUnsaid(plan_->cards, events, live_.placeS());
    std::erase_if(passed_, [this](const HandCard& card) {
        return card.id == "see-liquid" || answered_.contains(card.id); // its event may be on its way
    });
    for (const HandCard& card : passed_)
        if (passedSaid_.insert(card.id).second) {
            progress_.say("Not confirmed: " + workInWords({card}) + ". Type late " +
                          std::to_string(siteOf(card)) + " and Enter if it was done all the same.");
            listen();
        }
}

void TerminalRun::confirmLate()
{
    if (passed_.empty()) {
        progress_.say("Nothing has passed without a word that could be confirmed late.");
        return;
    }
    const int site = keys_.site() == 0 && passed_.size() == 1 ? siteOf(passed_.front()) : keys_.site();
    const auto meant = std::ranges::find(passed_, site, siteOf);
    if (meant == passed_.end()) {
        progress_.say("Found " + keys_.found() +
                      ", expected late and the number of a site that is not "
                      "confirmed: " +
                      workInWords(passed_) + '.');
        return;
    }
    progress_.say("Confirmed late: " + workInWords({*meant}) + '.');
    confirm(meant->id);
    passed_.erase(meant);
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
    if (!setup_ || status.runKey.empty() || !live_.runIsOn() || std::exchange(simulatedSaid_, true) ||
        !saysSimulated(setup_->plateLink))
        return;
    if (!handsAreSimulated()) {
        live_.addNote(QString::fromStdString(simulatedPlateNote));
        return;
    }
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
    const CardKeys::Answer answer = keys_.take({typed, static_cast<size_t>(count)}, !sitesAsked_.empty());
    switch (answer) {
    case CardKeys::Answer::Late:
        confirmLate();
        break;
    case CardKeys::Answer::Confirmed:
        if (!mayConfirm_ || cardToConfirm_.empty()) // an Enter too many
            break;
        confirm(std::exchange(cardToConfirm_, {}));
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
        if (cardToConfirm_.empty()) {
            progress_.say("Found " + keys_.found() + ", and no card waits for a word." +
                          (passed_.empty() ? ""
                                           : " Not confirmed: " + workInWords(passed_) +
                                                 "; late and the site's number says that it was done."));
            break;
        }
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

} // namespace stripwright
