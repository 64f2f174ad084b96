#pragma once

#include "planner/heat_kinds.h"
#include "rules/joint_solder.h"

namespace stripwright {

// What the heats share in which joints melt.

/// The seconds that the hands need, counted from when every joint is surely liquid.
void addHandsFit(std::vector<Limit>& limits, const BenchSheet& sheet, int site);

HeatAim meltingAim(const MeltRange& melt);
/// Of heats in which hands work on liquid joints.
HeatAim handsAim(const BenchSheet& sheet, const std::vector<Limit>& limits);
/// Raises the peak to what the limits ask for at least.
void reachLimits(HeatAim& aim, const std::vector<Limit>& limits);

std::vector<std::string> meltingRefusals(const BenchSheet& sheet);
std::vector<std::string> meltingWarnings(const BenchSheet& sheet, std::span<const JointPeak> peaks);

/// From the nominal curve of the first target: "preheat", "soak" where a paste has one, "reflow", "peak",
/// "cooling", "cool-down".
void writeMeltingStages(HeatPlan& plan);

void cardBefore(HeatPlan& plan, const char* id, std::string text, std::string otherwise);
/// Until every joint is surely liquid: "hands-off", then "watch-solder" from when the first of all targets'
/// joints may come near to melting.
void writeHandsOff(HeatPlan& plan);
/// "see-liquid", then one card a site, `idStem` and its number; `todo` ends "Site 6: ".
void writeHandCards(HeatPlan& plan, const std::string& idStem, const std::string& todo);
void writeCardsAfterHands(HeatPlan& plan); ///< Hold still, lift the strip, cool down.

} // namespace stripwright
