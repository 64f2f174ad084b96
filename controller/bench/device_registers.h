#pragma once

#include "bench/plate_map.h"

#include <cstdint>

namespace stripwright {

/// The registers of the devices that a simulated plate consists of, by its map. Reads show the plate as it
/// is; writes act on it. Returns are Modbus exception codes, 0 for none.
class DeviceRegisters {
public:
    DeviceRegisters(SimulatedPlate& plate, const PlateMap& map);

    bool serves(int unit) const;
    std::vector<int> units() const;
    /// A gap between two quantities of one device and table reads 0, unless the map refuses gaps.
    int read(int unit, RegisterTable table, int address, int count, std::uint16_t* words) const;
    /// All or nothing. Half of a value that takes two registers cannot be written.
    int write(int unit, RegisterTable table, int address, int count, const std::uint16_t* words);
    /// Duty, or set-point, as this write would have it; none: it writes neither.
    std::optional<double> drivenBy(int unit, RegisterTable table, int address, int count,
                                   const std::uint16_t* words) const;
    /// Requests to this unit keep the plate's watchdog from running out.
    bool feedsWatchdog(int unit) const;

private:
    struct Block {
        int unit;
        RegisterTable table;
        int first, end;
    };

    int unitOf(const RegisterField& field) const;
    const PlacedQuantity* writableAt(int unit, RegisterTable table, int address) const;
    bool accepts(const PlacedQuantity& placed, const std::uint16_t* words) const;
    void carryOut(const PlacedQuantity& placed, const std::uint16_t* words);
    void show(const PlacedQuantity& placed, const PlateReading& reading, std::uint16_t* words) const;

    SimulatedPlate& plate_;
    const PlateLink link_;
    const bool gapsRefused_;
    std::vector<PlacedQuantity> quantities_;
    std::vector<Block> blocks_;
};

} // namespace stripwright
