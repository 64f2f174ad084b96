#include "models/measured_hands.h"

#include <algorithm>
#include <string_view>

namespace stripwright {

void addHands(const std::vector<Event>& events, MeasuredHands& measured)
{
    constexpr double shortestS = 1, longestS = 120; // pressed twice; somebody answered the telephone
    std::optional<double> before;
    const size_t known = measured.siteS.size() + measured.liftS.size();
    for (const Event& event : events) {
        const std::string_view text = event.text;
        if (event.kind != "card" || !text.starts_with("done: "))
            continue;
        const bool swaps = text.starts_with("done: swap-led-"), lifts = text.starts_with("done: remove-led-");
        if (text == "done: see-liquid" || swaps || lifts) {
            const double tookS = event.timeS - before.value_or(event.timeS);
            if ((swaps || lifts) && tookS >= shortestS && tookS <= longestS)
                (swaps ? measured.siteS : measured.liftS).push_back(tookS);
            before = event.timeS;
        }
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
    hands.siteS = siteS.value_or(hands.siteS);
    hands.liftS = liftS.value_or(hands.liftS);
    return hands;
}

} // namespace stripwright
