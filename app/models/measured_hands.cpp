#include "models/measured_hands.h"

#include "models/hand_work.h"

#include <algorithm>
#include <string_view>

namespace stripwright {

/// The site of "swap-led-6" or "remove-led-6"; empty: of another card.
static std::string_view siteOf(std::string_view card)
{
    for (const std::string_view stem : {"swap-led-", "remove-led-"})
        if (card.starts_with(stem))
            return card.substr(stem.size());
    return {};
}

void addHands(const std::vector<Event>& events, MeasuredHands& measured)
{
    constexpr double shortestS = 1, longestS = 120; // pressed twice; somebody answered the telephone
    const auto add = [&](std::vector<double>& to, std::optional<double> fromS, double atS) {
        if (fromS && atS - *fromS >= shortestS && atS - *fromS <= longestS)
            to.push_back(atS - *fromS);
    };
    std::optional<double> before;
    const Event* up = nullptr; // the card that came up last
    const size_t known = measured.siteS.size() + measured.liftS.size();
    for (const Event& event : events) {
        if (event.kind != "card" || event.severity != "info")
            continue;
        const std::string_view text = event.text;
        if (text.starts_with(doneLateWord)) {
            before.reset(); // since when the next one was worked on is not known
            continue;
        }
        if (!text.starts_with(doneWord)) {
            up = &event;
            continue;
        }
        const std::string_view card = text.substr(doneWord.size()), site = siteOf(card);
        if (card != "see-liquid" && site.empty())
            continue;
        if (site.empty()) {
            const bool lateForIt = up && up->text.starts_with("Site ");
            add(measured.firstS, up && !lateForIt ? std::optional(up->timeS) : std::nullopt, event.timeS);
        } else {
            const bool itsCardIsUp = up && up->text.starts_with("Site " + std::string(site) + ": ");
            if (!before && itsCardIsUp)
                before = up->timeS;
            add(card.starts_with("swap") ? measured.siteS : measured.liftS, before, event.timeS);
        }
        before = event.timeS;
    }
    measured.runs += measured.siteS.size() + measured.liftS.size() > known;
}

static std::optional<double> mostly(std::vector<double> seconds)
{
    if (seconds.size() < fewestSites)
        return {};
    const auto at = seconds.begin() + static_cast<long>((seconds.size() * 4 + 4) / 5 - 1);
    std::nth_element(seconds.begin(), at, seconds.end());
    return *at;
}

std::optional<Hands> paceOf(MeasuredHands measured)
{
    const auto siteS = mostly(std::move(measured.siteS)), liftS = mostly(std::move(measured.liftS));
    if (!siteS && !liftS)
        return {};
    Hands hands = handsOf(Hands::Pace::Measured);
    hands.firstS = mostly(std::move(measured.firstS)).value_or(hands.firstS);
    hands.siteS = siteS.value_or(hands.siteS);
    hands.liftS = liftS.value_or(hands.liftS);
    return hands;
}

} // namespace stripwright
