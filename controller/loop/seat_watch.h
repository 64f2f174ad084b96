#pragma once

#include "loop/joint_estimate.h"

namespace stripwright {

/// Notices, by a thermocouple on the strip, a strip that does not lie on the plate, and when it does again.
///
/// Without a thermocouple nothing can be seen: a strip draws a few percent of what the plate takes, less than
/// the plate's own losses are known to. Then, and while the thermocouple is not believed, the verdict stays
/// as it was.
class SeatWatch {
public:
    enum class Verdict { Go, NotSeated };

    /// Once a cycle while the verdict counts, that is in preheat, after the estimate's own advance. `plateC`
    /// as there.
    Verdict advance(double dtS, double plateC, const JointEstimate& joints);

    Verdict verdict() const { return verdict_; }
    const char* text() const { return text_.data(); } ///< Of the last NotSeated, with its numbers.

private:
    Verdict verdict_ = Verdict::Go;
    double forS_ = 0;
    std::optional<double> firstPlateC_;
    std::array<char, 240> text_{};
};

} // namespace stripwright
