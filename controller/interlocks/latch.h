#pragma once

#include "interlocks/finding.h"

namespace stripwright {

/// Remembers what turned the heat off. The first cause is kept whatever follows; nothing but the operator's
/// reset clears it, and that only once no cause is seen any more.
class Latch {
public:
    void take(const Finding& finding); ///< Warnings are not latched.
    void endCycle();                   ///< After every finding of a cycle was taken.

    bool tripped() const { return first_.action == Action::HeaterOff; }
    const Finding& firstOut() const { return first_; }      ///< The first cause; the strongest of its cycle.
    const Finding& strongest() const { return strongest_; } ///< Of all since the last reset.
    bool reset(); ///< False, and nothing changed, while a cause is seen.

private:
    Finding first_, strongest_;
    bool firstCycleOver_ = false;
    bool causeSeen_ = false, causeSeenLastCycle_ = false;
};

} // namespace stripwright
