#pragma once

#include "link/plate.h"
#include "loop/cycle_record.h"

namespace stripwright {

/// Something else tells the plate to heat after heater off was read back.
class ForeignHeat {
public:
    static bool shownBy(const PlateReading& reading);
    /// What to say of a reading that shows it; empty if another one did within 10 s.
    std::array<char, eventTextBytes> news(const PlateReading& reading, double wallS);

private:
    std::optional<double> shownWallS_;
};

} // namespace stripwright
