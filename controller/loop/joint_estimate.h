#pragma once

#include "loop/solder_evidence.h"
#include "loop/station_draws.h"
#include "loop/strip_sensor_check.h"

#include <span>

namespace stripwright {

/// A protected part, as the dwell guard has to see it.
struct PartEstimate {
    const PartModel* model = nullptr;
    double hotC = 0;        ///< Before calibration as the plan has it hottest, then the 95 % quantile.
    double risingCPerS = 0; ///< As it gets hottest.
};

/// Temperature of the target joints and of parts near their limits, from the plate's reading, what the hands
/// say of the solder (solder_evidence.h) and, where the sheet names a site for it, a thermocouple on the
/// strip.
///
/// 128 draws of contact, losses and room, each weighted by how well it explains the thermocouple; offsets of
/// plate and thermocouple are worked out along with them, alike for all draws. Stated deviations: plate under
/// the strip against its sensor 2 K and 1 % of the rise, thermocouple 1.5 K and 1 % of the rise, 0.5 % of it
/// too cold on average (it is only pressed on). Errors of neighbouring readings are alike: what is learned
/// counts as one reading in 5 s, and is forgotten over four minutes, because contact may change. Where
/// readings stray more than that allows, all bands widen for the rest of the run.
///
/// Calibrated is said once the thermocouple has seen 60 K of rise and has halved the range of contact, or has
/// left contact half the variance, or less, that the plate's offset leaves in the joint beside it: of good
/// contact little can be seen, and little matters. It never relaxes a limit. Nothing here allocates after
/// construction.
class JointEstimate {
public:
    using News = StripSensorCheck::News;

    explicit JointEstimate(const HeatPlan& plan); ///< The plan must outlive this.

    void start(double plateC); ///< Strip and plate are this warm.
    /// plateC: plate body, not the lagging reading. stripC is ignored unless the sheet names its site.
    void advance(double dtS, double plateC, std::optional<double> stripC = {});
    void strip(bool onPlate) { onPlate_ = onPlate; }
    void reseated(); ///< Hands have moved the strip: what was learned about its contact is void.

    /// The hands say what they see of a target's solder, now. Moves the bands at once; calibrates nothing.
    /// Only while known(), in a heat that melts joints.
    void mark(size_t target, SolderSeen seen);
    bool marked() const { return evidence_.any(); }
    const SolderEvidence& evidence() const { return evidence_; }

    bool known() const { return started_ && onPlate_ && !joints_.empty(); }
    double lowC() const { return lowC_; }         ///< Coldest target, 5 % quantile.
    double nominalC() const { return nominalC_; } ///< Mean of the targets' medians.
    double highC() const { return highC_; }       ///< Hottest target, 95 % quantile.
    /// What the dwell guard counts with: before calibration the hottest target at the plan's high contact,
    /// then highC().
    double hottestC() const { return hottestC_; }
    double risingCPerS() const { return risingCPerS_; } ///< Of the hottest target at the plan's high contact.
    Band jointC(size_t target) const { return joints_[target].band; } ///< In the order of the plan's joints.

    bool calibrated() const { return calibrated_; }
    Band contact() const { return contact_; } ///< Factor of the plan's nominal conductance.
    /// The hands have marked, and it is not one in twenty that one of their marks is a slip.
    bool marksBelieved() const { return marked() && marksRight_ > 0.95; }
    /// How likely any target gets liquid, or has got so unsaid, with the plate at most at `plateC` and `forS`
    /// to go, and how hot the hottest is likely to get. Only in a heat that melts joints.
    struct Reach {
        double hope = 0, medianC = 0;
    };
    Reach reach(double plateC, double forS);
    ContactRange planned() const { return range_; }
    std::span<const PartEstimate> parts() const { return parts_; }

    int sensorSite() const { return sensorSite_; } ///< 0: there is no thermocouple.
    bool sensorTrusted() const { return check_.trusted(); }
    double stripC() const { return stripC_; }     ///< Last reading that was believed.
    double believedS() const { return heardS_; }  ///< For so long it has been believed without a break.
    double widening() const { return widening_; } ///< Factor on every band, 1 or more.
    News news() const { return news_; }           ///< Of the last advance().
    const char* newsText() const;                 ///< What to say about it; empty for no news.

private:
    struct Joint {
        StationDraws draws;
        Band band;
        PerDraw seenK = PerDraw::Zero(), highestK = PerDraw::Zero(); // as the hands see it, a moment late
        double risingCPerS = 0;                                      // of its mean
    };

    void forget();
    void learn(double dtS, double stripC);
    void forgetSlowly(double dtS);
    void judgeCalibration();
    double hottestAtHighC() const;
    double plateVariance(const JointBelief& belief) const;
    double hotRiseOf(const StationDraws& part, const JointBelief& belief) const;
    double hottestBy(const JointBelief& belief) const;
    Band contactOf(const PerDraw& weight) const;
    void seeJoints(double dtS);
    void takeEvidence();
    void updateBands();

    ContactRange range_;
    JointDraws draws_;
    std::vector<Joint> joints_;
    std::vector<StationDraws> partDraws_;
    std::vector<PartEstimate> parts_;
    double ambientC_, plateC_ = 0;
    int sensorSite_ = 0;
    size_t sensorJoint_ = 0;
    StripSensorCheck check_;
    News news_ = News::None;

    JointBelief measured_; // by the thermocouple, or the prior
    JointBelief belief_;   // and by the hands' marks
    SolderEvidence evidence_;
    std::vector<double> gains_; // of each target
    double marksRight_ = 0;     // how likely
    double misfitMean_ = 0, widening_ = 1, heardS_ = 0;
    std::optional<double> stripSeenC_; // believed or not
    double stripC_ = 0, stripLeastC_ = 0, stripMostC_ = 0;

    bool started_ = false, onPlate_ = true, calibrated_ = false;
    Band contact_;
    double lowC_ = 0, nominalC_ = 0, highC_ = 0, hottestC_ = 0, risingCPerS_ = 0;
};

} // namespace stripwright
