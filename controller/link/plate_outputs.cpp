#include "link/modbus_plate.h"
#include "link/modbus_words.h"
#include "link/register_codec.h"

#include <algorithm>
#include <cmath>

namespace stripwright {

static ReadBlock blockOf(const RegisterField& field)
{
    return {field.table, field.address, wordsOf(field), field.unit.value_or(1)};
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
    silent_ = false;
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
    confirmed.overTripped = tripped_;
    confirmed.written = encodeValue(value, field, confirmed.words);
    return confirmed.known = writeValue(what, field, value, urgency);
}

bool ModbusPlate::writeSwitch(const std::optional<RegisterField>& field, bool on, Urgency urgency)
{
    if (!field) {
        error_.clear();
        return true;
    }
    const std::uint16_t word = on ? 1 : 0;
    const bool off = urgency == Urgency::EvenIfNotSilent;
    return (off ? lineOpenForOff() : ready()) && writeChecked(*field, &word, urgency);
}

// Some devices keep what is written in a memory that wears: what stands already is left alone.
const PlateSetting* ModbusPlate::writeSettings()
{
    for (const PlateSetting& setting : link_.settings) {
        std::uint16_t words[2] = {}, found[2] = {};
        const ReadBlock place = blockOf(setting.field);
        const bool stands = encodeValue(setting.value, setting.field, words) && line_.read(place, found) &&
                            std::equal(words, words + place.count, found);
        if (!stands &&
            !(lineOpen() && writeValue("its value", setting.field, setting.value, Urgency::Normal)))
            return &setting;
    }
    settingsStood_ = true;
    return nullptr;
}

// On as seldom as the least time allows: half of what it then gives at once is owed before, half made up for
// afterwards.
bool ModbusPlate::switchesOn(double duty) const
{
    constexpr double half = 0.5;
    if (duty == 0)
        return false; // at once
    if (stoodPeriods_ < leastPeriods_)
        return switchedOn_;
    return owedDuty_ >= (switchedOn_ ? half : std::max(half, leastPeriods_ * (1 - duty) / 2));
}

// The output is on for whole control periods, so often that the mean is the duty: what a period gave too much
// or too little is made up for in the next ones.
bool ModbusPlate::switchDuty(double duty, Urgency urgency)
{
    owedDuty_ = duty == 0 ? 0 : owedDuty_ + duty; // what was off on purpose is never made up for
    const bool on = switchesOn(duty);
    const bool done = writeDriven("duty", *link_.duty, on ? 1 : 0, duty_, urgency);
    // Where nobody knows what it does it may heat, and counts as on.
    owedDuty_ = std::clamp(owedDuty_ - (on || !done ? 1 : 0), -1.0 * leastPeriods_, 1.0 * leastPeriods_);
    stoodPeriods_ = std::min(on == switchedOn_ ? stoodPeriods_ + 1 : 1, leastPeriods_);
    switchedOn_ = on;
    return done;
}

// Never what stands there already: a plate that acknowledges and does nothing would not show before another
// duty is asked for.
double ModbusPlate::otherThanStands(double duty) const
{
    const RegisterField& field = *link_.duty;
    std::uint16_t words[2] = {};
    const double step = field.type == RegisterType::Float32 ? 0.001 : std::abs(field.scale);
    if (!(duty > step) || !encodeValue(duty, field, words) ||
        !std::equal(words, words + wordsOf(field), wordsAt(field)))
        return duty;
    return duty - step;
}

bool ModbusPlate::writeDuty(double duty, Urgency urgency)
{
    if (isSwitched(link_))
        return switchDuty(duty, urgency);
    return writeDriven("duty", *link_.duty, otherThanStands(duty), duty_, urgency);
}

bool ModbusPlate::dutyOff()
{
    return lineOpenForOff() && writeDuty(0, Urgency::EvenIfNotSilent);
}

bool ModbusPlate::floorSetpoint()
{
    return lineOpenForOff() && writeDriven("set-point", *link_.setpoint, link_.setpointFloorC, setpoint_,
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
    heatAsked_ = true;
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
    heatAsked_ = heatAsked_ || setpointC > link_.setpointFloorC;
    return ready() && writeDriven("set-point", *link_.setpoint, setpointC, setpoint_, Urgency::Normal);
}

bool ModbusPlate::setEnable(bool on)
{
    return writeSwitch(link_.enable, on, on ? Urgency::Normal : Urgency::EvenIfNotSilent);
}

bool ModbusPlate::heaterOff()
{
    heatAsked_ = false;
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

// Many such registers read as something else than what was written: the bit itself tells.
bool ModbusPlate::clearWatchdog()
{
    if (!link_.clearWatchdog) {
        error_.clear();
        return true;
    }
    if (!ready())
        return false;
    const auto word = static_cast<std::uint16_t>(link_.clearWatchdog->value);
    if (!line_.write(blockOf(link_.clearWatchdog->field), &word, Urgency::Normal))
        return lineFailed();
    silent_ = false;
    error_.clear();
    return true;
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
