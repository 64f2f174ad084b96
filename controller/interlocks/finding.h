#pragma once

#include <array>
#include <optional>

namespace stripwright {

enum class Interlock {
    None,
    CannotJudge,  ///< Too few readings come to compare the plate with its model. Warns only.
    FallsTooFast, ///< The reading falls as no plate cools. Warns only.
    HeatBalance,  ///< The plate gets less than it is given: a weak supply, a draught. Warns only.
    WatchdogTripped,
    NoRise,
    StaleReading,
    CommandNotConfirmed,
    LinkLost,
    SensorFault,
    Excursion,
    UnexpectedHeat,
    OverTemperature,
};
constexpr int interlockCount = 13;

enum class Action { None, Warn, HeaterOff }; ///< Later entries win.
enum class Clears { WhenCauseEnds, AfterOperatorReset };

/// What a check says in one cycle. Fixed size: the control thread does not allocate.
struct Finding {
    Interlock interlock = Interlock::None;
    Action action = Action::None;
    Clears clears = Clears::WhenCauseEnds;
    std::array<char, 200> text{}; ///< Cause, figure, limit, what to look at.
};

/// A finding that turns the heater off and stays until the operator resets it.
[[gnu::format(printf, 2, 3)]] Finding heaterOff(Interlock interlock, const char* format, ...);
/// A finding that only warns, and ends with its cause.
[[gnu::format(printf, 2, 3)]] Finding warning(Interlock interlock, const char* format, ...);

/// True once a condition has held without a break for this long. A cycle that knows nothing (none) is neither
/// a yes nor a no: the time goes on, and only a yes can end it. After more than longestGapS without either,
/// or two and a half times as long as the cycle before took, it begins anew.
class Persistence {
public:
    static constexpr double longestGapS = 3;

    bool held(std::optional<bool> condition, double nowS, double forS);

private:
    bool on_ = false;
    double sinceS_ = 0, knownS_ = 0, askedS_ = 0, cycleS_ = 0;
    bool asked_ = false;
};

} // namespace stripwright
