#include "loop/solder_marks.h"

#include "planner/solder_melts.h"

#include <algorithm>
#include <cmath>

namespace stripwright {

static std::string degrees(double valueC)
{
    return std::to_string(std::lround(valueC)) + " °C";
}

static std::string targetsInWords(const HeatPlan& plan)
{
    std::string words = plan.joints.size() == 1 ? "its target is site " : "its targets are sites ";
    for (size_t i = 0; i < plan.joints.size(); ++i)
        words += (i > 0 ? ", " : "") + std::to_string(plan.joints[i].site);
    return words;
}

std::string whyNotMarked(const HeatPlan& plan, const CycleRecord& latest, const SolderMark& mark)
{
    const auto melts = solderMelts(plan.sheet);
    if (!melts)
        return "this heat melts no joint: there is no solder to be marked";
    const auto joint = std::ranges::find(plan.joints, mark.site, &JointModel::site);
    if (joint == plan.joints.end())
        return "site " + std::to_string(mark.site) + " is no target of this run; " + targetsInWords(plan);
    const std::string site = "site " + std::to_string(mark.site);
    const bool heating = latest.state == RunState::Running || latest.state == RunState::Holding;
    const bool cools = latest.state == RunState::Stopping || latest.state == RunState::Cooling;
    if (!heating && !cools)
        return "no heat is on: marks count from when the plate comes near the melting point until the joints "
               "have set";
    if (!latest.jointHighC)
        return "the strip is off the plate: nothing is estimated of its joints any more";
    const double solidC = melts->lowC - surelySolidBelowK;
    const std::string meltsAt =
        (melts->known() ? "melts at " : "melts at the earliest at ") + degrees(melts->lowC);
    if (heating && latest.sensorC && *latest.sensorC < solidC)
        return "the plate is at " + degrees(*latest.sensorC) + " and the solder at " + site + " " + meltsAt +
               ": marks count from " + degrees(solidC) + " on";
    if (cools && *latest.jointHighC < solidC)
        return "the joints have set: est. " + degrees(*latest.jointHighC) + " at most, and the solder at " +
               site + " " + meltsAt;
    const size_t place = static_cast<size_t>(joint - plan.joints.begin());
    const bool saidLiquid = place < 64 && (latest.saidLiquid >> place & 1);
    if (saidLiquid && mark.liquid)
        return "the solder at " + site +
               " was said to be liquid already; if that was a slip, say \"not yet\" first";
    if (saidLiquid && cools)
        return "the solder at " + site + " was said to be liquid, and heat is off: it only sets again";
    return "";
}

} // namespace stripwright
