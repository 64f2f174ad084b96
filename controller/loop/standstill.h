#pragma once

#include <algorithm>

namespace stripwright {

/// How long another thread has stood still, seen from cycle to cycle. A thread that has not begun to beat is
/// not watched.
class Standstill {
public:
    /// `beat` changes whenever that thread has come round. A cycle that came late counts little: whatever
    /// held up this thread held up the other too.
    double silentS(unsigned beat, double stepS)
    {
        silentS_ = beat == 0 || beat != last_ ? 0 : silentS_ + std::min(stepS, 0.5);
        last_ = beat;
        return silentS_;
    }

private:
    unsigned last_ = 0;
    double silentS_ = 0;
};

} // namespace stripwright
