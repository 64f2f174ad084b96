#pragma once

#include "loop/tuning.h"
#include "tuning/plate_fit.h"

namespace stripwright {

/// How far off what a heating has told may be, standard errors as shares: what the fit leaves open, and what
/// no fit can see because the model itself is not quite the plate. All at the power that was typed: P/C and
/// losses/P are learnt, and C and losses are as good as P besides.
struct LearntErrors {
    double capacity = 0, loss = 0, lag = 0;
};
LearntErrors learntErrors(const PlateFit& fit);

/// What a plate's link keeps of it, measuredUtc left empty. `gains`: of the program's own loop.
IdentifiedPlate identifiedFrom(const PlateFit& fit, const PidGains& gains);

/// Standard error of a power as it stands on a plate. The safety standard for heating appliances (IEC
/// 60335-1, 10.1) lets what a heater takes lie 10 % below to 5 % above its rating, or 10 % either way up to
/// 200 W, at its rated voltage; the mains are off by as much again now and then.
inline constexpr double typedPowerErrorShare = 0.05;

/// What a shelf entry's loss_range_share has to be for such an error of the losses: two standard errors, and
/// never less than 5 %.
double lossRangeShare(double lossError);

/// "194 +- 11", "7.5 +- 0.3": in the digits that the error leaves, which has one, or two where it begins with
/// 1. An error of nothing is none that can be written: at least a tenth of a percent of the value then.
std::string withError(double value, double error);

/// What was learnt, a line a figure, and if it was learnt `before` as well, from what to what it has changed,
/// and whether that is more than both uncertainties explain.
std::vector<std::string> learntLines(const IdentifiedPlate& now, const std::optional<IdentifiedPlate>& before,
                                     double ambientC);

} // namespace stripwright
