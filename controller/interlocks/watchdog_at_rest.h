#pragma once

#include "link/plate.h"

namespace stripwright {

/// What the plate's watchdog bit says before a heat. One that is set is cleared where the link says how,
/// once, and must then be read clear within 3 s: else heat is refused. One that nothing clears stands, and is
/// judged no more until it has been read clear (WatchdogTripped).
class WatchdogAtRest {
public:
    /// For every reading that comes after the heater was read back off, until there is a verdict.
    void look(Plate& plate, const PlateReading& reading, double wallS);

    bool mayHeat() const { return mayHeat_; }
    bool wasCleared() const { return askedWallS_.has_value() && mayHeat_; }
    bool stands() const { return stands_; }          ///< May heat, with the bit set.
    const char* refusal() const { return refusal_; } ///< None: there is none, by now.

private:
    bool mayHeat_ = false, stands_ = false;
    std::optional<double> askedWallS_;
    bool acknowledged_ = false;
    int readings_ = 0; // since it was asked for
    const char* refusal_ = nullptr;
};

} // namespace stripwright
