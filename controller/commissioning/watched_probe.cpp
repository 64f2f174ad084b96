#include "commissioning/watched_probe.h"

#include "link/register_codec.h"

#include <algorithm>

namespace stripwright {

static constexpr double mostRiseK = 40, longestWallStepS = 1, giveUpOffS = 60, offEveryS = 0.5;
static constexpr int mostNotTaken = 2;
static constexpr double earlyS = 1e-6; // a wait may end by rounding
static constexpr double anyC = 1e12;   // beyond every raw value: what reads as what is judged here

PlateLink probingLink(const DraftLink& draft, const SensorWidths& widths, bool onlySensor)
{
    PlateLink link = draft.link;
    const bool two = widths.two && link.sensor.address < 65535;
    link.sensor.type = two ? RegisterType::Int32 : RegisterType::Uint16;
    link.sensor.order = WordOrder::ABCD;
    link.sensor.scale = 1;
    link.sensor.offset = 0;
    link.sensorMinC = -anyC;
    link.sensorMaxC = anyC;
    link.noSensorRaw.clear();
    link.channels.clear();
    link.leastOnS = 0; // of a little heat nothing would be left else
    link.stripSensor.reset();
    for (int i = 0; i < (two ? 2 : 1); ++i) {
        RegisterField word = link.sensor;
        word.type = RegisterType::Uint16;
        word.address += i;
        link.channels.push_back({"word_" + std::to_string(i), word});
    }
    if (onlySensor)
        for (auto* field : {&link.duty, &link.setpoint, &link.status, &link.counter, &link.watchdogS,
                            &link.fan, &link.stripLifted, &link.enable})
            field->reset();
    if (onlySensor) {
        link.clearWatchdog.reset();
        link.settings.clear();
    }
    return link;
}

SensorWords sensorWordsOf(const PlateReading& reading)
{
    SensorWords words{};
    for (size_t i = 0; i < words.size() && i < static_cast<size_t>(reading.extraCount); ++i)
        words[i] = static_cast<std::uint16_t>(reading.extraC[i]);
    return words;
}

WatchedProbe::WatchedProbe(Surroundings& around, const PlateLink& link, CandidateTable& table)
    : around_(around), link_(link), table_(table), plate_(around.open(link)), checks_(table.rows().size())
{
}

void WatchedProbe::stop(const std::string& why)
{
    if (why_.empty())
        why_ = why;
}

std::optional<double> WatchedProbe::knownC() const
{
    const std::vector<size_t> sensible = table_.sensible();
    return sensible.empty() ? std::nullopt : std::optional(table_.rows()[sensible.front()].readsC);
}

// What a loop of the plate's own gives only the plate can tell.
std::optional<double> WatchedProbe::knownDuty() const
{
    if (reading_ && reading_->duty)
        return reading_->duty;
    return link_.drive == DriveKind::Duty ? std::optional(duty_) : std::nullopt;
}

// What else it may be where the map is not known to be right.
static std::string hintAt(Interlock interlock, const RegisterField& meaning)
{
    switch (interlock) {
    case Interlock::StaleReading:
        return ". Or is \"counter\" another register?";
    case Interlock::WatchdogTripped:
        return ". Or does \"watchdog_tripped_mask\" name another bit?";
    case Interlock::SensorFault:
    case Interlock::OverTemperature:
        return " (sensor taken as " + inWords(meaning) + ")";
    default:
        return {};
    }
}

bool WatchedProbe::hold(const Heat& heat, double forS, const std::function<bool()>& enough)
{
    const double endS = around_.plantS() + forS;
    for (double dueS = around_.plantS(); why_.empty() && dueS < endS - cycleS / 2;) {
        cycle(heat);
        around_.tellCandidates(table_);
        around_.tellNews(knownC(), knownDuty());
        if (enough && enough())
            break;
        dueS = std::max(dueS + cycleS, around_.plantS());
        around_.waitUntil(dueS);
    }
    return why_.empty();
}

void WatchedProbe::lookAtWatchdog(double wallS)
{
    if (watchdog_.mayHeat() || !offSeen_)
        return;
    watchdog_.look(*plate_, *reading_, wallS);
    if (watchdog_.refusal())
        stop(watchdog_.refusal());
    else if (watchdog_.stands())
        around_.tellStep("the plate's watchdog bit has been set since before this heat, and nothing is named "
                         "that clears it: it counts once it was read clear");
    else if (watchdog_.wasCleared())
        around_.tellStep("the plate's watchdog bit had been set since before this heat; cleared");
}

void WatchedProbe::cycle(const Heat& asked)
{
    const Heat heat = watchdog_.mayHeat() ? asked : Heat{};
    const double wallS = around_.wallS(), plantS = around_.plantS();
    if (around_.stopped())
        stop("stopped by the operator");
    if (lastWallS_ && wallS - *lastWallS_ > longestWallStepS)
        stop("a control cycle came late: the computer was busy or asleep");
    if (duty_ > 0 && !why_.empty())
        plate_->heaterOff(); // before a reading that may not come
    const double sinceS = lastPlantS_ ? plantS - *lastPlantS_ : 0;
    const double sinceWallS = lastWallS_ ? wallS - *lastWallS_ : 0;
    lastWallS_ = wallS;
    lastPlantS_ = plantS;
    reading_ = plate_->read();
    if (reading_) {
        table_.take(sensorWordsOf(*reading_));
        lookAtWatchdog(wallS);
    }
    givenDutyS_ += sinceS * (reading_ ? reading_->duty.value_or(duty_) : duty_);
    countHeat(duty_ > 0 ? sinceS : 0, duty_ > 0 ? sinceWallS : 0);
    examine(wallS, plantS, heat);
    write(heat);
}

void WatchedProbe::countHeat(double plantS, double wallS)
{
    heatS_ += plantS;
    heatWallS_ += wallS;
    if (std::max(heatS_, heatWallS_) > mostHeatS)
        stop("the plate was heated for longer than " + std::to_string(static_cast<int>(mostHeatS)) + " s");
}

void WatchedProbe::examine(double wallS, double plantS, const Heat& heat)
{
    for (size_t i = 0; i < checks_.size(); ++i) {
        const CandidateRow& row = table_.rows()[i];
        if (!row.sensible)
            continue;
        if (!checks_[i])
            checks_[i].emplace(PlateFigures{}, row.readsC + mostRiseK, 0, plate_->highestC());
        Observation seen;
        seen.plantS = plantS;
        seen.wallS = wallS;
        seen.answered = reading_.has_value();
        seen.heating = heat.duty > 0;
        seen.commandConfirmed = confirmed_;
        seen.duty = duty_;
        if (reading_) {
            seen.sensorFault = reading_->sensorFault;
            seen.watchdogTripped = reading_->watchdogTripped;
            seen.foreignWrite = reading_->foreignWrite;
            seen.counter = reading_->counter;
            if (!reading_->sensorFault)
                seen.sensorC = row.readsC;
        }
        checks_[i]->examine(seen);
        const Latch& latch = checks_[i]->latch();
        if (latch.tripped())
            stop(latch.firstOut().text.data() + hintAt(latch.firstOut().interlock, row.field));
    }
}

void WatchedProbe::write(const Heat& heat)
{
    const bool heats = heat.duty > 0 && why_.empty();
    if (heats && (heat.asItIs || !reading_))
        return; // as it is, until the plate answers or the link counts as lost
    duty_ = heats ? heat.duty : 0;
    confirmed_ = heats || (heat.enableAlone && why_.empty()) ? command(heat) : plate_->heaterOff();
    offSeen_ = offSeen_ || (duty_ == 0 && confirmed_);
    notTaken_ = reading_ && !confirmed_ ? notTaken_ + 1 : 0;
    if (notTaken_ <= mostNotTaken)
        return;
    const std::string why = plate_->lastError();
    stop((heats ? "the plate does not take its heat: " : "heater off is not read back: ") + why);
    if (heats)
        confirmed_ = plate_->heaterOff();
}

bool WatchedProbe::command(const Heat& heat)
{
    if (!plate_->setEnable(heat.enable))
        return false;
    if (link_.drive == DriveKind::Duty)
        return plate_->setDuty(heat.duty);
    return plate_->setSetpointC(heat.duty > 0 ? heat.setpointC : link_.setpointFloorC);
}

bool WatchedProbe::open(Opening opening)
{
    try {
        plate_ = (around_.*opening)(link_);
    } catch (const LinkError& error) {
        stop(error.what());
    }
    return plate_ != nullptr;
}

bool WatchedProbe::off()
{
    duty_ = 0;
    for (const double endS = around_.wallS() + giveUpOffS; around_.wallS() < endS;) {
        if ((plate_ || open(&Surroundings::openToTurnOff)) && plate_->heaterOff())
            return true;
        around_.waitUntil(around_.plantS() + offEveryS);
    }
    return false;
}

std::optional<WatchedProbe::Silence> WatchedProbe::goSilent(double forS)
{
    const double lastRequestS = lastPlantS_.value_or(around_.plantS()), fromS = around_.plantS();
    const double lastRequestWallS = lastWallS_.value_or(around_.wallS()), fromWallS = around_.wallS();
    plate_.reset();
    while (!around_.stopped() && around_.plantS() < fromS + forS - earlyS &&
           around_.wallS() < fromWallS + forS)
        around_.waitUntil(std::min(around_.plantS() + cycleS, fromS + forS));
    if (around_.stopped()) {
        stop("stopped by the operator"); // heater off must not wait for a plate that has to be read first
        return {};
    }
    if (open(&Surroundings::openAgain) && !(reading_ = plate_->read()))
        stop("the plate could not be read again after the silence: " + plate_->lastError());
    countHeat(around_.plantS() - lastRequestS, around_.wallS() - lastRequestWallS);
    lastWallS_.reset();
    lastPlantS_.reset();
    if (!why_.empty())
        return {};
    return Silence{around_.plantS() - lastRequestS, *reading_};
}

} // namespace stripwright
