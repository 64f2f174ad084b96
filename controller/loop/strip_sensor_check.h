#pragma once

#include <optional>

namespace stripwright {

/// Whether the thermocouple on the strip can be believed.
///
/// It is not when its reading is missing for 2 s, when it jumps by more than 5 K within a second (it then has
/// to be steady for 5 s), or when it has fallen off. Fallen off is a reading that cools for 5 s while the
/// plate warms, or one that had agreed with the strip and now is far below even the poorest planned contact.
/// A reading that is poor from the start may be a strip that does not lie on the plate: that is for the seat
/// watch.
class StripSensorCheck {
public:
    enum class News { None, Lost, Jumped, FellOff, Back };

    struct Expected {
        double plateC = 0;
        double lowC = 0, highC = 0; ///< The joint at the plan's low and high contact.
        bool agreed = false;        ///< The reading had told what the contact is.
    };

    /// Once a cycle. News of a distrust, or of its end, is given once.
    News advance(double dtS, std::optional<double> stripC, const Expected& expected);

    bool trusted() const { return state_ == State::Trusted; }
    /// The reading to use in this cycle; none while it is not believed, and for a single spike.
    std::optional<double> usableC() const { return usableC_; }

private:
    enum class State { Never, Trusted, Unsteady, Missing, Off };
    struct Mark {
        double stripC = 0, plateC = 0, ageS = -1; // younger than 0: not set
    };

    bool jumped(double stripC);
    bool coolsOnAWarmingPlate(double stripC, double plateC);

    State state_ = State::Never;
    std::optional<double> usableC_;
    bool spike_ = false;
    double lastC_ = 0, missingS_ = 0, steadyS_ = 0, farBelowS_ = 0, plausibleS_ = 0;
    Mark second_, fiveSeconds_;
};

} // namespace stripwright
