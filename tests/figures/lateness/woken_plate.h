#pragma once

#include "reference_plate.h"

#include <vector>

namespace stripwright {

/// The reference plate, which costs a cycle nothing and keeps when the control thread came to read it.
class WokenPlate final : public ReferencePlate {
public:
    WokenPlate(double plantPeriodS, size_t mostReads);

    std::optional<PlateReading> read() override;

    bool hadPriority() const { return hadPriority_; }           ///< The reader ran with real-time priority.
    const std::vector<double>& readS() const { return readS_; } ///< Monotonic clock.

private:
    double plantPeriodS_;
    std::vector<double> readS_;
    bool hadPriority_ = false;
};

/// How much later than its deadline each cycle began, of one that starts a period after the one before, or at
/// once when that has been missed as well. The deadlines' phase is not known: the promptest cycle counts as
/// punctual.
std::vector<double> latenessS(const std::vector<double>& beganS, double periodS);

} // namespace stripwright
