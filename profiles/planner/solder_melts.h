#pragma once

#include "planner/heat_plan.h"

namespace stripwright {

/// Where the solder of a heat's targets gets liquid, as far as the sheet knows it.
struct SolderMelts {
    double lowC = 0, highC = 0; ///< Liquidus; apart where the alloy is unknown.
    double pastyK = 0;          ///< From solidus to liquidus of a known alloy.

    bool known() const { return lowC == highC; }
};

/// The old joint's alloy in a swap or a removal, the paste's in a fit. Of an old alloy that nobody knows: the
/// whole range that is met with, lowestOldLiquidusC to highestOldLiquidusC. None in a heat that melts no
/// joint.
std::optional<SolderMelts> solderMelts(const BenchSheet& sheet);

/// Card that asks about the solder of all targets, from before the first may melt.
constexpr auto watchSolderCard = "watch-solder";

/// The target whose solder a card that asksLiquid asks about: the one that the card's id ends with; else the
/// one that the plan has coldest at its peak, which turns last. 0: the plan has no target.
int siteToWatch(const HeatPlan& plan, const HandCard& card);

/// Profile time from which this target's solder is liquid even as the plan has it coldest; none where the plan
/// has no curve of it, or it never is.
std::optional<double> surelyLiquidFromS(const HeatPlan& plan, int site);

/// Below the lowest melting point a plate this much colder can have no liquid joint on it, and a joint this
/// much colder has set: solder stays liquid up to some 20 K below its solidus before it freezes (own
/// estimate).
constexpr double surelySolidBelowK = 20;

} // namespace stripwright
