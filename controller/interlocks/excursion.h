#pragma once

#include "interlocks/finding.h"
#include "interlocks/observation.h"

namespace stripwright {

/// Reading more than 15 K above what is expected for 3 s, once the plate has been on its path.
class Excursion {
public:
    Finding examine(const Observation& seen);

private:
    bool onPath_ = false;
    Persistence above_;
};

} // namespace stripwright
