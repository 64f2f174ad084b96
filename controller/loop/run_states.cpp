#include "loop/control_loop.h"

#include <algorithm>
#include <cmath>
#include <cstdarg>
#include <cstdio>

namespace stripwright {

static constexpr double coldStartBelowC = 50; // a strip laid on a hot plate breaks every ramp limit
static constexpr double guardianGoneS = 5, giveUpWallS = 60;
static const double usualSafeBelowC = HeatPlan().safeBelowC;
static constexpr const char* liftCard = "lift-strip";

void ControlLoop::setState(RunState state, const char* text)
{
    state_ = state;
    say(EventKind::State, Severity::Info, "%s", text);
}

void ControlLoop::stop(Outcome outcome, EventKind kind, Severity severity, const char* text)
{
    if (!heating() && state_ != RunState::Starting)
        return;
    if (kind != EventKind::Interlock || severity != Severity::Trip || !interlocks_.latch().tripped())
        say(kind, severity, "%s", text); // a check has said its finding already
    outcome_ = outcome;
    std::snprintf(stopText_.data(), stopText_.size(), "%s", text);
    stoppingSinceWallS_ = wallS_;
    offReadBack_ = provingEnable_ = false;
    noHeatWallS_.reset();
    if (severity == Severity::Trip && (kind == EventKind::Interlock || kind == EventKind::Heater))
        noteCause(text);
    setState(RunState::Stopping, inWords(RunState::Stopping));
}

void ControlLoop::endHeat(const char* text)
{
    byPlan_ = true;
    outcome_ = Outcome::Completed;
    std::snprintf(stopText_.data(), stopText_.size(), "%s", text);
    follower_.skipTo(std::max(follower_.profileS(), plan_.heaterOffS));
    setState(RunState::Cooling, text);
}

void ControlLoop::end(Outcome outcome, const char* format, ...)
{
    outcome_ = outcome;
    std::array<char, eventTextBytes> text{};
    va_list values;
    va_start(values, format);
    std::vsnprintf(text.data(), text.size(), format, values);
    va_end(values);
    setState(RunState::Ended, text.data());
    record_.outcome = outcome;
    const std::array<char, 160> notLiquid = lastSaidNotLiquid();
    if (outcome == Outcome::Completed && notLiquid[0])
        std::snprintf(record_.outcomeText.data(), record_.outcomeText.size(), "%s; %.120s; %.100s",
                      notLiquid.data(), stopText_.data(), text.data());
    else if (outcome == Outcome::StoppedByOperator && notLiquid[0])
        std::snprintf(record_.outcomeText.data(), record_.outcomeText.size(), "%.120s; %s; %.110s",
                      stopText_.data(), notLiquid.data(), text.data());
    else
        std::snprintf(record_.outcomeText.data(), record_.outcomeText.size(), "%.250s; %.140s",
                      stopText_.data(), text.data());
}

bool ControlLoop::mayHeat() const
{
    return heating() && !interlocks_.latch().tripped() && follower_.profileS() < plan_.heaterOffS;
}

void ControlLoop::judge()
{
    interlocks_.examine(seen_);
    if (seen_.sensorC) {
        lastUsableWallS_ = wallS_;
        lastUsableC_ = *seen_.sensorC;
    }
    const bool heatAtStake = heating() || state_ == RunState::Starting;
    const auto ends = [&](const Finding& finding) {
        const bool heatUnasked =
            finding.interlock == Interlock::UnexpectedHeat || finding.interlock == Interlock::OverTemperature;
        return finding.action == Action::HeaterOff && (heatAtStake || heatUnasked);
    };
    // What ended the heat goes on being a cause while it is seen, whatever the run does by then.
    Interlock strongest = Interlock::None;
    for (int i = 0; i < interlocks_.causeCount(); ++i) {
        const Finding& finding = interlocks_.causes()[static_cast<size_t>(i)];
        bool& ended = endedHeat_[static_cast<size_t>(finding.interlock)];
        ended = ended || ends(finding);
        if (!ended || finding.interlock < strongest)
            continue;
        strongest = finding.interlock;
        noteCause(finding.text.data());
    }
    for (int i = 0; i < interlocks_.newsCount(); ++i) {
        const Finding& finding = interlocks_.news()[static_cast<size_t>(i)];
        const bool trip = ends(finding);
        say(EventKind::Interlock, trip ? Severity::Trip : Severity::Warning, "%s", finding.text.data());
        if (trip && !heatAtStake && outcome_ == Outcome::Completed) {
            outcome_ = Outcome::StoppedByLimit;
            std::snprintf(stopText_.data(), stopText_.size(), "%s", finding.text.data());
        }
    }
    if (interlocks_.latch().tripped())
        stop(Outcome::StoppedByLimit, EventKind::Interlock, Severity::Trip,
             interlocks_.latch().firstOut().text.data());
    if (heating() && !heatBounds_.allows(plantS_, wallS_, lastUsableC_))
        stop(Outcome::StoppedByLimit, EventKind::Interlock, Severity::Trip,
             "the plate was heated for longer than any heat may last");
    judgeCompany();
}

void ControlLoop::noteCause(const char* text)
{
    record_.causeSeen = true;
    std::snprintf(record_.causeText.data(), record_.causeText.size(), "%.*s",
                  static_cast<int>(record_.causeText.size()) - 1, text);
}

void ControlLoop::judgeCompany()
{
    if (guardianGone_ && !guardianGoneWallS_) {
        guardianGoneWallS_ = wallS_;
        say(EventKind::Note, Severity::Warning,
            "the guardian process is gone: nobody turns the heater off if the "
            "controller dies; restart the controller after this run");
    }
    if (watchedByNobody_ && state_ == RunState::Starting)
        stop(Outcome::StoppedByLimit, EventKind::Note, Severity::Trip,
             "the run did not start: no window or terminal has been watching for 30 s");
    if (!heating() && offReadBack_ && reading_ && ForeignHeat::shownBy(*reading_))
        if (const auto text = foreignHeat_.news(*reading_, wallS_); text[0])
            say(EventKind::Heater, Severity::Warning, "%s", text.data());
    if (!heating())
        return;
    const Phase phase = phaseAt(plan_, follower_.profileS());
    if (guardianGoneWallS_ && wallS_ - *guardianGoneWallS_ >= guardianGoneS && phase <= Phase::Soak)
        stop(Outcome::StoppedByLimit, EventKind::Note, Severity::Trip,
             "heat ended: the guardian process is gone");
    if (watchedByNobody_ && phase <= Phase::Reflow)
        stop(Outcome::StoppedByLimit, EventKind::Note, Severity::Trip,
             "heat ended: no window or terminal has been watching for 30 s");
    if (logFailing_ && phase == Phase::Preheat)
        stop(Outcome::StoppedByLimit, EventKind::Note, Severity::Trip,
             "heat ended: the run log cannot be written");
}

void ControlLoop::decide()
{
    command_ = {};
    if (state_ == RunState::Starting)
        startWhenReady();
    else
        estimateJoints();
    takeMarks();
    if (heating())
        followPlan();
    if (state_ == RunState::Stopping) {
        if (offReadBack_)
            setState(RunState::Cooling, "heater off; cooling");
        else if (wallS_ - stoppingSinceWallS_ > giveUpWallS)
            end(Outcome::Failed, "heater off was sent for %.0f s and never confirmed: pull the mains plug",
                giveUpWallS);
    }
    if (state_ == RunState::Cooling)
        followCooling();
}

void ControlLoop::startWhenReady()
{
    for (size_t i = 0; i < plan_.cards.size(); ++i)
        if (plan_.cards[i].mustConfirm && plan_.cards[i].atS < 0 && !confirmed_[i])
            return;
    if (!seen_.sensorC || !noHeatConfirmed())
        return;
    if (!(*seen_.sensorC < coldStartBelowC)) {
        std::array<char, 160> text{};
        std::snprintf(text.data(), text.size(), "the plate is at %.1f °C; a run starts below %.0f °C",
                      *seen_.sensorC, coldStartBelowC);
        stop(Outcome::StoppedByLimit, EventKind::Note, Severity::Trip, text.data());
        return;
    }
    if (!watchdogLetsHeat() || (plate_.hasEnable() && !enableHoldsBack()))
        return;
    if (settings_.watchdogUnproven)
        say(EventKind::Note, Severity::Warning,
            "nobody has seen this plate cut its heater when the line falls silent: take it that it goes on "
            "heating if this computer dies, and stay with its plug");
    heatStarted_ = true;
    heatStartedS_ = plantS_;
    heatBounds_.begin(plantS_, wallS_);
    for (size_t i = 0; i < plan_.cards.size(); ++i)
        if (plan_.cards[i].id == liftCard)
            confirmed_[i] = confirmationSaid_[i] = false; // nobody lifts what must lie there
    stepS_ = 0;
    plateC_ = *seen_.sensorC;
    joints_.start(plateC_);
    setState(RunState::Running, "heating by the plan");
}

bool ControlLoop::watchdogLetsHeat()
{
    if (watchdog_.mayHeat())
        return true;
    if (reading_)
        watchdog_.look(plate_, *reading_, wallS_);
    if (watchdog_.refusal())
        stop(Outcome::StoppedByLimit, EventKind::Heater, Severity::Trip, watchdog_.refusal());
    else if (watchdog_.mayHeat() && watchdog_.wasCleared())
        say(EventKind::Heater, Severity::Info,
            "the plate's watchdog bit had been set since before this heat; cleared");
    return watchdog_.mayHeat();
}

// With the enable output on and no duty the plate must stay as it is: else a relay is stuck, and the enable
// output is all that keeps the heater off.
bool ControlLoop::enableHoldsBack()
{
    constexpr double watchedS = 6, stillCPerS = 0.1;
    if (!provingEnable_) {
        provingEnable_ = true;
        provingSinceS_ = plantS_;
    }
    const std::optional<double> slopeCPerS = interlocks_.balance().slopeCPerS();
    if (plantS_ - provingSinceS_ < watchedS || !noHeatConfirmed() || !slopeCPerS)
        return false;
    provingEnable_ = false;
    if (!(*slopeCPerS < stillCPerS)) {
        stop(Outcome::StoppedByLimit, EventKind::Heater, Severity::Trip,
             "the plate gets warmer with its enable output on and no heat commanded: its relay may be stuck; "
             "have it "
             "looked at before a run");
        return false;
    }
    say(EventKind::Heater, Severity::Info, "enable output tried: no heat without a command");
    return true;
}

void ControlLoop::estimateJoints()
{
    if (seen_.sensorC) {
        // What the sensor will show once its lag and dead time are over.
        const double slopeCPerS = interlocks_.balance().slopeCPerS().value_or(0);
        plateC_ = *seen_.sensorC + (figures_.sensorLagS + figures_.deadTimeS) * slopeCPerS;
    }
    joints_.advance(stepS_, plateC_, reading_ ? reading_->stripC : std::nullopt);
    if (joints_.news() != JointEstimate::News::None)
        say(EventKind::Note, Severity::Warning, "%s", joints_.newsText());
    if (!heating() || !joints_.known())
        return;
    if (dwell_.advance(stepS_, joints_.hottestC(), joints_.risingCPerS(), joints_.parts()) ==
        DwellGuard::Verdict::Go)
        return;
    say(EventKind::Heater, Severity::Warning, "%s", dwell_.text());
    endHeat(dwell_.text());
}

// What element and sensor still hold back makes a plate that was stopped early warmer for a while: that is
// this run's heat, and no news to whoever watches afterwards.
bool ControlLoop::heatHasArrived() const
{
    constexpr double lags = 4, settlesS = 10, noRiseK = 1;
    if (givenDutyS_ * figures_.powerW / figures_.heatCapacityJPerK < noRiseK)
        return true;
    return noHeatSinceS_ && plantS_ - *noHeatSinceS_ > lags * (figures_.elementLagS + figures_.sensorLagS) +
                                                           figures_.deadTimeS + settlesS;
}

bool ControlLoop::readingDoubted() const
{
    const auto ended = [&](Interlock by) { return endedHeat_[static_cast<size_t>(by)]; };
    return interlocks_.readingFellTooFast() || ended(Interlock::NoRise) || ended(Interlock::SensorFault) ||
           ended(Interlock::StaleReading);
}

void ControlLoop::followCooling()
{
    if (byPlan_)
        follower_.advance(stepS_, 1);
    const double safeC = plan_.safeBelowC > 0 ? plan_.safeBelowC : usualSafeBelowC;
    const bool stripSafe = !joints_.known() || joints_.hottestC() < safeC;
    const Outcome outcome = outcome_.value_or(Outcome::Failed);
    if (noHeatConfirmed() && !heatStarted_)
        end(outcome, "heat was never on");
    else if (noHeatConfirmed() && seen_.sensorC && *seen_.sensorC < safeC && stripSafe && heatHasArrived())
        end(outcome,
            readingDoubted()
                ? "it reads %.1f °C, but its sensor may have come off: take plate and strip for hot"
                : "the record ends with the plate cooled to %.1f °C",
            *seen_.sensorC);
    else if (noHeatConfirmed() && leaveRequested_)
        end(outcome,
            std::max(plateC_, lastUsableC_) < safeC
                ? "the record was ended with the plate's sensor at %.1f °C, before the strip was sure to be "
                  "cool"
                : "the record was ended while the plate was still hot, its sensor at %.1f °C",
            lastUsableC_);
    else if (wallS_ - lastUsableWallS_ > giveUpWallS)
        end(noHeatSinceS_ ? outcome : Outcome::Failed, // read back off, if not of late
            "no temperature for %.0f s, it last read %.1f °C: take plate and strip for hot", giveUpWallS,
            lastUsableC_);
}

void ControlLoop::coolingAids()
{
    if (plateSilent_)
        return;
    if (!laidOn_ && state_ == RunState::Starting)
        laidOn_ = plate_.setFan(false) && (!settings_.simulatedStrip || plate_.setStripLifted(false));
    const bool wantFan =
        plan_.sheet.cooling.fan && (state_ == RunState::Cooling || state_ == RunState::Stopping);
    if (wantFan != fanOn_) {
        if (!plate_.hasFan()) {
            fanOn_ = wantFan;
            say(EventKind::State, wantFan ? Severity::Warning : Severity::Info, "%s",
                wantFan ? "switch the fan on by hand now: the plate's link has no register that does it"
                        : "the fan can be switched off by hand");
        } else if (plate_.setFan(wantFan)) {
            fanOn_ = wantFan;
            say(EventKind::State, Severity::Info, wantFan ? "fan on" : "fan off");
        } else if (!fanRefusalSaid_) {
            fanRefusalSaid_ = true;
            say(EventKind::State, Severity::Warning, "the fan does not take commands: switch it by hand");
        }
    }
}

bool ControlLoop::liftConfirmed() const
{
    for (size_t i = 0; i < plan_.cards.size(); ++i)
        if (plan_.cards[i].id == liftCard && confirmed_[i])
            return true;
    return false;
}

// A confirmation counts whenever it came, but never takes a check from a plate that is still heated.
void ControlLoop::followStrip()
{
    if (!heatStarted_)
        return;
    const bool due = plan_.liftAtS && follower_.profileS() >= *plan_.liftAtS && (byPlan_ || heating());
    const bool byHand = liftConfirmed() && (due || !heating());
    const bool byItself = due && settings_.simulatedStrip;
    if ((byHand || byItself) && !liftTold_ && !plateSilent_)
        liftTold_ = plate_.setStripLifted(true);
    if (strip_ != StripPlace::Lifted && (byHand || (byItself && liftTold_))) {
        strip_ = StripPlace::Lifted;
        joints_.strip(false);
        say(EventKind::Card, Severity::Info, "strip lifted off the plate");
    } else if (strip_ == StripPlace::OnPlate && due && !byItself) {
        strip_ = StripPlace::LiftNotSaid;
        say(EventKind::Card, Severity::Info,
            "the strip is taken to lie on the plate until its lifting is confirmed");
    }
}

} // namespace stripwright
