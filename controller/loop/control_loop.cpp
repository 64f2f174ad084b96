#include "loop/control_loop.h"

#include <algorithm>
#include <cmath>
#include <cstdarg>
#include <cstdio>

namespace stripwright {

static constexpr double lateWallS = 1.0;
static constexpr double linkLostAfterWallS = 1.0;

static PlateFigures knownFigures(const HeatPlan& plan, const LoopSettings& settings)
{
    const double ambientC = plan.sheet.air.ambientC;
    return settings.identified ? figuresOf(*settings.identified, ambientC)
                               : figuresOf(plan.sheet.plate, ambientC);
}

static PidGains knownGains(const PlateFigures& figures, const LoopSettings& settings)
{
    if (const auto& known = settings.identified)
        return {.kPerK = known->dutyPerK, .tiS = known->integralS, .tdS = known->derivativeS};
    return simcGains(figures);
}

ControlLoop::ControlLoop(Plate& plate, HeatPlan plan, const LoopSettings& settings)
    : plate_(plate), plan_(std::move(plan)), settings_(settings), figures_(knownFigures(plan_, settings)),
      gains_(knownGains(figures_, settings)), interlocks_(figures_, plan_.tripAboveC, plan_.sheet.plate.maxC,
                                                          plate.highestC(), plate.readingEveryS()),
      load_(plan_), follower_(plan_, figures_), pid_(gains_, settings.periodS), joints_(plan_), dwell_(plan_),
      ahead_(plan_, soakEndOf(plan_), settings.virtualTime), soakEndS_(soakEndOf(plan_)),
      soakEndLeastC_(plannedLeastJointC(plan_, soakEndS_)),
      confirmed_(std::make_unique<std::atomic<bool>[]>(plan_.cards.size())),
      confirmationSaid_(std::make_unique<bool[]>(plan_.cards.size()))
{
    if (settings.drive == DriveKind::Setpoint && settings.identified && settings.identified->ownLoop)
        ownLoop_.emplace(*settings.identified->ownLoop);
    for (const JointModel& joint : plan_.joints)
        targets_.push_back({surelyLiquidFromS(plan_, joint.site), {}});
}

/// That long after its time, when an LED was set down or lifted is not told by when it is said.
static bool saidLate(const HandCard& card, double profileS)
{
    constexpr double inTimeS = 5;
    const bool atASite = card.id.starts_with("swap-led-") || card.id.starts_with("remove-led-");
    return atASite && profileS > card.untilS + inTimeS;
}

bool ControlLoop::confirmCard(const std::string& id)
{
    for (size_t i = 0; i < plan_.cards.size(); ++i)
        if (plan_.cards[i].id == id) {
            confirmed_[i] = true;
            return true;
        }
    return false;
}

void ControlLoop::say(EventKind kind, Severity severity, const char* format, ...)
{
    if (record_.eventCount == static_cast<int>(record_.events.size()))
        return;
    LoopEvent& event = record_.events[static_cast<size_t>(record_.eventCount++)];
    event.seq = ++eventSeq_;
    event.timeS = heatStarted_ ? plantS_ - heatStartedS_ : 0;
    event.kind = kind;
    event.severity = severity;
    va_list values;
    va_start(values, format);
    std::vsnprintf(event.text.data(), event.text.size(), format, values);
    va_end(values);
}

CycleRecord ControlLoop::cycle(double wallS)
{
    record_.causeSeen = false;
    record_.causeText = {};
    advanceTime(wallS);
    if (endsNow())
        turnOffFirst(); // before a reading that may not come
    plateSilent_ = offFirst_ && !*offFirst_ && plate_.silent();
    observe();
    judge();
    takeRequests();
    decide();
    write();
    coolingAids();
    followStrip();
    publish();
    offFirst_.reset();
    const CycleRecord done = record_;
    record_.eventCount = 0;
    return done;
}

bool ControlLoop::endsNow() const
{
    const bool asked = stopRequested_ || leaveRequested_ || abortReason_.load();
    const bool silent = wallS_ - lastAnswerWallS_ >= silenceWallS();
    return state_ == RunState::Stopping || (heating() && (asked || silent));
}

// Where a cycle is slow, one lost reading is no silence.
double ControlLoop::silenceWallS() const
{
    return std::max(linkLostAfterWallS, 3 * settings_.periodS / settings_.plantSPerWallS);
}

// Once in a cycle: at a silent plate each costs as long as the line waits for an answer.
void ControlLoop::turnOffFirst()
{
    if (!offFirst_)
        offFirst_ = plate_.heaterOff();
    if (*offFirst_)
        heatConfirmed_ = false; // what the plate then stands at is of our own doing
    else
        offMayHaveArrived_ = true;
}

// A plate that has just not answered is not waited for again at once. But its outputs may be all that is
// silent: it is asked in the next cycle.
bool ControlLoop::noUseToRead()
{
    readSkipped_ = plateSilent_ && !readSkipped_;
    return readSkipped_;
}

void ControlLoop::advanceTime(double wallS)
{
    wallStepS_ = firstCycle_ ? 0 : wallS - wallS_;
    wallS_ = wallS;
    if (firstCycle_)
        lastAnswerWallS_ = lastUsableWallS_ = wallS;
    stepS_ = wallStepS_ * settings_.plantSPerWallS;
    plantS_ += stepS_;
    sinceOwnLoopS_ += stepS_;
    const double longestWallStepS = std::max(lateWallS, 2 * settings_.periodS / settings_.plantSPerWallS);
    if (heating() && (stepS_ > 3 * settings_.periodS || wallStepS_ > longestWallStepS))
        turnOffFirst(); // before anything else is thought about
    if (heating() && wallStepS_ > longestWallStepS) {
        std::array<char, 120> text{};
        std::snprintf(text.data(), text.size(),
                      "the control cycle came %.1f s late: the computer was busy or asleep", wallStepS_);
        stop(Outcome::StoppedByLimit, EventKind::Interlock, Severity::Trip, text.data());
    }
}

void ControlLoop::observe()
{
    reading_ = noUseToRead() ? std::nullopt : plate_.read();
    seen_ = {};
    seen_.plantS = plantS_;
    seen_.wallS = wallS_;
    seen_.heating = heating();
    seen_.longestSilenceS = silenceWallS();
    seen_.failedShare = plate_.failedShare();
    seen_.refused = !reading_ && plate_.refusesToBeRead();
    const bool stands = reading_ && standsAsCommanded(*reading_);
    seen_.commandRefused = commandRefused_ && !stands; // it may have been one scan of the plate late
    seen_.commandConfirmed = commandConfirmed_ || stands;
    if (settings_.drive == DriveKind::Duty)
        seen_.duty = duty_;
    if (heating()) {
        seen_.expectedC = follower_.expectedC();
        seen_.loadShare = load_.shareAt(follower_.profileS());
    }
    if (reading_) {
        seen_.answered = true;
        seen_.sensorFault = reading_->sensorFault;
        seen_.watchdogTripped = reading_->watchdogTripped;
        seen_.foreignWrite = reading_->foreignWrite;
        const bool counterFellBack = lastCounter_ && reading_->counter && *reading_->counter < *lastCounter_;
        seen_.forgotten = heating() && heatConfirmed_ && standsAtNoHeat(*reading_) &&
                          (!offMayHaveArrived_ || counterFellBack);
        lastCounter_ = reading_->counter;
        if (!reading_->sensorFault)
            seen_.sensorC = reading_->sensorC;
        seen_.counter = reading_->counter;
        if (reading_->duty) {
            seen_.duty = lastDuty_ = reading_->duty;
            lastDutyWallS_ = wallS_;
        }
    } else if (lastDuty_ && wallS_ - lastDutyWallS_ < linkLostAfterWallS) {
        seen_.duty = lastDuty_;
    }
    followOwnLoop();
    // Once no heat was read back none is given: what a plate does by itself then nobody has asked for.
    if (!heating() && noHeatConfirmed())
        seen_.duty = 0;
    seen_.fullDemand = heaterDoesAsTold() ? seen_.duty.value_or(0) >= 0.9 * mostDuty()
                                          : heating() && command_.setpointC > lastUsableC_ + 5;
    seen_.fullShare = mostDuty();

    if (seen_.answered) {
        lastAnswerWallS_ = wallS_;
        if (link_ == LinkState::Lost)
            say(EventKind::Link, Severity::Info, "the plate answers again");
        link_ = LinkState::Up;
        record_.linkText = {};
    } else if (link_ != LinkState::Lost && wallS_ - lastAnswerWallS_ >= linkLostAfterWallS) {
        link_ = LinkState::Lost;
        const std::string why = plate_.lastError();
        std::snprintf(record_.linkText.data(), record_.linkText.size(), "%s", why.c_str());
        say(EventKind::Link, Severity::Warning, "the plate does not answer: %s", why.c_str());
    }
}

// What the plate's own loop gives, where the plate does not say so.
void ControlLoop::followOwnLoop()
{
    constexpr double unsureDuty = 0.1;
    if (!ownLoop_)
        return;
    if (!seen_.sensorC) { // a lost reading changes nothing in what it gives
        if (heating() && !seen_.duty) {
            seen_.duty = ownLoopDuty_;
            seen_.dutyUnsure = unsureDuty;
        }
        return;
    }
    const double setpointC = reading_ && reading_->setpointC ? *reading_->setpointC
                             : command_.off                  ? 0
                                                             : command_.setpointC;
    if (setpointC <= settings_.setpointFloorC) {
        sinceOwnLoopS_ = ownLoopDuty_ = 0;
        ownLoop_->rest(*seen_.sensorC);
        return;
    }
    const double given = ownLoop_->advance(setpointC, *seen_.sensorC, sinceOwnLoopS_);
    ownLoopDuty_ = given;
    sinceOwnLoopS_ = 0;
    if (reading_ && reading_->duty) {
        ownLoop_->correct(setpointC, *seen_.sensorC, *reading_->duty);
        return;
    }
    seen_.duty = given;
    seen_.dutyUnsure = unsureDuty;
}

// A write whose answer was lost is confirmed by what the plate says next.
bool ControlLoop::standsAsCommanded(const PlateReading& reading) const
{
    constexpr double dutyStep = 0.002, setpointStepK = 0.1;
    if (!heating() || reading.foreignWrite)
        return false;
    if (reading.asWritten)
        return *reading.asWritten;
    if (settings_.drive == DriveKind::Duty)
        return reading.duty && std::abs(*reading.duty - command_.duty) < dutyStep;
    return reading.setpointC && std::abs(*reading.setpointC - command_.setpointC) < setpointStepK;
}

bool ControlLoop::standsAtNoHeat(const PlateReading& reading) const
{
    if (reading.asWritten == true && !offMayHaveArrived_)
        return false; // a switched duty is off for whole periods
    constexpr double noDuty = 0.002, someDuty = 0.05, nearFloorK = 0.1, wellAboveK = 5;
    if (settings_.drive == DriveKind::Duty)
        return reading.duty && *reading.duty < noDuty && command_.duty > someDuty;
    return reading.setpointC && *reading.setpointC < settings_.setpointFloorC + nearFloorK &&
           command_.setpointC > settings_.setpointFloorC + wellAboveK;
}

void ControlLoop::takeRequests()
{
    for (size_t i = 0; i < plan_.cards.size(); ++i)
        if (confirmed_[i] && !confirmationSaid_[i]) {
            confirmationSaid_[i] = true;
            const bool late = saidLate(plan_.cards[i], follower_.profileS());
            say(EventKind::Card, Severity::Info, late ? "done late: %s" : "done: %s",
                plan_.cards[i].id.c_str());
            if (plan_.cards[i].raised == Raised::WhenNotSeated) {
                joints_.reseated();
                confirmed_[i] = confirmationSaid_[i] = false; // it may be needed again
            }
        }
    if (const char* reason = abortReason_.exchange(nullptr))
        stop(Outcome::StoppedByLimit, EventKind::Interlock, Severity::Trip, reason);
    if (stopRequested_.exchange(false) || (leaveRequested_ && (heating() || state_ == RunState::Starting)))
        stop(Outcome::StoppedByOperator, EventKind::Operator, Severity::Info, "stopped by the operator");
}

void ControlLoop::write()
{
    const bool heat = mayHeat() && !command_.off;
    if (heat && !seen_.answered)
        return; // the last duty stands until the plate answers or the link counts as lost, 1 s at most
    const bool drivesDuty = settings_.drive == DriveKind::Duty;
    duty_ = !heat ? 0 : drivesDuty ? command_.duty : seen_.duty.value_or(0);
    if (heat)
        commandConfirmed_ = plate_.setEnable(true) && (drivesDuty ? plate_.setDuty(command_.duty)
                                                                  : plate_.setSetpointC(command_.setpointC));
    else if (provingEnable_ && state_ == RunState::Starting)
        commandConfirmed_ =
            (drivesDuty ? plate_.setDuty(0) : plate_.setSetpointC(settings_.setpointFloorC)) &&
            plate_.setEnable(true);
    else {
        turnOffFirst();
        commandConfirmed_ = *offFirst_;
        plateSilent_ = !commandConfirmed_ && plate_.silent();
    }
    commandRefused_ = !commandConfirmed_ && !plate_.silent();
    offReadBack_ = !heat && !provingEnable_ && commandConfirmed_;
    offMayHaveArrived_ = offMayHaveArrived_ && !(heat && commandConfirmed_);
    heatConfirmed_ = heat && (commandConfirmed_ || heatConfirmed_) && !(drivesDuty && command_.duty == 0);
    if (heat) {
        givenDutyS_ += stepS_ * (drivesDuty || seen_.duty ? duty_ : 1);
        noHeatWallS_.reset();
        noHeatSinceS_.reset();
    } else if (commandConfirmed_) {
        noHeatWallS_ = wallS_;
        noHeatSinceS_ = noHeatSinceS_.value_or(plantS_);
    }
    if (heat && !(drivesDuty && command_.duty == 0))
        setHeater(commandConfirmed_ ? HeaterState::On : HeaterState::Unknown);
    else
        setHeater(commandConfirmed_ ? HeaterState::OffConfirmed : HeaterState::OffCommanded);
}

// No heat was read back lately and none was asked for since: a line that loses an answer now and then changes
// nothing in that.
bool ControlLoop::noHeatConfirmed() const
{
    const double lately =
        std::max({linkLostAfterWallS, 2.5 * settings_.periodS / settings_.plantSPerWallS, 2 * wallStepS_});
    return noHeatWallS_ && wallS_ - *noHeatWallS_ < lately;
}

void ControlLoop::setHeater(HeaterState heater)
{
    heater_ = heater;
    if (heater == HeaterState::OffConfirmed || heating())
        unconfirmedSinceWallS_.reset();
    else
        unconfirmedSinceWallS_ = unconfirmedSinceWallS_.value_or(wallS_);
    const bool justLost = unconfirmedSinceWallS_ && wallS_ - *unconfirmedSinceWallS_ < linkLostAfterWallS;
    if (heater == heaterSaid_ || justLost)
        return;
    heaterSaid_ = heater;
    if (heating())
        return;
    if (heater == HeaterState::OffConfirmed)
        say(EventKind::Heater, Severity::Info, "heater off, read back");
    else
        say(EventKind::Heater, Severity::Warning,
            "heater off commanded, not confirmed: it is sent again until the plate confirms it; if the plate "
            "goes on "
            "heating, pull the mains plug");
}

void ControlLoop::publish()
{
    record_.state = state_;
    record_.heater = heater_;
    record_.link = link_;
    record_.sensorC = seen_.sensorC;
    record_.timeS = heatStarted_ ? plantS_ - heatStartedS_ : 0;
    record_.profileS = follower_.profileS();
    record_.endS = follower_.endS();
    record_.referenceC = follower_.referenceC();
    record_.expectedC = follower_.expectedC();
    record_.duty = duty_;
    record_.jointLowC.reset();
    record_.jointNominalC.reset();
    record_.jointHighC.reset();
    if (joints_.known()) {
        record_.jointLowC = joints_.lowC();
        record_.jointNominalC = joints_.nominalC();
        record_.jointHighC = joints_.highC();
    }
    record_.saidLiquid = 0;
    for (size_t i = 0; i < std::min<size_t>(targets_.size(), 64); ++i)
        record_.saidLiquid |= joints_.evidence().saidLiquid(i) ? 1ull << i : 0;
    record_.extraCount = reading_ ? reading_->extraCount : 0;
    if (reading_)
        record_.extraC = reading_->extraC;
    record_.sampleSeq = heatStarted_ ? ++sampleSeq_ : 0;
    record_.strip = strip_;
    record_.card = cardUp();
    if (record_.card >= 0 && record_.card != lastCard_)
        say(EventKind::Card, Severity::Info, "%s",
            plan_.cards[static_cast<size_t>(record_.card)].text.c_str());
    lastCard_ = record_.card;
    firstCycle_ = false;
}

int ControlLoop::cardUp() const
{
    int up = -1;
    for (size_t i = 0; i < plan_.cards.size(); ++i) {
        const HandCard& card = plan_.cards[i];
        if (card.raised == Raised::WhenNotSeated && heating() &&
            seat_.verdict() == SeatWatch::Verdict::NotSeated)
            return static_cast<int>(i);
        if (confirmed_[i] || !card.comesByTime())
            continue;
        if (state_ == RunState::Starting) {
            // What blocks the start comes first.
            if (card.atS < 0 &&
                (up < 0 || (card.mustConfirm && !plan_.cards[static_cast<size_t>(up)].mustConfirm)))
                up = static_cast<int>(i);
        } else if (state_ != RunState::Ended && card.atS >= 0 && follower_.profileS() >= card.atS &&
                   follower_.profileS() < card.untilS) {
            up = static_cast<int>(i);
        }
    }
    return up;
}

} // namespace stripwright
