#include "models/hand_work.h"

#include "rules/wording.h"

#include <algorithm>

namespace stripwright {

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
        if (event.kind == "card" && event.text == "done: " + card.id)
            saidS = event.timeS;
    return saidS;
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
    return card == cards.end()
               ? event.text
               : event.text.substr(0, behind + 2) + card->text.substr(0, card->text.find_first_of(";."));
}

} // namespace stripwright
