#include "loop/control_loop.h"
#include "search/plate_reference.h"

#include <algorithm>
#include <cmath>
#include <cstdio>

namespace stripwright {

static constexpr double saturatedDuty = 0.999;
static constexpr double longestUnseatedS = 180; // hands need their time; nothing gets hotter meanwhile
static constexpr double coolingShare = 0.2;     // of its pace, at least, for a path that falls
static constexpr double setpointSpeed = 5;      // K/s for all of the heater's power
static constexpr double setpointBelowK = 20;    // lowest set-point under the reading
static constexpr double aboveFloorK = 1;        // at its floor a plate counts as off

/// How far the reading may be behind before profile time goes slower, and where it stands still.
struct Patience {
    double slowsK, standsK;
};
static constexpr Patience byDuty{0.3, 2}, bySetpoint{1, 3}; // a plate's own loop needs an error to act on

double ControlLoop::paceShare(double behindK)
{
    const bool asTold = heaterDoesAsTold();
    const Patience patience = asTold ? byDuty : bySetpoint;
    const auto shareAt = [&](double lateK) {
        return std::clamp((patience.standsK - lateK) / (patience.standsK - patience.slowsK), 0.0, 1.0);
    };
    double share = 1;
    if (!asTold || duty_ >= saturatedDuty * mostDuty() || (ownLoop_ && setpointBound_))
        share = shareAt(behindK);
    if (waitsToCool())
        share = std::min(share, std::max(coolingShare, shareAt(-behindK)));
    return unseated() || heldBack() ? 0 : share;
}

// The heater cannot cool: a falling path waits for a plate that falls by itself.
bool ControlLoop::waitsToCool() const
{
    return duty_ <= 0 && follower_.expectedSlopeCPerS() < 0;
}

// A strip that does not lie on the plate is held where it is, for the hands to seat it, and not driven
// hotter.
bool ControlLoop::unseated()
{
    if (phaseAt(plan_, follower_.profileS()) > Phase::Soak)
        return false;
    const bool before = seat_.verdict() == SeatWatch::Verdict::NotSeated;
    const bool now = seat_.advance(stepS_, plateC_, joints_) == SeatWatch::Verdict::NotSeated;
    if (now && !before)
        say(EventKind::Card, Severity::Warning, "%s: the plan waits", seat_.text());
    else if (before && !now)
        say(EventKind::Card, Severity::Info, "the strip lies on the plate now");
    return now;
}

// The joints must have come into the plan's range before the climb to reflow.
bool ControlLoop::heldBack()
{
    const bool atTheEnd = follower_.profileS() < soakEndS_ && follower_.profileS() + stepS_ >= soakEndS_;
    const bool cold = joints_.known() && joints_.nominalC() < soakEndLeastC_;
    if (!atTheEnd || !cold)
        return false;
    if (!holdSaid_)
        say(EventKind::Stretch, Severity::Warning,
            "joints est. %.1f °C, the plan wants %.1f °C here: the plan waits before it goes on to reflow",
            joints_.nominalC(), soakEndLeastC_);
    return holdSaid_ = true;
}

void ControlLoop::followPlan()
{
    const double behindK = seen_.sensorC ? follower_.expectedC() - *seen_.sensorC : 0;
    const double share = paceShare(behindK);
    const Phase phase = phaseAt(plan_, follower_.profileS());
    follower_.advance(stepS_, share);
    if (stretch_.advance(stepS_, share)) {
        state_ = stretch_.on() ? RunState::Holding : RunState::Running;
        if (stretch_.on() && share > 0 && behindK < 0)
            say(EventKind::Stretch, Severity::Info,
                "%.1f K above the path: the plan waits for the plate to cool", -behindK);
        else if (stretch_.on() && share > 0)
            say(EventKind::Stretch, Severity::Warning, "%s and %.1f K behind: the plan waits",
                settings_.drive == DriveKind::Duty ? "full power"
                : ownLoop_ && ownLoop_->furthestC(stepS_) < highestSetpointC()
                    ? "the plate's own ramp at its fastest"
                    : "highest set-point allowed here",
                behindK);
        else if (!stretch_.on())
            say(EventKind::Stretch, Severity::Info, "%.1f K behind: the plan goes on", behindK);
    }
    const bool seated = seat_.verdict() == SeatWatch::Verdict::Go;
    unseatedS_ += seated ? 0 : stepS_;
    std::array<char, 160> text{};
    if (unseatedS_ > longestUnseatedS)
        std::snprintf(text.data(), text.size(),
                      "the strip was not seated in %.0f s: let it cool, seat it and start again", unseatedS_);
    else if (seated && stretchLimit_.exceeded(phase, share < 0.5 && !waitsToCool() ? stepS_ : 0))
        std::snprintf(text.data(), text.size(),
                      "the plate cannot follow: the plan was held up for %.0f s in this stage",
                      stretchLimit_.stretchedS(phase));
    if (text[0]) {
        stop(Outcome::StoppedByLimit, EventKind::Stretch, Severity::Trip, text.data());
        return;
    }
    if (!(follower_.profileS() < plan_.heaterOffS)) {
        endHeat("heat ended by the plan");
        return;
    }
    steer();
    lookAhead(behindK);
    judgeMelting();
}

void ControlLoop::steer()
{
    command_.off = false;
    command_.duty = duty_;
    sinceLastPidS_ += stepS_;
    command_.setpointC = heldSetpointC_;
    if (!seen_.sensorC)
        return;
    command_.setpointC = highestSetpointC();
    // D on the measurement brakes along a ramp; the reference's own share of it takes that back.
    const double feedForward =
        follower_.feedForward() + gains_.kPerK * gains_.tdS * follower_.expectedSlopeCPerS();
    const double wantedDuty =
        pid_.step(follower_.expectedC(), *seen_.sensorC, feedForward, sinceLastPidS_, setpointBound_);
    sinceLastPidS_ = 0;
    if (settings_.drive == DriveKind::Duty) {
        command_.duty = wantedDuty;
        return;
    }
    if (ownLoop_)
        steerOwnLoop(wantedDuty);
    else if (seen_.duty)
        steerSetpoint(wantedDuty);
    else
        setpointBound_ = true; // a plate that does not say what it gives is led by the path alone
    heldSetpointC_ = command_.setpointC;
}

// A plate that nobody has seen cut its heater when the line falls silent goes on to its set-point, and stays
// there, when its host dies: it must have next to no climb left before it. One that cuts leaves as much
// behind wherever its set-point stands, and only a second failure takes it there: never to where heat ends at
// once.
double ControlLoop::highestSetpointC() const
{
    const double tripC = interlocks_.tripLimitC();
    if (ownLoop_ && settings_.watchdogProvenS > 0)
        return tripC;
    return std::min(follower_.referenceC(unprovenLeadS) + (ownLoop_ ? unprovenLeadK : 0), tripC);
}

void ControlLoop::steerOwnLoop(double wantedDuty)
{
    const double sensorC = *seen_.sensorC, highestC = highestSetpointC();
    const double lowestC = std::min(settings_.setpointFloorC + aboveFloorK, highestC);
    const double wantedC = ownLoop_->setpointForC(wantedDuty, sensorC);
    command_.setpointC = std::clamp(wantedC, lowestC, highestC);
    setpointBound_ = wantedC > std::min(highestC, ownLoop_->furthestC(stepS_));
}

// The plate's own loop is an actuator of unknown gain: its set-point moves until it gives the wanted duty.
// Never above where the path will be in two seconds: a plate whose host dies must have no climb left before
// it.
void ControlLoop::steerSetpoint(double wantedDuty)
{
    const double highestC = command_.setpointC, lowestC = *seen_.sensorC - setpointBelowK;
    const double lastC = reading_ && reading_->setpointC && *reading_->setpointC > settings_.setpointFloorC
                             ? *reading_->setpointC
                             : highestC;
    const double movedC = lastC + setpointSpeed * (wantedDuty - *seen_.duty) * stepS_;
    command_.setpointC = std::min(std::max(movedC, lowestC), highestC);
    setpointBound_ = movedC >= highestC;
}

static std::optional<RunSoFar::Contact> learntContact(const JointEstimate& joints)
{
    if (!joints.calibrated() && !joints.marksBelieved())
        return {};
    const Band contact = joints.contact();
    // Hands may be wrong of a joint; what that would allow to lenses and kept LEDs only a thermocouple says.
    return RunSoFar::Contact{contact.low, contact.median, contact.high, joints.calibrated()};
}

// When plate or joints are elsewhere than planned, the rest of the heat is planned anew in another thread.
void ControlLoop::lookAhead(double behindK)
{
    const LookAhead::Moment now{.timeS = plantS_ - heatStartedS_,
                                .stepS = stepS_,
                                .plateC = plateC_,
                                .sensorC = seen_.sensorC.value_or(plateC_),
                                .behindK = behindK,
                                .profileS = follower_.profileS(),
                                .stretchedS = follower_.stretchedS(),
                                .contact = learntContact(joints_),
                                .marked = marked_};
    const Replanner::Answer* answer = ahead_.advance(now, interlocks_.balance());
    if (!answer)
        return;
    const RemainingPath& path = answer->path;
    follower_.take(path);
    say(EventKind::Stretch, Severity::Info,
        "the rest of the heat planned anew in %.0f ms: it takes %.0f s %s, cards with it, and peaks %.1f K "
        "%s; "
        "soak at %.0f %%, peak at %.0f %% of its pace; tightest limit %.0f %% of its tolerance "
        "away instead of %.0f %%",
        1000 * answer->tookS, std::abs(path.longerS), path.longerS < 0 ? "less" : "more",
        std::abs(path.peakShiftK), path.peakShiftK < 0 ? "lower" : "higher", 100 * path.soakPace,
        100 * path.peakPace, 100 * path.worstMargin, 100 * path.worstMarginAsIs);
    if (!path.missedHabits.empty())
        say(EventKind::Stretch, Severity::Info, "the new rest misses trade habits that the plan keeps: %s",
            path.missedHabits.c_str());
}

} // namespace stripwright
