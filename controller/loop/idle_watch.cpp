#include "loop/idle_watch.h"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <utility>

namespace stripwright {

static constexpr double silenceS = 1.0, windowS = 5, risingCPerS = 0.1, persistS = 5;
static constexpr double offAgainS = 5;
static constexpr double mostRiseK = 60;

IdleWatch::IdleWatch(Plate& plate, double plantSPerWallS) : plate_(plate), plantSPerWallS_(plantSPerWallS) {}

void IdleWatch::restart()
{
    off_ = everOff_ = wasOff_ = warming_ = false;
    readings_.clear();
    coldestC_.reset();
    lastC_.reset();
}

void IdleWatch::say(CycleRecord& record, EventKind kind, Severity severity, const char* text)
{
    if (record.eventCount == static_cast<int>(record.events.size()))
        return;
    LoopEvent& event = record.events[static_cast<size_t>(record.eventCount++)];
    event.seq = ++eventSeq_;
    event.kind = kind;
    event.severity = severity;
    std::snprintf(event.text.data(), event.text.size(), "%s", text);
}

void IdleWatch::heaterOffSent(bool readBack, double wallS)
{
    off_ = everOff_ = readBack;
    wasOff_ = wasOff_ || readBack;
    lastOffWallS_ = wallS;
    offSent_ = true;
}

void IdleWatch::turnOff(double wallS)
{
    off_ = plate_.heaterOff();
    everOff_ = everOff_ || off_;
    wasOff_ = wasOff_ || off_;
    lastOffWallS_ = wallS;
}

CycleRecord IdleWatch::cycle(double wallS)
{
    CycleRecord record;
    if (!std::exchange(offSent_, false) && (!off_ || warming_ || wallS - lastOffWallS_ >= offAgainS))
        turnOff(wallS);
    // A plate that has just not answered is not waited for again at once. But its outputs may be all that is
    // silent: it is asked in the next cycle.
    readSkipped_ = !off_ && plate_.silent() && !readSkipped_;
    reading_ = readSkipped_ ? std::nullopt : plate_.read();
    followLink(record, wallS);
    followHeat(record, wallS);

    const bool told = reading_ && ForeignHeat::shownBy(*reading_);
    if (told) {
        if (const auto text = foreign_.news(*reading_, wallS); text[0])
            say(record, EventKind::Heater, Severity::Warning, text.data());
        wasOff_ = false;
        turnOff(wallS);
    }
    record.heater = off_ && !told       ? HeaterState::OffConfirmed
                    : lost_ && everOff_ ? HeaterState::Unknown
                                        : HeaterState::OffCommanded;
    record.wasReadBackOff = wasOff_ && !warming_;
    if (reading_) {
        record.extraCount = reading_->extraCount;
        record.extraC = reading_->extraC;
    }
    return record;
}

void IdleWatch::followLink(CycleRecord& record, double wallS)
{
    if (reading_ || !started_)
        lastAnswerWallS_ = wallS;
    started_ = true;
    const bool lost = wallS - lastAnswerWallS_ >= silenceS;
    record.link = reading_ ? LinkState::Up : lost ? LinkState::Lost : LinkState::Unknown;
    if (lost) {
        off_ = false;
        const std::string why = plate_.lastError();
        std::snprintf(record.linkText.data(), record.linkText.size(), "%s", why.c_str());
        if (!lost_)
            say(record, EventKind::Link, Severity::Warning, record.linkText.data());
    }
    lost_ = lost;
}

void IdleWatch::cause(CycleRecord& record, bool seen, bool& said, const char* text)
{
    if (seen) {
        record.causeSeen = true;
        std::snprintf(record.causeText.data(), record.causeText.size(), "%s", text);
        if (!said)
            say(record, EventKind::Interlock, Severity::Trip, record.causeText.data());
    }
    said = seen;
}

void IdleWatch::followHeat(CycleRecord& record, double wallS)
{
    Observation seen;
    seen.plantS = wallS * plantSPerWallS_;
    seen.wallS = wallS;
    if (reading_) {
        seen.answered = true;
        seen.sensorFault = reading_->sensorFault;
        if (!reading_->sensorFault)
            seen.sensorC = reading_->sensorC;
    }
    record.sensorC = sensorFault_.usable(seen);
    if (record.sensorC) {
        // A low reading counts once it was seen twice: a single one may be a spike.
        const double seenTwiceC = std::max(lastC_.value_or(*record.sensorC), *record.sensorC);
        if (lastC_)
            coldestC_ = std::min(coldestC_.value_or(seenTwiceC), seenTwiceC);
        lastC_ = record.sensorC;
        readings_.push(seen.plantS, *record.sensorC);
        // Nothing is known of a slope before there are enough readings: neither that it rises nor that not.
        if (const auto slope = readings_.slope(windowOfReadingsS(windowS, plate_.readingEveryS())))
            warming_ = rising_.held(*slope > risingCPerS, seen.plantS, persistS);
    }
    record.warmsUnasked = warming_;

    const Finding fault = sensorFault_.examine(seen);
    cause(record, fault.action == Action::HeaterOff, faultSaid_, fault.text.data());
    cause(record, warming_, warmingSaid_,
          "unexpected heat: the plate gets warmer although no run is on; if it goes on, pull the mains plug");
    const double highestC = plate_.highestC().value_or(0);
    const bool tooHot = lastC_ && highestC > 0 && *lastC_ >= highestC;
    const bool tooWarm = lastC_ && coldestC_ && *lastC_ - *coldestC_ > mostRiseK;
    std::array<char, 200> text{};
    if (tooHot)
        std::snprintf(text.data(), text.size(),
                      "over temperature: plate reads %.1f °C, limit %.1f °C, and no run is on; if it goes on "
                      "rising, pull the mains plug",
                      *lastC_, highestC);
    else if (tooWarm)
        std::snprintf(text.data(), text.size(),
                      "unexpected heat: plate reads %.1f °C, %.1f °C before, and no run is on; if it goes on "
                      "rising, pull the mains plug",
                      *lastC_, *coldestC_);
    cause(record, tooHot || tooWarm, hotSaid_, text.data());
}

} // namespace stripwright
