#pragma once

#include "materials/bench_sheet.h"
#include "messages/messages.h"

namespace stripwright {

/// What a person's own runs say of their hands: from one site's card being said done to the next one's; of
/// the first site from when the look before it was said done, or if it was not, from when its card came up.
struct MeasuredHands {
    std::vector<double> firstS;       ///< From when the look's card came up until it was said done.
    std::vector<double> siteS, liftS; ///< In Swap and Remove heats, in no order.
    size_t runs = 0;                  ///< That said anything of it.
};

/// Adds what the events of one run say, in their order.
void addHands(const std::vector<Event>& events, MeasuredHands& measured);

constexpr size_t fewestSites = 3; ///< Measured, before a pace is taken from them.

/// Four of five sites were served as quickly; what was not measured often enough stays usual. None: nothing
/// was.
std::optional<Hands> paceOf(MeasuredHands measured);

} // namespace stripwright
