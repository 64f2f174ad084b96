#include "loop/idle_watch.h"

#include <cstdio>

namespace stripwright {

static constexpr double silenceS = 1.0, windowS = 5, risingCPerS = 0.1, persistS = 5;

IdleWatch::IdleWatch(Plate& plate, double plantSPerWallS) : plate_(plate), plantSPerWallS_(plantSPerWallS) {}

void IdleWatch::restart()
{
    off_ = false;
    readings_.clear();
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

CycleRecord IdleWatch::cycle(double wallS)
{
    CycleRecord record;
    const std::optional<PlateReading> reading = plate_.read();
    if (reading || !started_)
        lastAnswerWallS_ = wallS;
    started_ = true;
    const bool lost = wallS - lastAnswerWallS_ >= silenceS;
    record.link = reading ? LinkState::Up : lost ? LinkState::Lost : LinkState::Unknown;
    if (lost) {
        const std::string why = plate_.lastError();
        std::snprintf(record.linkText.data(), record.linkText.size(), "%s", why.c_str());
        if (!lostSaid_)
            say(record, EventKind::Link, Severity::Warning, record.linkText.data());
    }
    lostSaid_ = lost;

    bool warming = false;
    if (reading && !reading->sensorFault) {
        record.sensorC = reading->sensorC;
        readings_.push(wallS * plantSPerWallS_, reading->sensorC);
        const double slope = readings_.slope(windowS).value_or(0);
        warming = rising_.held(slope > risingCPerS, wallS * plantSPerWallS_, persistS);
    }
    if (warming && !heatSaid_)
        say(record, EventKind::Interlock, Severity::Trip,
            "unexpected heat: the plate gets warmer although no run is on; if it goes on, pull the mains "
            "plug");
    heatSaid_ = record.warmsUnasked = warming;
    if (!off_ || warming || (reading && reading->duty.value_or(0) > 0))
        off_ = plate_.heaterOff();
    record.heater = !off_  ? HeaterState::OffCommanded
                    : lost ? HeaterState::Unknown
                           : HeaterState::OffConfirmed;
    if (reading) {
        record.extraCount = reading->extraCount;
        record.extraC = reading->extraC;
    }
    return record;
}

} // namespace stripwright
