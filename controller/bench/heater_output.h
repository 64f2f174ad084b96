#pragma once

namespace stripwright {

/// What stands between the duty that is asked for and the heater: an output that can only be on or off.
///
/// With a window, time proportioning: at the beginning of each window its share is settled, and the output is
/// on for that share of it, first on, then off. With a least time, a relay that stays at least so long on and
/// off; what it gave too much or too little is made up for. Of a duty of 0 or 1 it waits for nothing else.
class HeaterOutput {
public:
    HeaterOutput(double windowS, double leastS) : windowS_(windowS), leastS_(leastS) {} ///< 0: none.

    /// Mean over the next dtS, 0 to 1.
    double give(double asked, double dtS);
    /// Its supply is taken: off at once.
    void cut();

private:
    bool wants(double asked);
    void beginWindow(double asked);
    double untilChangeS() const;

    double windowS_, leastS_;
    bool on_ = false, began_ = false; // windows follow each other from the first heat on
    double stoodS_ = 1e9;             // as it is now
    double owedS_ = 0;                // what was asked for less what was given
    double intoWindowS_ = 0, onForS_ = 0;
};

} // namespace stripwright
