#include "bench/device_registers.h"

#include "link/register_codec.h"

#include <algorithm>
#include <cmath>

namespace stripwright {

constexpr int illegalAddress = 2, illegalValue = 3;

DeviceRegisters::DeviceRegisters(SimulatedPlate& plate, const PlateMap& map)
    : plate_(plate), link_(linkTo(map, plate)), gapsRefused_(map.gapsRefused),
      quantities_(quantitiesOf(link_))
{
    if (map.ownRamp)
        quantities_.push_back({Quantity::OwnRamp, *map.ownRamp});
    for (const PlacedQuantity& placed : quantities_) {
        const RegisterField& field = placed.field;
        const int end = field.address + wordsOf(field);
        const auto block = std::find_if(blocks_.begin(), blocks_.end(), [&](const Block& one) {
            return one.unit == unitOf(field) && one.table == field.table &&
                   (!gapsRefused_ || (field.address <= one.end && end >= one.first));
        });
        if (block == blocks_.end()) {
            blocks_.push_back({unitOf(field), field.table, field.address, end});
        } else {
            block->first = std::min(block->first, field.address);
            block->end = std::max(block->end, end);
        }
    }
}

int DeviceRegisters::unitOf(const RegisterField& field) const
{
    return field.unit.value_or(link_.unit);
}

bool DeviceRegisters::serves(int unit) const
{
    return std::any_of(blocks_.begin(), blocks_.end(), [&](const Block& one) { return one.unit == unit; });
}

std::vector<int> DeviceRegisters::units() const
{
    std::vector<int> all;
    for (const Block& block : blocks_)
        if (std::find(all.begin(), all.end(), block.unit) == all.end())
            all.push_back(block.unit);
    return all;
}

bool DeviceRegisters::feedsWatchdog(int unit) const
{
    return !link_.watchdogS || unitOf(*link_.watchdogS) == unit;
}

static bool isBit(RegisterTable table)
{
    return table == RegisterTable::Coil || table == RegisterTable::Discrete;
}

void DeviceRegisters::show(const PlacedQuantity& placed, const PlateReading& reading,
                           std::uint16_t* words) const
{
    const RegisterField& field = placed.field;
    const auto put = [&](double value) { encodeValue(value, field, words); };
    const auto putReading = [&](bool there, double valueC) {
        if (!there || !encodeValue(valueC, field, words))
            encodeRaw(static_cast<double>(link_.noSensorRaw.front()), field.type, field.order, words);
    };
    switch (placed.quantity) {
    case Quantity::Sensor:
        return putReading(!reading.sensorFault, reading.sensorC);
    case Quantity::StripSensor:
        return putReading(reading.stripC.has_value(), reading.stripC.value_or(0));
    case Quantity::Duty:
        return put(isBit(field.table) ? plate_.dutyCommand() > 0 : reading.duty.value_or(0));
    case Quantity::Setpoint:
        return put(plate_.setpointC());
    case Quantity::Status:
        return put((reading.sensorFault ? link_.sensorFaultMask : 0) |
                   (reading.watchdogTripped ? link_.watchdogTrippedMask : 0));
    case Quantity::Counter:
        return put(reading.counter.value_or(0));
    case Quantity::Watchdog:
        return put(plate_.watchdogSeconds());
    case Quantity::Enable:
        return put(plate_.enabled());
    case Quantity::Fan:
        return put(plate_.fanOn());
    case Quantity::StripLifted:
        return put(plate_.stripLifted());
    case Quantity::OwnRamp:
        return put(plate_.ownRampCPerS());
    case Quantity::Channel:
        return put(reading.extraC[static_cast<size_t>(placed.channel)]);
    }
}

int DeviceRegisters::read(int unit, RegisterTable table, int address, int count, std::uint16_t* words) const
{
    const int end = address + count;
    const bool there = std::any_of(blocks_.begin(), blocks_.end(), [&](const Block& one) {
        return one.unit == unit && one.table == table && address >= one.first && end <= one.end;
    });
    if (!there)
        return illegalAddress;
    std::fill_n(words, count, std::uint16_t{0});
    const PlateReading reading = plate_.shown();
    for (const PlacedQuantity& placed : quantities_) {
        if (unitOf(placed.field) != unit || placed.field.table != table)
            continue;
        std::uint16_t own[2] = {};
        show(placed, reading, own);
        for (int i = 0; i < wordsOf(placed.field); ++i)
            if (const int at = placed.field.address + i; at >= address && at < end)
                words[at - address] = own[i];
    }
    return 0;
}

const PlacedQuantity* DeviceRegisters::writableAt(int unit, RegisterTable table, int address) const
{
    const auto isWritten = [&](Quantity quantity) {
        switch (quantity) {
        case Quantity::Duty:
            return plate_.drive() == DriveKind::Duty;
        case Quantity::Setpoint:
        case Quantity::Watchdog:
        case Quantity::Enable:
        case Quantity::Fan:
        case Quantity::StripLifted:
        case Quantity::OwnRamp:
            return true;
        default:
            return false;
        }
    };
    const auto found =
        std::find_if(quantities_.begin(), quantities_.end(), [&](const PlacedQuantity& placed) {
            return unitOf(placed.field) == unit && placed.field.table == table &&
                   placed.field.address == address && isWritten(placed.quantity);
        });
    return found == quantities_.end() ? nullptr : &*found;
}

bool DeviceRegisters::accepts(const PlacedQuantity& placed, const std::uint16_t* words) const
{
    const double value = decodeValue(words, placed.field);
    switch (placed.quantity) {
    case Quantity::Duty:
        return value >= 0 && value <= 1;
    case Quantity::Setpoint:
        return value >= SimulatedPlate::setpointFloorC && value <= SimulatedPlate::setpointMaxC;
    case Quantity::Watchdog:
        return value >= SimulatedPlate::watchdogMinS && value <= SimulatedPlate::watchdogMaxS;
    case Quantity::OwnRamp:
        return value >= 0 && value <= SimulatedPlate::ownRampMaxCPerS;
    default:
        return value == 0 || value == 1;
    }
}

void DeviceRegisters::carryOut(const PlacedQuantity& placed, const std::uint16_t* words)
{
    const double value = decodeValue(words, placed.field);
    switch (placed.quantity) {
    case Quantity::Duty:
        plate_.setDuty(value);
        break;
    case Quantity::Setpoint:
        plate_.setSetpointC(value);
        break;
    case Quantity::Watchdog:
        plate_.setWatchdogSeconds(value);
        break;
    case Quantity::Enable:
        plate_.setEnable(value != 0);
        break;
    case Quantity::Fan:
        plate_.setFan(value != 0);
        break;
    case Quantity::StripLifted:
        plate_.setStripLifted(value != 0);
        break;
    case Quantity::OwnRamp:
        plate_.setOwnRampCPerS(value);
        break;
    default:
        break;
    }
}

std::optional<double> DeviceRegisters::drivenBy(int unit, RegisterTable table, int address, int count,
                                                const std::uint16_t* words) const
{
    const Quantity driven = plate_.drive() == DriveKind::Duty ? Quantity::Duty : Quantity::Setpoint;
    for (const PlacedQuantity& placed : quantities_)
        if (placed.quantity == driven && unitOf(placed.field) == unit && placed.field.table == table &&
            placed.field.address >= address &&
            placed.field.address + wordsOf(placed.field) <= address + count)
            return decodeValue(words + (placed.field.address - address), placed.field);
    return {};
}

int DeviceRegisters::write(int unit, RegisterTable table, int address, int count, const std::uint16_t* words)
{
    const int end = address + count;
    for (int at = address; at < end;) {
        const PlacedQuantity* placed = writableAt(unit, table, at);
        if (!placed || at + wordsOf(placed->field) > end)
            return illegalAddress;
        at += wordsOf(placed->field);
    }
    for (const bool check : {true, false})
        for (int at = address; at < end;) {
            const PlacedQuantity& placed = *writableAt(unit, table, at);
            const std::uint16_t* own = words + (at - address);
            if (check && !accepts(placed, own))
                return illegalValue;
            if (!check)
                carryOut(placed, own);
            at += wordsOf(placed.field);
        }
    return 0;
}

} // namespace stripwright
