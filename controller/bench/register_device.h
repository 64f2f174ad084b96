#pragma once

#include "bench/device_registers.h"

#include <span>

namespace stripwright {

/// What goes back for one request, whatever line it came over.
struct Answer {
    int unit = 0;
    std::vector<std::uint8_t> pdu;  ///< Function code first.
    std::vector<std::uint8_t> junk; ///< Bytes of no frame that go out before it.
    double lateS = 0;               ///< It goes out this much later than it could.
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
    std::vector<TimedFault> lateAnswers_; // still to come
};

} // namespace stripwright
