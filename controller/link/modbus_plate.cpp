#include "link/modbus_plate.h"

#include "link/line_silence.h"
#include "link/line_time.h"
#include "link/modbus_words.h"
#include "link/register_codec.h"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <set>

namespace stripwright {

static std::string plain(double value)
{
    char text[32];
    std::snprintf(text, sizeof text, "%.6g", value);
    return text;
}

static ReadBlock blockOf(const RegisterField& field)
{
    return {field.table, field.address, wordsOf(field), field.unit.value_or(1)};
}

static PlateLink withUnits(PlateLink link)
{
    for (auto* field : {&link.duty, &link.setpoint, &link.status, &link.counter, &link.watchdogS, &link.fan,
                        &link.stripLifted, &link.enable, &link.stripSensor})
        if (*field)
            (*field)->unit = (*field)->unit.value_or(link.unit);
    for (ExtraChannel& channel : link.channels)
        channel.field.unit = channel.field.unit.value_or(link.unit);
    link.sensor.unit = link.sensor.unit.value_or(link.unit);
    return link;
}

ModbusPlate::ModbusPlate(const PlateLink& link, double connectTimeoutS, double responseTimeoutS)
    : link_(withUnits(link)), line_(link, connectTimeoutS), responseTimeoutS_(responseTimeoutS),
      fields_(cycleFields(link_))
{
    layOut(true);
}

bool ModbusPlate::refuse(std::string why)
{
    error_ = std::move(why);
    return false;
}

// The plate may have been switched off meanwhile: its watchdog time no longer counts as set.
bool ModbusPlate::lineFailed()
{
    if (!line_.lastException())
        armed_ = false;
    return refuse(line_.error());
}

bool ModbusPlate::openLine(double timeoutS)
{
    armed_ = false;
    const bool opened = line_.open(timeoutS, responseTimeoutS_);
    lastOpeningS_ = monotonicS();
    return opened || refuse(line_.error());
}

// A line that was lost is opened again at once, then at most once in a response timeout, so that a dead plate
// costs a control cycle no more than a silent one does.
bool ModbusPlate::lineOpen()
{
    if (line_.isOpen())
        return true;
    return monotonicS() - lastOpeningS_ >= responseTimeoutS_ && openLine(responseTimeoutS_);
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
    armed_ = !link_.watchdogS ||
             writeValue("watchdog time", *link_.watchdogS, link_.watchdogSeconds, Urgency::Normal);
    return armed_;
}

void ModbusPlate::layOut(bool bridgeGaps)
{
    const std::vector<ReadBlock> plan = planReadBlocks(fields_, bridgeGaps, longestGap(link_));
    const std::vector<RegisterField> written = writtenFields(link_);
    blocks_.clear();
    for (const ReadBlock& block : plan)
        blocks_.push_back({block, std::vector<std::uint16_t>(static_cast<size_t>(block.count))});
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
    for (lastRead_ = 0; lastRead_ < blocks_.size(); ++lastRead_)
        if (!line_.read(blocks_[lastRead_], blocks_[lastRead_].words.data()))
            return lineFailed();
    lastRead_ = 0;
    error_.clear();
    return true;
}

const std::uint16_t* ModbusPlate::wordsAt(const RegisterField& field) const
{
    const auto holds = [&](const Block& block) {
        return block.unit == *field.unit && block.table == field.table && block.start <= field.address &&
               field.address + wordsOf(field) <= block.start + block.count;
    };
    const auto block = std::find_if(blocks_.begin(), blocks_.end(), holds);
    return &block->words[static_cast<size_t>(field.address - block->start)];
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

std::optional<PlateReading> ModbusPlate::read()
{
    if (!ready() || !readBlocks())
        return {};
    const auto raw = [&](const RegisterField& field) {
        return static_cast<std::int64_t>(decodeRaw(wordsAt(field), field.type, field.order));
    };
    const auto finite = [&](const std::optional<RegisterField>& field) {
        const double found = field ? decodeValue(wordsAt(*field), *field) : std::nan("");
        return std::isfinite(found) ? std::optional(found) : std::nullopt;
    };

    PlateReading reading;
    const std::int64_t status = link_.status ? raw(*link_.status) : 0;
    reading.watchdogTripped = (status & link_.watchdogTrippedMask) != 0;
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

    if (line_.othersTalk())
        error_ = "bytes nobody asked for keep coming: another master seems to talk on this line";
    if (link_.duty && !reading.watchdogTripped) // a plate that cuts its heater may clear these itself
        noteForeign(*link_.duty, duty_, "duty", reading);
    if (link_.setpoint && !reading.watchdogTripped)
        noteForeign(*link_.setpoint, setpoint_, "set-point", reading);
    return reading;
}

// An acknowledged write may still not have been done, so the register is read back and compared as it stands.
bool ModbusPlate::writeChecked(const RegisterField& field, const std::uint16_t* words, Urgency urgency)
{
    const ReadBlock place = blockOf(field);
    std::uint16_t found[2] = {};
    if (!line_.write(place, words, urgency) || !line_.read(place, found))
        return lineFailed();
    if (!std::equal(words, words + place.count, found))
        return refuse("wrote " + plain(decodeValue(words, field)) + " to " +
                      (place.unit == link_.unit ? inWords(place) : inWordsWithUnit(place)) + ", read back " +
                      plain(decodeValue(found, field)));
    error_.clear();
    return true;
}

bool ModbusPlate::writeValue(const char* what, const RegisterField& field, double value, Urgency urgency)
{
    std::uint16_t words[2] = {};
    if (!encodeValue(value, field, words))
        return refuse(std::string(what) + " " + plain(value) + " does not fit its register");
    return writeChecked(field, words, urgency);
}

bool ModbusPlate::writeDriven(const char* what, const RegisterField& field, double value,
                              Confirmed& confirmed, Urgency urgency)
{
    confirmed.known = false;
    if (!writeValue(what, field, value, urgency))
        return false;
    confirmed.known = encodeValue(value, field, confirmed.words);
    return true;
}

bool ModbusPlate::writeSwitch(const std::optional<RegisterField>& field, bool on, Urgency urgency)
{
    if (!field) {
        error_.clear();
        return true;
    }
    const std::uint16_t word = on ? 1 : 0;
    const bool off = urgency == Urgency::EvenIfNotSilent;
    return (off ? lineOpen() : ready()) && writeChecked(*field, &word, urgency);
}

// The output is on for whole control periods, so often that the mean is the duty: what a period gave too much
// or too little is made up for in the next ones.
bool ModbusPlate::switchDuty(double duty, Urgency urgency)
{
    owedDuty_ = duty == 0 ? 0 : owedDuty_ + duty; // what was off on purpose is never made up for
    const double given = owedDuty_ >= 0.5 ? 1 : 0;
    const bool done = writeDriven("duty", *link_.duty, given, duty_, urgency);
    // Where nobody knows what it does it may heat, and counts as on.
    owedDuty_ = std::clamp(owedDuty_ - (done ? given : 1), -1.0, 1.0);
    return done;
}

bool ModbusPlate::writeDuty(double duty, Urgency urgency)
{
    if (link_.duty->table == RegisterTable::Coil)
        return switchDuty(duty, urgency);
    return writeDriven("duty", *link_.duty, duty, duty_, urgency);
}

bool ModbusPlate::dutyOff()
{
    return lineOpen() && writeDuty(0, Urgency::EvenIfNotSilent);
}

bool ModbusPlate::floorSetpoint()
{
    return lineOpen() && writeDriven("set-point", *link_.setpoint, link_.setpointFloorC, setpoint_,
                                     Urgency::EvenIfNotSilent);
}

bool ModbusPlate::setDuty(double duty)
{
    if (link_.drive != DriveKind::Duty)
        return refuse("this plate is driven by its set-point, not by duty");
    if (duty == 0)
        return dutyOff();
    if (!(duty > 0 && duty <= 1)) {
        const bool zeroed = dutyOff();
        return refuse("duty " + plain(duty) + " refused, it must be from 0 to 1; " +
                      (zeroed ? "0 written instead" : "writing 0 instead failed: " + error_));
    }
    return ready() && writeDuty(duty, Urgency::Normal);
}

bool ModbusPlate::setSetpointC(double setpointC)
{
    if (link_.drive != DriveKind::Setpoint)
        return refuse("this plate is driven by duty, it takes no set-point");
    if (!(setpointC >= link_.setpointFloorC && setpointC <= link_.sensorMaxC)) {
        const bool floored = floorSetpoint();
        return refuse("set-point " + plain(setpointC) +
                      " refused, it must be from the floor to the highest reading; " +
                      (floored ? "the floor written instead" : "writing the floor failed: " + error_));
    }
    return ready() && writeDriven("set-point", *link_.setpoint, setpointC, setpoint_, Urgency::Normal);
}

bool ModbusPlate::setEnable(bool on)
{
    return writeSwitch(link_.enable, on, on ? Urgency::Normal : Urgency::EvenIfNotSilent);
}

bool ModbusPlate::hasSetpointToFloor() const
{
    return link_.drive == DriveKind::Setpoint ||
           (link_.setpoint && link_.setpoint->table == RegisterTable::Holding);
}

bool ModbusPlate::heaterOff()
{
    bool allOff = true;
    std::string why;
    const auto tried = [&](bool off) {
        if (!off && allOff)
            why = error_;
        allOff = allOff && off;
    };
    if (link_.drive == DriveKind::Duty)
        tried(dutyOff());
    if (hasSetpointToFloor())
        tried(floorSetpoint());
    if (link_.enable)
        tried(setEnable(false));
    error_ = why;
    return allOff;
}

bool ModbusPlate::setFan(bool on)
{
    return writeSwitch(link_.fan, on, Urgency::Normal);
}

bool ModbusPlate::setStripLifted(bool lifted)
{
    return writeSwitch(link_.stripLifted, lifted, Urgency::Normal);
}

} // namespace stripwright
