#pragma once

#include "loop/joint_draws.h"
#include "planner/solder_melts.h"

#include <vector>

namespace stripwright {

/// How much each draw is believed, and what plate and thermocouple are off by, alike for all draws but for
/// their means.
struct JointBelief {
    using Offsets = Eigen::Vector4d; ///< plate K, plate share, thermocouple K, thermocouple share

    PerDraw logWeight, weight;
    Eigen::Matrix<double, drawCount, 4> offsets;
    Eigen::Matrix4d covariance;

    void normalise(); ///< weight from logWeight, their sum 1.
};

/// What the hands see of solder: it has just turned liquid, was liquid already, or has not turned yet.
enum class SolderSeen { Turned, WasLiquid, NotYet };

/// A target as it is at a moment, for every draw.
struct JointMoment {
    PerDraw riseK;    ///< Above ambient, as it was when the hands saw it: reactionS before the mark.
    PerDraw highestK; ///< The highest it has been.
    double risingCPerS = 0, misfitK = 0, plateRiseK = 0;
};

/// The hands' marks as evidence about the joints, beside that of the thermocouple.
///
/// A mark "turned": the joint was at its melting point reactionS before, give or take. Deviations: reading
/// the liquidus off the shine of solder 1.5 K, the alloy's pasty range, the reaction's own spread (0.5 to 2
/// s) times the ramp, the response's misfit, and the plate's offset, which the mark tells of as well. One
/// mark in ten is pressed some time after the solder had turned, one in fifty is a slip. A mark "not yet":
/// the joint has never been above its melting point; one in fifty is wrong, of several at one site that are 5
/// s apart each. All of these are own estimates. Where the alloy is unknown, the melting point is anywhere in
/// its range.
///
/// Each site's last words count, once: "not yet" may come as often as it likes, and after "liquid" takes that
/// back. Marks fade over four minutes, for contact may change. Nothing here allocates after construction.
class SolderEvidence {
public:
    static constexpr double reactionS = 1.25, reactionSdS = 0.45;

    SolderEvidence() = default;
    SolderEvidence(const SolderMelts& melts, double ambientC, size_t targets);

    void see(size_t target, SolderSeen seen, const JointMoment& moment);
    void advance(double dtS);
    void forget();

    bool any() const { return any_; }
    bool saidLiquid(size_t target) const { return target < said_.size() && said_[target].liquid; }
    bool saidNotYet(size_t target) const { return tellsOf(target) && !said_[target].liquid; }
    bool tellsOf(size_t target) const
    {
        return target < said_.size() && (said_[target].liquid || said_[target].notYets > 0);
    }
    const SolderMelts& melts() const { return melts_; }

    /// Takes in all marks; `gain` of each target is the mean over its draws. Returns how likely it is then
    /// that none of them is a slip.
    double condition(JointBelief& belief, const std::vector<double>& gains) const;

    /// How likely this target's solder is liquid before `reachK`, of every draw above ambient, is the highest
    /// its joint will have come to; it may be already, if nobody has said so. `belief`: without any mark.
    double hope(size_t target, const PerDraw& reachK, double misfitK, double plateRiseK, JointBelief belief,
                const std::vector<double>& gains) const;

private:
    struct Mark {
        JointMoment moment;
        double ageS = 0;
    };
    struct Said {
        bool liquid = false, turned = false;
        int notYets = 0; // 5 s apart each
        Mark liquidMark, notYetMark;
        double sinceCountedS = 0;
    };
    double conditionLiquid(JointBelief& belief, const Said& said, double gain) const;
    double conditionNotYet(JointBelief& belief, const Said& said, double gain) const;
    double ownVariance(const JointMoment& moment) const;

    SolderMelts melts_;
    double ambientC_ = 0;
    std::vector<Said> said_;
    bool any_ = false;
};

} // namespace stripwright
