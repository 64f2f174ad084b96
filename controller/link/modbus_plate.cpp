#include "link/modbus_line.h"
#include "link/read_blocks.h"
#include "link/register_codec.h"

#include <algorithm>
#include <chrono>
#include <cmath>
#include <cstdio>

namespace stripwright {

namespace {

class ModbusPlate final : public Plate {
public:
    ModbusPlate(const PlateLink& link, double connectTimeoutS, double responseTimeoutS);

    std::optional<PlateReading> read() override;
    bool setDuty(double duty) override;
    bool setSetpointC(double setpointC) override;
    bool heaterOff() override;
    bool setFan(bool on) override;
    bool setStripLifted(bool lifted) override;
    std::string lastError() const override { return error_; }

private:
    struct Block : ReadBlock {
        std::vector<std::uint16_t> words;
    };

    bool ready();
    bool armWatchdog();
    void layOut(bool bridgeGaps);
    bool readBlocks();
    const std::uint16_t* wordsAt(const RegisterField& field) const;
    bool writeChecked(const RegisterField& field, const std::uint16_t* words);
    bool writeValue(const char* what, const RegisterField& field, double value);
    bool writeSwitch(const std::optional<RegisterField>& field, bool on);
    bool refuse(std::string why);

    PlateLink link_;
    ModbusLine line_;
    double responseTimeoutS_;
    std::vector<RegisterField> fields_; // read every cycle
    std::vector<Block> blocks_;
    std::chrono::steady_clock::time_point lastOpening_;
    std::string error_;
};

std::string plain(double value)
{
    char text[32];
    std::snprintf(text, sizeof text, "%.6g", value);
    return text;
}

std::string place(const PlateLink& link)
{
    return "\"" + link.name + "\" at " + link.host + " port " + std::to_string(link.port);
}

ModbusPlate::ModbusPlate(const PlateLink& link, double connectTimeoutS, double responseTimeoutS)
    : link_(link), line_(link.host, link.port, link.unit, connectTimeoutS),
      responseTimeoutS_(responseTimeoutS)
{
    fields_.push_back(link_.sensor);
    for (const auto* field : {&link_.duty, &link_.setpoint, &link_.status, &link_.counter})
        if (*field)
            fields_.push_back(**field);
    for (const ExtraChannel& channel : link_.channels)
        fields_.push_back(channel.field);

    lastOpening_ = std::chrono::steady_clock::now();
    if (!line_.open(connectTimeoutS, responseTimeoutS))
        throw LinkError(
            "plate " + place(link_) + " cannot be reached: " + line_.error() +
            ". Check that the plate is switched on, that its network cable is in, and that host and "
            "port in the plate link file are the plate's");
    layOut(true);
    if (!readBlocks() && line_.lastWasException()) {
        layOut(false); // some devices refuse a request that touches an address they do not have
        readBlocks();
    }
    if (!error_.empty())
        throw LinkError("plate " + place(link_) + " is connected but cannot be read: " + error_ +
                        (line_.lastWasException()
                             ? ". Check the addresses in the plate link file"
                             : ". Check that this is the plate, and the unit number in the "
                               "plate link file, now " +
                                   std::to_string(link_.unit)));
    if (!armWatchdog())
        throw LinkError(
            "plate " + place(link_) + " did not take its watchdog time of " + plain(link_.watchdogSeconds) +
            " s: " + error_ +
            ". Without it the plate would heat on when the line breaks. Check \"watchdog_s\" under "
            "\"registers\" in the plate link file, and that the plate is not in local mode");
}

bool ModbusPlate::refuse(std::string why)
{
    error_ = std::move(why);
    return false;
}

// A line that was lost is opened again at once, then at most once in a response timeout, so that a dead plate
// costs a control cycle no more than a silent one does. The plate may have been switched off meanwhile: the
// watchdog is set anew.
bool ModbusPlate::ready()
{
    if (line_.isOpen())
        return true;
    const auto now = std::chrono::steady_clock::now();
    if (now - lastOpening_ < std::chrono::duration<double>(responseTimeoutS_))
        return false;
    const bool opened = line_.open(responseTimeoutS_, responseTimeoutS_);
    lastOpening_ = std::chrono::steady_clock::now();
    if (!opened)
        return refuse(line_.error());
    if (!armWatchdog()) {
        line_.close();
        return false;
    }
    return true;
}

bool ModbusPlate::armWatchdog()
{
    return !link_.watchdogS || writeValue("watchdog time", *link_.watchdogS, link_.watchdogSeconds);
}

void ModbusPlate::layOut(bool bridgeGaps)
{
    blocks_.clear();
    for (const ReadBlock& block : planReadBlocks(fields_, bridgeGaps))
        blocks_.push_back({block, std::vector<std::uint16_t>(static_cast<size_t>(block.count))});
}

bool ModbusPlate::readBlocks()
{
    for (Block& block : blocks_)
        if (!line_.read(block.table, block.start, block.count, block.words.data()))
            return refuse(line_.error());
    error_.clear();
    return true;
}

const std::uint16_t* ModbusPlate::wordsAt(const RegisterField& field) const
{
    const auto holds = [&](const Block& block) {
        return block.table == field.table && block.start <= field.address &&
               field.address + wordsOf(field) <= block.start + block.count;
    };
    const auto block = std::find_if(blocks_.begin(), blocks_.end(), holds);
    return &block->words[static_cast<size_t>(field.address - block->start)];
}

std::optional<PlateReading> ModbusPlate::read()
{
    if (!ready() || !readBlocks())
        return {};
    const auto raw = [&](const RegisterField& field) {
        return decodeRaw(wordsAt(field), field.type, field.order);
    };
    const auto value = [&](const RegisterField& field) { return decodeValue(wordsAt(field), field); };

    PlateReading reading;
    const auto status = link_.status ? static_cast<std::int64_t>(raw(*link_.status)) : 0;
    reading.watchdogTripped = (status & link_.watchdogTrippedMask) != 0;

    const double sensorRaw = raw(link_.sensor), sensorC = value(link_.sensor);
    const bool noSensor = std::any_of(link_.noSensorRaw.begin(), link_.noSensorRaw.end(),
                                      [&](long none) { return sensorRaw == static_cast<double>(none); });
    reading.sensorFault = noSensor || (status & link_.sensorFaultMask) != 0 || !std::isfinite(sensorC) ||
                          sensorC < link_.sensorMinC || sensorC > link_.sensorMaxC;
    if (!reading.sensorFault)
        reading.sensorC = sensorC;

    const auto finite = [&](const std::optional<RegisterField>& field) {
        const double found = field ? value(*field) : std::nan("");
        return std::isfinite(found) ? std::optional(found) : std::nullopt;
    };
    reading.duty = finite(link_.duty);
    reading.setpointC = finite(link_.setpoint);
    if (link_.counter)
        reading.counter = static_cast<unsigned>(static_cast<std::int64_t>(raw(*link_.counter)));
    for (const ExtraChannel& channel : link_.channels)
        reading.extraC[static_cast<size_t>(reading.extraCount++)] = value(channel.field);
    return reading;
}

// An acknowledged write may still not have been done, so the register is read back and compared as it stands.
bool ModbusPlate::writeChecked(const RegisterField& field, const std::uint16_t* words)
{
    const int count = wordsOf(field);
    std::uint16_t found[2] = {};
    if (!line_.write(field.table, field.address, count, words) ||
        !line_.read(field.table, field.address, count, found))
        return refuse(line_.error());
    if (!std::equal(words, words + count, found))
        return refuse("wrote " + plain(decodeValue(words, field)) + " to " +
                      inWords(field.table, field.address, count) + ", read back " +
                      plain(decodeValue(found, field)));
    error_.clear();
    return true;
}

bool ModbusPlate::writeValue(const char* what, const RegisterField& field, double value)
{
    std::uint16_t words[2] = {};
    if (!encodeValue(value, field, words))
        return refuse(std::string(what) + " " + plain(value) + " does not fit its register");
    return writeChecked(field, words);
}

bool ModbusPlate::writeSwitch(const std::optional<RegisterField>& field, bool on)
{
    if (!field) {
        error_.clear();
        return true;
    }
    const std::uint16_t word = on ? 1 : 0;
    return ready() && writeChecked(*field, &word);
}

bool ModbusPlate::setDuty(double duty)
{
    if (!ready())
        return false;
    if (link_.drive != DriveKind::Duty)
        return refuse("this plate is driven by its set-point, not by duty");
    if (!(duty >= 0 && duty <= 1)) {
        const bool zeroed = writeValue("duty", *link_.duty, 0);
        return refuse("duty " + plain(duty) + " refused, it must be from 0 to 1; " +
                      (zeroed ? "0 written instead" : "writing 0 instead failed: " + error_));
    }
    return writeValue("duty", *link_.duty, duty);
}

bool ModbusPlate::setSetpointC(double setpointC)
{
    if (!ready())
        return false;
    if (link_.drive != DriveKind::Setpoint)
        return refuse("this plate is driven by duty, it takes no set-point");
    if (!(setpointC >= link_.setpointFloorC && setpointC <= link_.sensorMaxC)) {
        const bool floored = writeValue("set-point", *link_.setpoint, link_.setpointFloorC);
        return refuse("set-point " + plain(setpointC) +
                      " refused, it must be from the floor to the highest " + "reading; " +
                      (floored ? "the floor written instead" : "writing the floor failed: " + error_));
    }
    return writeValue("set-point", *link_.setpoint, setpointC);
}

bool ModbusPlate::heaterOff()
{
    if (!ready())
        return false;
    if (link_.drive == DriveKind::Setpoint)
        return writeValue("set-point", *link_.setpoint, link_.setpointFloorC);
    const bool off = writeValue("duty", *link_.duty, 0);
    if (!link_.setpoint || link_.setpoint->table != RegisterTable::Holding)
        return off;
    const std::string why = error_;
    const bool floored = ready() && writeValue("set-point", *link_.setpoint, link_.setpointFloorC);
    if (!off)
        error_ = why;
    return off && floored;
}

bool ModbusPlate::setFan(bool on)
{
    return writeSwitch(link_.fan, on);
}

bool ModbusPlate::setStripLifted(bool lifted)
{
    return writeSwitch(link_.stripLifted, lifted);
}

} // namespace

std::unique_ptr<Plate> openPlate(const PlateLink& link, double connectTimeoutS, double responseTimeoutS)
{
    return std::make_unique<ModbusPlate>(link, connectTimeoutS, responseTimeoutS);
}

} // namespace stripwright
