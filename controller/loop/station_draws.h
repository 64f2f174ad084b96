#pragma once

#include "loop/joint_draws.h"

namespace stripwright {

/// A band of which the truth lies inside in nine of ten cases.
struct Band {
    double low = 0, median = 0, high = 0;
};

/// What a station's temperature may be, for every draw, while the plate goes its way.
///
/// Each level of contact follows the plate by its own response: a joint's by contact alone, a part's low and
/// high as the plan has it coldest and hottest, all else that may differ included. A draw stands between two
/// levels, linearly in the reciprocal of contact, in which lag and the reciprocal of gain are straight lines.
/// Beyond the levels the same laws go on. Losses pull a draw's gain by 1/gain - 1, which is losses over
/// conductance.
class StationDraws {
public:
    /// `levels` by rising contact; `contactSd`: spread of this station's contact about the draw's, as a
    /// logarithm; `stream`: of the random numbers.
    StationDraws(const std::array<PlateResponse, levelCount>& levels, const JointDraws& draws,
                 ContactRange range, double contactSd, unsigned stream);

    void start(double plateRiseK);
    void startAtRise(double riseK); ///< The station itself is that much above ambient, whatever its contact.
    void advance(double dtS, double plateRiseK);

    /// Rise above ambient by one level, or by every draw.
    double levelRiseK(int level) const { return riseK_[level]; }
    const PerDraw& drawRiseK() const { return drawRiseK_; }
    PerDraw riseWithRoomK() const { return drawRiseK_ + ambientK_; } ///< By every draw, in its own room.
    /// The same, `forS` later with the plate held at one temperature.
    PerDraw heldRiseWithRoomK(double plateRiseK, double forS) const;
    double gain(const PerDraw& weights) const { return (gain_ * weights).sum(); }
    const PerDraw& gains() const { return gain_; }
    double misfitK() const { return misfitK_; } ///< Deviation of the fitted responses, low to high contact.

    /// Of drawRiseK() + `addK`, and of `addSd` besides.
    Band band(const PerDraw& weights, const PerDraw& addK, double addSd);
    /// Of these values, and of `addSd` and the misfit besides.
    Band bandOf(const PerDraw& values, const PerDraw& weights, double addSd);

private:
    void sum();
    Band spread(const PerDraw& values, const PerDraw& weights, double besidesSd);

    std::array<PlateResponse, levelCount> levels_;
    Eigen::Matrix<double, levelCount, 2> x_ = Eigen::Matrix<double, levelCount, 2>::Zero();
    Eigen::Matrix<double, levelCount, 1> riseK_ = Eigen::Matrix<double, levelCount, 1>::Zero();
    DrawsByLevel weight_;
    PerDraw gain_, ambientK_, drawRiseK_ = PerDraw::Zero();
    double misfitK_ = 0;
    std::array<int, drawCount> order_; // by temperature; nearly right from one cycle to the next
};

/// The value below which this share of the weights lies. `order` sorts the values.
double weightedQuantile(const PerDraw& values, const PerDraw& weights,
                        const std::array<int, drawCount>& order, double share);

} // namespace stripwright
