#include "loop/control_loop.h"

#include "messages/solder_mark_text.h"

#include <algorithm>
#include <cmath>
#include <cstdio>

namespace stripwright {

static constexpr double noHope = 0.05;     // beyond the estimate's band
static constexpr double hopelessForS = 3;  // a thermocouple that slips is found out within that
static constexpr double believedForS = 10; // by the thermocouple, before it is asked
static constexpr double judgeEveryS = 1;
static constexpr double coastLags = 2; // of the element, for which a plate goes on giving after heater-off

void ControlLoop::takeMarks()
{
    marked_ = false;
    SolderMark mark;
    while (marks_.try_dequeue(mark))
        take(mark);
}

void ControlLoop::take(const SolderMark& mark)
{
    const auto joint = std::ranges::find(plan_.joints, mark.site, &JointModel::site);
    const bool cools = state_ == RunState::Stopping || state_ == RunState::Cooling;
    if (joint == plan_.joints.end() || !joints_.known() || !meltsJoints(plan_.sheet.heat) ||
        (!heating() && !cools))
        return; // refused where it was asked, but for one that has come in this very moment
    const size_t place = static_cast<size_t>(joint - plan_.joints.begin());
    const SolderMelts& melts = joints_.evidence().melts();
    MarkedSolder done{.site = mark.site,
                      .liquid = mark.liquid,
                      .beforeC = joints_.jointC(place).median,
                      .meltsFromC = melts.lowC,
                      .meltsUpToC = melts.highC};
    const bool saidLiquid = joints_.evidence().saidLiquid(place);
    if (saidLiquid && (mark.liquid || cools))
        return;
    done.withdraws = saidLiquid;
    joints_.mark(place, !mark.liquid ? SolderSeen::NotYet
                        : heating()  ? SolderSeen::Turned
                                     : SolderSeen::WasLiquid);
    done.afterC = joints_.jointC(place).median;
    marked_ = true;
    Target& target = targets_[place];
    const bool due = cools || (target.surelyLiquidFromS && follower_.profileS() >= *target.surelyLiquidFromS);
    if (mark.liquid)
        target.notLiquidAtS.reset();
    else if (due)
        target.notLiquidAtS = plantS_ - heatStartedS_;
    std::array<char, eventTextBytes> text{};
    writeMarkText(done, text.data(), text.size());
    say(EventKind::Mark, Severity::Info, "%s", text.data());
    const bool lifts = plan_.sheet.heat == HeatKind::Swap || plan_.sheet.heat == HeatKind::Remove;
    if (!mark.liquid && due && heating() && lifts)
        say(EventKind::Note, Severity::Warning,
            "do not lift at site %d while its solder is solid; if the rest of the heat can be planned better "
            "for it, that is said here; if not, stop the heat and press the strip down once it is cold",
            mark.site);
}

// A joint that cannot get liquid is only spoilt by what is left of its heat: flux spent, LED cooked.
void ControlLoop::judgeMelting()
{
    if (!heating() || !joints_.known() || !meltsJoints(plan_.sheet.heat) || ahead_.looking() ||
        seat_.verdict() == SeatWatch::Verdict::NotSeated || plantS_ - judgedMeltingS_ < judgeEveryS)
        return;
    const double sinceS = std::min(plantS_ - judgedMeltingS_, 2 * judgeEveryS);
    judgedMeltingS_ = plantS_;
    bool saidLiquid = false, saidNotYet = false;
    for (size_t i = 0; i < targets_.size(); ++i) {
        saidLiquid = saidLiquid || joints_.evidence().saidLiquid(i);
        saidNotYet = saidNotYet || joints_.evidence().saidNotYet(i);
    }
    const SolderMelts& melts = joints_.evidence().melts();
    // Until the soak is over a strip that does not lie on the plate is held, for the hands to seat it.
    const bool reflows = phaseAt(plan_, follower_.profileS()) > Phase::Soak;
    const bool measured = reflows && joints_.sensorTrusted() && joints_.believedS() >= believedForS;
    JointEstimate::Reach reach{1, 0};
    if (!saidLiquid && (saidNotYet || measured))
        reach = joints_.reach(follower_.hottestAheadC(plan_.heaterOffS),
                              follower_.secondsTo(plan_.heaterOffS) + coastLags * figures_.elementLagS);
    hopelessS_ = reach.hope < noHope ? hopelessS_ + sinceS : 0;
    if (hopelessS_ < hopelessForS)
        return;
    std::array<char, 300> text{};
    std::snprintf(
        text.data(), text.size(),
        "heat ended: no target joint can get liquid in what is left of it: est. %.0f °C at its hottest, "
        "its solder melts at %.0f °C; let it cool, seat the strip, press it down cold and start again",
        reach.medianC, melts.lowC);
    stop(Outcome::StoppedByLimit, EventKind::Stretch, Severity::Trip, text.data());
}

std::array<char, 160> ControlLoop::lastSaidNotLiquid() const
{
    std::array<char, 160> text{};
    for (size_t i = 0; i < targets_.size(); ++i)
        if (targets_[i].notLiquidAtS)
            std::snprintf(
                text.data(), text.size(),
                "the solder at site %d was last said not to be liquid, at %.0f s: look at its joint "
                "before anything is taken for done",
                plan_.joints[i].site, *targets_[i].notLiquidAtS);
    return text;
}

} // namespace stripwright
