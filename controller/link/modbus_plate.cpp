#include "link/modbus_plate.h"

#include "link/line_silence.h"
#include "link/line_time.h"
#include "link/modbus_words.h"
#include "link/register_codec.h"

#include <algorithm>
#include <cmath>
#include <set>

namespace stripwright {

static PlateLink withUnits(PlateLink link)
{
    for (auto* field : {&link.duty, &link.setpoint, &link.status, &link.counter, &link.watchdogS, &link.fan,
                        &link.stripLifted, &link.enable, &link.stripSensor})
        if (*field)
            (*field)->unit = (*field)->unit.value_or(link.unit);
    if (link.clearWatchdog)
        link.clearWatchdog->field.unit = link.clearWatchdog->field.unit.value_or(link.unit);
    for (ExtraChannel& channel : link.channels)
        channel.field.unit = channel.field.unit.value_or(link.unit);
    for (PlateSetting& setting : link.settings)
        setting.field.unit = setting.field.unit.value_or(link.unit);
    link.sensor.unit = link.sensor.unit.value_or(link.unit);
    return link;
}

static double retryForS(const PlateLink& link)
{
    constexpr double shortS = 0.08, ofCycle = 0.3;
    const bool driven = link.drive == DriveKind::Duty ? link.duty.has_value() : link.setpoint.has_value();
    return driven ? std::max(shortS, ofCycle * cycleS(link)) : shortS; // a draft names its sensor only
}

static int leastPeriods(const PlateLink& link)
{
    constexpr double rounding = 1e-6;
    return isSwitched(link) && link.leastOnS > 0
               ? std::max(1, static_cast<int>(std::ceil(link.leastOnS / usualPeriodS(link) - rounding)))
               : 1;
}

ModbusPlate::ModbusPlate(const PlateLink& link, double connectTimeoutS, double responseTimeoutS)
    : link_(withUnits(link)), line_(link, connectTimeoutS), responseTimeoutS_(responseTimeoutS),
      retryForS_(retryForS(link_)), fields_(cycleFields(link_)), leastPeriods_(leastPeriods(link_)),
      stoodPeriods_(leastPeriods_)
{
    layOut(true);
}

bool ModbusPlate::refuse(std::string why)
{
    silent_ = false;
    error_ = std::move(why);
    return false;
}

// The plate may have been switched off meanwhile: its watchdog time no longer counts as set.
bool ModbusPlate::lineFailed()
{
    if (!line_.lastException())
        armed_ = false;
    refuse(line_.error());
    silent_ = !line_.lastException();
    return false;
}

bool ModbusPlate::openLine(double timeoutS)
{
    armed_ = false;
    const bool opened = line_.open(timeoutS, responseTimeoutS_);
    lastOpeningS_ = monotonicS();
    if (opened)
        return true;
    lastFailedOpeningS_ = lastOpeningS_;
    return lineFailed();
}

// A line that was lost is opened again at once, and so is one on which answers come, then at most once in a
// response timeout, so that a dead plate costs a control cycle no more than a silent one does.
bool ModbusPlate::lineOpen()
{
    if (line_.isOpen())
        return true;
    return (line_.damaged() || monotonicS() - lastOpeningS_ >= responseTimeoutS_) &&
           openLine(responseTimeoutS_);
}

// "Heater off" opens a line that any answer has just closed: it may reach the plate though nothing comes
// back.
bool ModbusPlate::lineOpenForOff()
{
    if (line_.isOpen())
        return true;
    return monotonicS() - lastFailedOpeningS_ >= responseTimeoutS_ && openLine(responseTimeoutS_);
}

bool ModbusPlate::ready()
{
    if (!lineOpen())
        return false;
    if (armed_ || armWatchdog())
        return true;
    if (!link_.serial)
        line_.close();
    return false;
}

bool ModbusPlate::armWatchdog()
{
    armed_ = !link_.watchdogS;
    if (armed_)
        return true;
    // After a short failure of the line it stands there still. A plate that was away may need it written.
    const RegisterField& field = *link_.watchdogS;
    std::uint16_t words[2] = {}, found[2] = {};
    const ReadBlock place{field.table, field.address, wordsOf(field), *field.unit};
    const bool lately = lastReadS_ > 0 && monotonicS() - lastReadS_ < 2;
    if (lately && !line_.read(place, found) && !line_.lastException())
        return lineFailed();
    armed_ = (lately && encodeValue(link_.watchdogSeconds, field, words) &&
              std::equal(words, words + place.count, found)) ||
             writeValue("watchdog time", field, link_.watchdogSeconds, Urgency::Normal);
    return armed_;
}

void ModbusPlate::layOut(bool bridgeGaps)
{
    std::vector<ReadBlock> plan = planReadBlocks(fields_, bridgeGaps, longestGap(link_));
    const std::vector<ReadBlock> settings = planReadBlocks(settingFields(link_), false);
    const std::vector<RegisterField> written = writtenFields(link_);
    const auto blocksOf = [](const std::vector<ReadBlock>& planned) {
        std::vector<Block> blocks;
        for (const ReadBlock& block : planned)
            blocks.push_back({block, std::vector<std::uint16_t>(static_cast<size_t>(block.count))});
        return blocks;
    };
    blocks_ = blocksOf(plan);
    settingBlocks_ = blocksOf(settings);
    nextSetting_ = 0;
    plan.insert(plan.end(), settings.begin(), settings.end()); // no probe may look like any answer
    std::set<int> units;
    for (const RegisterField& field : fields_)
        units.insert(*field.unit);
    for (const RegisterField& field : written)
        units.insert(*field.unit);
    std::vector<ReadBlock> probes;
    for (int unit : units)
        for (const ReadBlock& probe : planProbes(unit, plan, fields_, written))
            probes.push_back(probe);
    line_.setProbes(std::move(probes));
}

bool ModbusPlate::readBlocks()
{
    for (Block& block : blocks_) {
        lastRead_ = block;
        if (!line_.read(block, block.words.data()))
            return lineFailed();
    }
    if (!readOneOfTheSettings())
        return lineFailed();
    silent_ = false;
    lastReadS_ = armed_ ? monotonicS() : lastReadS_;
    error_.clear();
    return true;
}

// They hardly ever change: one request a cycle keeps the cycle short.
bool ModbusPlate::readOneOfTheSettings()
{
    lastSetting_ = nullptr;
    if (!settingsStood_ || settingBlocks_.empty())
        return true;
    Block& block = settingBlocks_[nextSetting_];
    lastRead_ = block;
    if (!line_.read(block, block.words.data()))
        return false;
    block.wasRead = true;
    lastSetting_ = &block;
    nextSetting_ = (nextSetting_ + 1) % settingBlocks_.size();
    return true;
}

// What was damaged on its way is asked for once more in the same cycle, as far as its time goes.
bool ModbusPlate::readAgainIfDamaged()
{
    double untilS = 0;
    for (int n = 0; n < 3; ++n) {
        if (lineOpen() && readBlocks())
            return true;
        const double nowS = monotonicS();
        untilS = n == 0 ? nowS + retryForS_ : untilS;
        if (!line_.damaged() || nowS > untilS)
            break;
    }
    return false;
}

bool ModbusPlate::Block::holds(const RegisterField& field) const
{
    return unit == *field.unit && table == field.table && start <= field.address &&
           field.address + wordsOf(field) <= start + count;
}

const std::uint16_t* ModbusPlate::Block::at(const RegisterField& field) const
{
    return &words[static_cast<size_t>(field.address - start)];
}

const std::uint16_t* ModbusPlate::wordsAt(const RegisterField& field) const
{
    return std::find_if(blocks_.begin(), blocks_.end(), [&](const Block& one) { return one.holds(field); })
        ->at(field);
}

bool ModbusPlate::sensorIsFaulty(const RegisterField& field, int faultMask, std::int64_t status) const
{
    const double raw = decodeRaw(wordsAt(field), field.type, field.order);
    const double valueC = decodeValue(wordsAt(field), field);
    const bool none = std::any_of(link_.noSensorRaw.begin(), link_.noSensorRaw.end(),
                                  [&](long noSensor) { return raw == static_cast<double>(noSensor); });
    return none || (status & faultMask) != 0 || !std::isfinite(valueC) || valueC < link_.sensorMinC ||
           valueC > link_.sensorMaxC;
}

// Another program writes to the plate, its keys are used, or it was switched off and on.
void ModbusPlate::noteForeign(const RegisterField& field, const Confirmed& confirmed, const char* what,
                              PlateReading& reading)
{
    const std::uint16_t* found = wordsAt(field);
    if (!confirmed.known || std::equal(found, found + wordsOf(field), confirmed.words))
        return;
    reading.foreignWrite = true;
    error_ = std::string(what) + " reads " + plain(decodeValue(found, field)) + ", not the " +
             plain(decodeValue(confirmed.words, field)) +
             " last written and confirmed: something else writes to the plate, or it was restarted";
}

void ModbusPlate::noteForeignSettings(PlateReading& reading)
{
    for (const PlateSetting& setting : link_.settings)
        for (const Block& block : settingBlocks_) {
            std::uint16_t words[2] = {};
            if (!block.wasRead || &block != lastSetting_ || !block.holds(setting.field) ||
                !encodeValue(setting.value, setting.field, words) ||
                std::equal(words, words + wordsOf(setting.field), block.at(setting.field)))
                continue;
            reading.foreignWrite = true;
            error_ = "the setting \"" + setting.name + "\" reads " +
                     plain(decodeValue(block.at(setting.field), setting.field)) + ", not the " +
                     plain(setting.value) +
                     " it was given: it was changed at the plate, something else writes to it, or it was "
                     "restarted";
        }
}

std::optional<bool> ModbusPlate::standsAsWritten(const std::optional<RegisterField>& field,
                                                 const Confirmed& output) const
{
    if (!field || !output.written)
        return {};
    const std::uint16_t* found = wordsAt(*field);
    return std::equal(found, found + wordsOf(*field), output.words);
}

std::optional<PlateReading> ModbusPlate::read()
{
    if (!readAgainIfDamaged())
        return {};
    // A value does not need the watchdog; heat, which is only written once it is set, does.
    if (!armed_ && !armWatchdog() && !silent_) {
        if (!link_.serial)
            line_.close();
        return {};
    }
    const auto raw = [&](const RegisterField& field) {
        return static_cast<std::int64_t>(decodeRaw(wordsAt(field), field.type, field.order));
    };
    const auto finite = [&](const std::optional<RegisterField>& field) {
        const double found = field ? decodeValue(wordsAt(*field), *field) : std::nan("");
        return std::isfinite(found) ? std::optional(found) : std::nullopt;
    };

    PlateReading reading;
    const std::int64_t status = link_.status ? raw(*link_.status) : 0;
    reading.watchdogTripped = tripped_ = (status & link_.watchdogTrippedMask) != 0;
    reading.sensorFault = sensorIsFaulty(link_.sensor, link_.sensorFaultMask, status);
    if (!reading.sensorFault)
        reading.sensorC = decodeValue(wordsAt(link_.sensor), link_.sensor);
    if (link_.stripSensor && !sensorIsFaulty(*link_.stripSensor, link_.stripSensorFaultMask, status))
        reading.stripC = finite(link_.stripSensor);
    reading.duty = finite(link_.duty);
    reading.setpointC = finite(link_.setpoint);
    if (link_.enable)
        reading.enabled = raw(*link_.enable) != 0;
    if (link_.counter)
        reading.counter = static_cast<unsigned>(raw(*link_.counter));
    for (const ExtraChannel& channel : link_.channels)
        reading.extraC[static_cast<size_t>(reading.extraCount++)] =
            decodeValue(wordsAt(channel.field), channel.field);

    reading.toldToHeat = toldToHeat();
    reading.asWritten = link_.drive == DriveKind::Duty ? standsAsWritten(link_.duty, duty_)
                                                       : standsAsWritten(link_.setpoint, setpoint_);
    if (line_.othersTalk())
        error_ = "bytes nobody asked for keep coming: another master seems to talk on this line";
    // A plate that cuts its heater may clear these itself; a bit that stood before they were written does
    // not.
    if (link_.duty && !(tripped_ && !duty_.overTripped))
        noteForeign(*link_.duty, duty_, "duty", reading);
    if (link_.setpoint && !(tripped_ && !setpoint_.overTripped))
        noteForeign(*link_.setpoint, setpoint_, "set-point", reading);
    if (heatAsked_)
        noteForeignSettings(reading);
    return reading;
}

bool ModbusPlate::hasSetpointToFloor() const
{
    return link_.drive == DriveKind::Setpoint ||
           (link_.setpoint && link_.setpoint->table == RegisterTable::Holding);
}

// As it was last read, against what heaterOff() writes; what is no number may be anything.
bool ModbusPlate::toldToHeat() const
{
    constexpr double rounding = 1e-6;
    const auto isAbove = [&](const RegisterField& field, double off) {
        std::uint16_t words[2] = {};
        const std::uint16_t* found = wordsAt(field);
        const bool asWritten =
            encodeValue(off, field, words) && std::equal(words, words + wordsOf(field), found);
        return !asWritten && !(decodeValue(found, field) <= off + rounding);
    };
    // A link to look through names no more than the sensor.
    return (link_.duty && link_.drive == DriveKind::Duty && isAbove(*link_.duty, 0)) ||
           (link_.setpoint && hasSetpointToFloor() && isAbove(*link_.setpoint, link_.setpointFloorC)) ||
           (link_.enable && *wordsAt(*link_.enable) != 0);
}

} // namespace stripwright
