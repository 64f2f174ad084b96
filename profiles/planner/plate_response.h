#pragma once

#include <span>
#include <vector>

namespace stripwright {

/// A temperature that follows the plate's, as the sum of one or two first-order lags:
///
///     T = Ta + gain ((1 - secondShare) x1 + secondShare x2),   lag dx/dt + x = T_plate - Ta
///
/// Two lags also hold a lag behind a lag: the quicker one's share is below 0 then.
struct PlateResponse {
    double gain = 0, lagS = 0;
    double worstErrorK = 0; ///< Worst misfit to the predicted curve.
    double secondLagS = 0;  ///< 0: there is only one lag.
    double secondShare = 0;
};

/// Fits responses of many stations to one plate curve: the lags come from a fixed row, so what they make of
/// the curve is worked out once.
class ResponseFit {
public:
    /// The first value of the plate counts as ambient. Times rise.
    ResponseFit(std::span<const double> timeS, std::span<const double> plateC, double ambientC);

    /// Least squares; a second lag only where it takes a fifth off the worst misfit. `valueC` has as many
    /// values as the plate curve. Nothing gets hotter than the plate but by what fits miss, so the gain is
    /// held down: of a part too slow for its heat to tell gain from lag, loosely; of a joint, which a short
    /// heat must not have follow a longer one beyond the plate, to 1.
    PlateResponse fit(std::span<const double> valueC, double mostGain = 1.5) const;

private:
    double shareOf(size_t a, size_t b) const { return gram_[a * lagsS_.size() + b]; }
    double worstErrorK(const PlateResponse& response, std::span<const double> valueC) const;

    double ambientC_;
    std::vector<double> lagsS_;
    std::vector<std::vector<double>> lagged_; ///< x of each lag.
    std::vector<double> gram_;
};

} // namespace stripwright
