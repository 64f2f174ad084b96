#pragma once

#include "interlocks/finding.h"
#include "interlocks/observation.h"

namespace stripwright {

/// The plate answers but does not do as told: two commands in a row were answered and not done, or none was
/// read back equal for 1.0 s of wall time under heat; or it was silent and then stands at no heat, as one
/// does that has restarted; or somebody else changed its heat three times in 10 s.
class CommandNotConfirmed {
public:
    Finding examine(const Observation& seen);

private:
    std::array<std::optional<double>, 3> foreignS_; // newest first
    Persistence unconfirmed_;
    int cycles_ = 0;
    int refusals_ = 0; // in a row
    int unanswered_ = 0;
    std::optional<double> lastAnswerS_, silentS_; // the silence that ended last
};

} // namespace stripwright
