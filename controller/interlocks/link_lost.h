#pragma once

#include "interlocks/finding.h"
#include "interlocks/observation.h"

namespace stripwright {

/// No valid answer for 1.0 s of wall time (three cycles on a slow line), three refusals in a row, or half of
/// the last 20 answers lost. Warns once, at a fifth of them.
class LinkLost {
public:
    Finding examine(const Observation& seen);

private:
    bool started_ = false, poorSaid_ = false;
    double lastAnswerS_ = 0;
    int refusals_ = 0; // since the last valid answer
};

} // namespace stripwright
