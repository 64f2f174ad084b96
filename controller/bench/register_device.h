#pragma once

#include "bench/device_registers.h"

#include <random>
#include <span>

namespace stripwright {

/// What goes back for one request, whatever line it came over.
struct Answer {
    int unit = 0;
    std::vector<std::uint8_t> pdu;  ///< Function code first.
    std::vector<std::uint8_t> junk; ///< Bytes of no frame that go out before it.
    double lateS = 0;               ///< It goes out this much later than it could.
    bool damaged = false;           ///< On its way; by damage(), or it is lost.
    double byteEveryS = 0;          ///< Its bytes go out one by one, this far apart.
};

/// Takes requests apart, checks and answers them, functions 1 to 6, 15 and 16. Own code, for libmodbus's
/// server is only safe for well-formed requests (its issues #614, #748), loses its own after one for another
/// unit (#83, #86) and sleeps half a second before some refusals. Faults of the line are made here.
class RegisterDevice {
public:
    RegisterDevice(SimulatedPlate& plate, const PlateMap& map);

    const PlateMap& map() const { return map_; }
    const SimulatedPlate& plate() const { return plate_; }
    bool serves(int unit) const { return registers_.serves(unit); }

    /// What the newest write of duty, or set-point, asked for, also one that a fault kept from being heard.
    std::optional<double> lastDriven() const { return lastDriven_; }

    void damage(std::vector<std::uint8_t>& frame); ///< Flips one to three of its bits.

    /// `pdu` is not empty. A unit that is not there is answered by exception 0B, as a gateway does. None: the
    /// plate is silent.
    std::optional<Answer> answer(int unit, std::span<const std::uint8_t> pdu);
    void obeyBroadcast(std::span<const std::uint8_t> pdu); ///< Writes are done on every unit, no answer.

private:
    std::vector<std::uint8_t> reply(int unit, std::span<const std::uint8_t> pdu);
    std::vector<std::uint8_t> readReply(int unit, RegisterTable table, std::span<const std::uint8_t> pdu);
    std::vector<std::uint8_t> writeReply(int unit, std::span<const std::uint8_t> pdu);
    void spoil(Answer& answer);

    SimulatedPlate& plate_;
    const PlateMap map_;
    DeviceRegisters registers_;
    void noteDriven(int unit, std::span<const std::uint8_t> pdu);

    std::optional<double> lastDriven_;
    size_t answersLate_ = 0; // of the faults that make one late
    std::mt19937 random_{1};
};

} // namespace stripwright
