#pragma once

#include "interlocks/finding.h"
#include "interlocks/observation.h"

namespace stripwright {

/// No valid answer for 1.0 s of wall time, or three refusals in a row.
class LinkLost {
public:
    Finding examine(const Observation& seen);

private:
    bool started_ = false;
    double lastAnswerS_ = 0;
    int refusals_ = 0; // since the last valid answer
};

} // namespace stripwright
