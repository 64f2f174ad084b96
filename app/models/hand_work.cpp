#include "models/hand_work.h"

#include "messages/solder_mark_text.h"
#include "rules/wording.h"

#include <algorithm>

namespace stripwright {

static bool says(const Event& event, std::string_view word, const HandCard& card)
{
    return event.kind == "card" && event.text.starts_with(word) && event.text.substr(word.size()) == card.id;
}

int siteOf(const HandCard& card)
{
    const size_t digits = card.id.find_last_not_of("0123456789") + 1;
    return digits < card.id.size() ? std::stoi(card.id.substr(digits)) : 0;
}

std::vector<HandCard> saidLate(const std::vector<HandCard>& cards, const std::vector<Event>& events)
{
    std::vector<HandCard> late;
    std::ranges::copy_if(cards, std::back_inserter(late), [&](const HandCard& card) {
        return std::ranges::any_of(events,
                                   [&](const Event& event) { return says(event, doneLateWord, card); });
    });
    return late;
}

static bool onLiquidJoint(const HandCard& card)
{
    return card.id.starts_with("swap-led-") || card.id.starts_with("remove-led-");
}

bool asksForWork(const HandCard& card)
{
    return card.mustConfirm || !card.comesByTime() || card.id == "see-liquid" || card.id == liftCard ||
           card.id.starts_with("release-lens-") || onLiquidJoint(card);
}

bool workFollows(const std::vector<HandCard>& cards, const HandCard& card)
{
    const auto next = cards.begin() + (&card - cards.data()) + 1;
    return (card.id == "see-liquid" || onLiquidJoint(card)) && next != cards.end() && onLiquidJoint(*next);
}

std::optional<double> saidDoneS(const std::vector<Event>& events, const HandCard& card)
{
    std::optional<double> saidS;
    if (!card.comesByTime()) // it may come again
        return {};
    for (const Event& event : events)
        if (says(event, doneWord, card) || says(event, doneLateWord, card))
            saidS = event.timeS;
    return saidS;
}

std::optional<double> stoppedS(const std::vector<Event>& events)
{
    const auto stops = std::ranges::find_if(events, [](const Event& event) {
        return event.kind == "state" && event.text == inWords(RunState::Stopping);
    });
    return stops == events.end() ? std::nullopt : std::optional(stops->timeS);
}

std::vector<HandCard> passedUnsaid(const std::vector<HandCard>& cards, const std::vector<Event>& events,
                                   double placeS)
{
    const auto said = [&](const HandCard& card) { return saidDoneS(events, card).has_value(); };
    const bool sawLiquid =
        std::ranges::any_of(cards, [&](const HandCard& card) { return onLiquidJoint(card) && said(card); }) ||
        std::ranges::any_of(events, [](const Event& event) {
            const auto mark = markOf(event);
            return mark && mark->liquid;
        });
    // A heat that was ended early passes over what had not come up yet.
    const auto cameUp = [&](const HandCard& card) {
        return std::ranges::any_of(events, [&](const Event& event) {
            return event.kind == "card" && !event.text.empty() && card.text.starts_with(event.text);
        });
    };
    std::vector<HandCard> passed;
    for (const HandCard& card : cards)
        if (card.comesByTime() && card.atS >= 0 && asksForWork(card) && card.id != liftCard &&
            placeS >= card.untilS && cameUp(card) && !said(card) && !(card.id == "see-liquid" && sawLiquid))
            passed.push_back(card);
    return passed;
}

std::string workInWords(const std::vector<HandCard>& cards)
{
    struct Kind {
        std::string stem, done;
        std::vector<int> sites;
    };
    std::vector<Kind> kinds{{"swap-led-", "LED set down at ", {}},
                            {"remove-led-", "LED lifted off at ", {}},
                            {"release-lens-", "lens taken off at ", {}}};
    std::vector<std::string> parts;
    for (const HandCard& card : cards) {
        const auto kind =
            std::ranges::find_if(kinds, [&](const Kind& one) { return card.id.starts_with(one.stem); });
        if (kind != kinds.end())
            kind->sites.push_back(std::stoi(card.id.substr(kind->stem.size())));
        else
            parts.push_back(card.id == "see-liquid" ? "solder seen liquid" : card.text);
    }
    for (Kind& kind : kinds)
        if (std::ranges::sort(kind.sites); !kind.sites.empty())
            parts.push_back(kind.done + sitesInWords(kind.sites));
    std::string text;
    for (const std::string& part : parts)
        text += (text.empty() ? "" : ", ") + part;
    return text;
}

std::string handsNeedText(const HandWork& work, double sureFromS)
{
    const std::string each = rounded(work.eachS) + " s", sites = sitesInWords(work.sites);
    std::string text = "Hands need " + rounded(work.needS()) + " s from " + clockInWords(sureFromS) +
                       ", when every joint is surely liquid: " + rounded(work.firstS) +
                       " s once to look and take the tweezers, " + each +
                       (work.sites.size() == 1 ? " at " : " each at ") + sites;
    if (work.wettingS > 0)
        text += ", " + rounded(work.wettingS) + " s for the last new joint to wet";
    return text + '.';
}

const HandCard* doneBeforeItsEnd(const std::vector<HandCard>& cards, const std::vector<Event>& events,
                                 double profileS)
{
    const HandCard* last = nullptr;
    for (const HandCard& card : cards)
        if (card.atS >= 0 && profileS < card.untilS && saidDoneS(events, card))
            last = &card;
    return last;
}

int timesNeeded(const std::vector<HandCard>& cards)
{
    return static_cast<int>(std::ranges::count_if(
        cards, [](const HandCard& card) { return card.comesByTime() && asksForWork(card); }));
}

std::string eventInWords(const Event& event, const std::vector<HandCard>& cards)
{
    const size_t behind = event.text.rfind(": ");
    if ((event.kind != "card" && event.kind != "note") || behind == std::string::npos)
        return event.text;
    const auto card = std::ranges::find(cards, event.text.substr(behind + 2), &HandCard::id);
    if (card == cards.end())
        return event.text;
    const size_t ends = std::min({card->text.find("; "), card->text.find(". "), card->text.size()});
    std::string first = card->text.substr(0, ends);
    if (first.ends_with('.'))
        first.pop_back();
    return event.text.substr(0, behind + 2) + first;
}

} // namespace stripwright
