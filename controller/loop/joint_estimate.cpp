#include "loop/joint_estimate.h"

#include <algorithm>
#include <cmath>
#include <numeric>

namespace stripwright {

namespace {

constexpr double plateOffsetK = 2, plateShare = 0.01;
constexpr double sensorOffsetK = 1.5, sensorShare = 0.01, sensorColdShare = -0.005;
constexpr double siteContactSd = 0.2;       // of one site's contact about the strip's, as a logarithm
constexpr double siteGradientShare = 0.003; // of the plate under one site against that under another
constexpr double alikeForS = 5;             // readings closer than this tell the same
constexpr double forgottenAfterS = 240;
constexpr double readingSdK = 0.7; // of what a response leaves out, besides its misfit
constexpr double slopeOverS = 1;
constexpr double share95 = 1.6449;

/// By the laws that hold between the levels: lag and the reciprocal of gain over the reciprocal of contact.
PlateResponse poorOf(const PlateResponse& low, const PlateResponse& nominal, ContactRange range)
{
    PlateResponse poor = low;
    const double width = 1 / range.low - 1;
    if (!(width > 0) || !(low.gain > 0) || !(nominal.gain >= low.gain))
        return poor;
    const double steps = (1 / poorShareOfLow - 1) / range.low / width;
    poor.gain = 1 / (1 / low.gain + steps * (1 / low.gain - 1 / nominal.gain));
    poor.lagS = std::max(low.lagS, low.lagS + steps * (low.lagS - nominal.lagS));
    return poor;
}

const Eigen::Vector4d offsetsMean{0, 0, 0, sensorColdShare};
const Eigen::Vector4d offsetsSd{plateOffsetK, plateShare, sensorOffsetK, sensorShare};

} // namespace

JointEstimate::JointEstimate(const HeatPlan& plan)
    : range_(contactRangeOf(plan.sheet)), draws_(plan.sheet), ambientC_(plan.sheet.air.ambientC)
{
    unsigned stream = 10;
    for (size_t i = 0; i < plan.joints.size(); ++i) {
        const JointModel& model = plan.joints[i];
        const bool measured = plan.sheet.stripSensorSite == model.site;
        if (measured) {
            sensorSite_ = model.site;
            sensorJoint_ = i;
        }
        const PlateResponse poor = model.poor.value_or(poorOf(model.low, model.nominal, range_));
        joints_.push_back({StationDraws({poor, model.low, model.nominal, model.high}, draws_, range_,
                                        measured ? 0 : siteContactSd, stream++),
                           {}});
    }
    gains_.resize(joints_.size());
    if (const auto melts = solderMelts(plan.sheet))
        evidence_ = SolderEvidence(*melts, ambientC_, joints_.size());
    for (const PartModel& part : plan.parts) {
        partDraws_.emplace_back(std::array{part.low, part.low, part.nominal, part.high}, draws_, range_,
                                siteContactSd, stream++);
        parts_.push_back({&part, ambientC_});
    }
    forget();
}

void JointEstimate::forget()
{
    measured_.logWeight = draws_.logPrior;
    measured_.weight = measured_.logWeight.exp();
    measured_.offsets.rowwise() = offsetsMean.transpose();
    measured_.covariance = offsetsSd.cwiseProduct(offsetsSd).asDiagonal();
    calibrated_ = false;
    heardS_ = 0;
}

void JointEstimate::reseated()
{
    // From where the strip is, not from where each draw would have it after all that time.
    if (stripSeenC_)
        for (Joint& joint : joints_)
            joint.draws.startAtRise(*stripSeenC_ - ambientC_);
    evidence_.forget();
    forget();
    takeEvidence();
}

void JointEstimate::start(double plateC)
{
    started_ = true;
    plateC_ = plateC;
    for (Joint& joint : joints_) {
        joint.draws.start(plateC - ambientC_);
        joint.seenK = joint.highestK = joint.draws.riseWithRoomK();
    }
    for (StationDraws& part : partDraws_)
        part.start(plateC - ambientC_);
    takeEvidence();
    updateBands();
}

void JointEstimate::advance(double dtS, double plateC, std::optional<double> stripC)
{
    news_ = News::None;
    if (!started_ || !(dtS > 0))
        return;
    plateC_ = plateC;
    // By the model and not from one band to the next: a band also moves when something is learned.
    const double follow = 1 - std::exp(-dtS / slopeOverS), beforeC = hottestAtHighC();
    for (Joint& joint : joints_)
        joint.draws.advance(dtS, plateC - ambientC_);
    risingCPerS_ += follow * ((hottestAtHighC() - beforeC) / dtS - risingCPerS_);
    seeJoints(dtS);
    for (size_t i = 0; i < parts_.size(); ++i) {
        const double beforeK = partDraws_[i].levelRiseK(levelCount - 1);
        partDraws_[i].advance(dtS, plateC - ambientC_);
        double& rising = parts_[i].risingCPerS;
        rising += follow * ((partDraws_[i].levelRiseK(levelCount - 1) - beforeK) / dtS - rising);
    }
    if (sensorSite_ > 0 && onPlate_) {
        const StationDraws& at = joints_[sensorJoint_].draws;
        if (stripC)
            stripSeenC_ = stripC;
        news_ = check_.advance(
            dtS, stripC, {plateC, ambientC_ + at.levelRiseK(1), ambientC_ + at.levelRiseK(3), calibrated_});
        if (news_ != News::None)
            forget();
        forgetSlowly(dtS);
        if (check_.usableC())
            learn(dtS, *check_.usableC());
    }
    evidence_.advance(dtS);
    takeEvidence();
    updateBands();
    judgeCalibration();
}

/// What hands tell by a mark, they saw a moment before; a lag is that moment, along a ramp.
void JointEstimate::seeJoints(double dtS)
{
    const double follow = 1 - std::exp(-dtS / SolderEvidence::reactionS);
    for (Joint& joint : joints_) {
        const PerDraw nowK = joint.draws.riseWithRoomK();
        joint.seenK += follow * (nowK - joint.seenK);
        joint.highestK = joint.highestK.max(joint.seenK);
        joint.risingCPerS = (belief_.weight * (nowK - joint.seenK)).sum() / SolderEvidence::reactionS;
    }
}

void JointEstimate::takeEvidence()
{
    belief_ = measured_;
    marksRight_ = 0;
    if (!evidence_.any())
        return;
    for (size_t i = 0; i < joints_.size(); ++i)
        gains_[i] = joints_[i].draws.gain(measured_.weight);
    marksRight_ = evidence_.condition(belief_, gains_);
}

void JointEstimate::mark(size_t target, SolderSeen seen)
{
    const Joint& joint = joints_[target];
    evidence_.see(target, seen,
                  {.riseK = joint.seenK,
                   .highestK = joint.highestK,
                   .risingCPerS = joint.risingCPerS,
                   .misfitK = joint.draws.misfitK(),
                   .plateRiseK = plateC_ - ambientC_});
    takeEvidence();
    updateBands();
}

JointEstimate::Reach JointEstimate::reach(double plateC, double forS)
{
    Reach reach{0, -INFINITY};
    const double plateRiseK = std::max(plateC, plateC_) - ambientC_;
    const PerDraw plateOffK = belief_.offsets.col(0).array() + plateRiseK * belief_.offsets.col(1).array();
    for (size_t i = 0; i < joints_.size(); ++i)
        gains_[i] = joints_[i].draws.gain(measured_.weight);
    for (size_t i = 0; i < joints_.size(); ++i) {
        Joint& joint = joints_[i];
        const PerDraw riseK = joint.draws.heldRiseWithRoomK(plateRiseK, forS).max(joint.highestK);
        reach.hope = std::max(reach.hope,
                              evidence_.hope(i, riseK, joint.draws.misfitK(), plateRiseK, measured_, gains_));
        const Band rise = joint.draws.bandOf(riseK + joint.draws.gains() * plateOffK, belief_.weight, 0);
        reach.medianC = std::max(reach.medianC, ambientC_ + rise.median);
    }
    return reach;
}

double JointEstimate::hottestAtHighC() const
{
    double riseK = 0;
    for (const Joint& joint : joints_)
        riseK = std::max(riseK, joint.draws.levelRiseK(levelCount - 1));
    return ambientC_ + riseK;
}

void JointEstimate::forgetSlowly(double dtS)
{
    const double kept = std::exp(-dtS / forgottenAfterS), lost = 1 - kept;
    measured_.logWeight = draws_.logPrior + kept * (measured_.logWeight - draws_.logPrior);
    // Offsets are the same metal all the time: they are forgotten five times as slowly.
    const Eigen::Matrix4d first = offsetsSd.cwiseProduct(offsetsSd).asDiagonal();
    measured_.covariance += lost / 5 * (first - measured_.covariance);
}

void JointEstimate::learn(double dtS, double stripC)
{
    const StationDraws& at = joints_[sensorJoint_].draws;
    if (heardS_ == 0)
        stripLeastC_ = stripMostC_ = stripC;
    heardS_ += dtS;
    stripC_ = stripC;
    stripLeastC_ = std::min(stripLeastC_, stripC);
    stripMostC_ = std::max(stripMostC_, stripC);

    const double plateRiseK = plateC_ - ambientC_, gain = at.gain(measured_.weight);
    const Eigen::Vector4d seenBy{gain, gain * plateRiseK, 1, stripC - ambientC_};
    const double readingSd = std::hypot(readingSdK, at.misfitK());
    const double readingVar = readingSd * readingSd * widening_ * widening_ * std::max(1.0, alikeForS / dtS);
    const Eigen::Vector4d covariance = measured_.covariance * seenBy;
    const double offsetsVar = seenBy.dot(covariance), allVar = offsetsVar + readingVar;
    const PerDraw strayK = stripC - ambientC_ - at.drawRiseK() - (measured_.offsets * seenBy).array();

    // Before anything is learned from this reading: does it lie where it may?
    const double meanStrayK = (measured_.weight * strayK).sum();
    const double drawsVar = (measured_.weight * (strayK - meanStrayK).square()).sum();
    const double mayVar = offsetsVar + drawsVar + readingSd * readingSd;
    constexpr double watchedS = 20, straysMost = 4;
    misfitMean_ += (1 - std::exp(-dtS / watchedS)) * (meanStrayK * meanStrayK / mayVar - misfitMean_);
    constexpr double widestFactor = 5;
    widening_ = std::clamp(std::sqrt(misfitMean_ / straysMost), widening_, widestFactor);

    measured_.logWeight -= strayK.square() / (2 * allVar);
    measured_.normalise();
    const Eigen::Vector4d taken = covariance / allVar;
    measured_.offsets += strayK.matrix() * taken.transpose();
    measured_.covariance -= taken * covariance.transpose();
}

/// Of the plate under the strip, against its sensor.
double JointEstimate::plateVariance(const JointBelief& belief) const
{
    const Eigen::Vector2d seenBy{1, plateC_ - ambientC_};
    return seenBy.dot(belief.covariance.topLeftCorner<2, 2>() * seenBy);
}

void JointEstimate::updateBands()
{
    if (joints_.empty())
        return;
    const double plateRiseK = plateC_ - ambientC_;
    const double plateVar = plateVariance(belief_);
    const PerDraw plateOffK = belief_.offsets.col(0).array() + plateRiseK * belief_.offsets.col(1).array();
    lowC_ = INFINITY;
    highC_ = -INFINITY;
    nominalC_ = 0;
    const bool measured = sensorSite_ > 0 && heardS_ > 0;
    for (size_t i = 0; i < joints_.size(); ++i) {
        Joint& joint = joints_[i];
        const double gain = joint.draws.gain(belief_.weight);
        const bool told = (measured && i == sensorJoint_) || evidence_.tellsOf(i);
        const double apart = (measured || marked()) && !told ? siteGradientShare * plateRiseK : 0;
        const Band rise = joint.draws.band(belief_.weight, joint.draws.gains() * plateOffK,
                                           gain * std::sqrt(plateVar + apart * apart));
        joint.band = {ambientC_ + rise.median - widening_ * (rise.median - rise.low), ambientC_ + rise.median,
                      ambientC_ + rise.median + widening_ * (rise.high - rise.median)};
        lowC_ = std::min(lowC_, joint.band.low);
        highC_ = std::max(highC_, joint.band.high);
        nominalC_ += joint.band.median / static_cast<double>(joints_.size());
    }
    // A mark may tell of a hotter joint than planned contact has; of a colder one the guard takes no notice.
    if (marked())
        hottestC_ = std::max(highC_, calibrated_ ? hottestBy(measured_) : hottestAtHighC());
    else
        hottestC_ = calibrated_ ? highC_ : hottestAtHighC();
    for (size_t i = 0; i < parts_.size(); ++i) {
        StationDraws& part = partDraws_[i];
        double hotRiseK = part.levelRiseK(levelCount - 1);
        if (calibrated_)
            hotRiseK = std::max(hotRiseOf(part, measured_), hotRiseOf(part, belief_));
        parts_[i].hotC = ambientC_ + hotRiseK;
    }
    contact_ = contactOf(belief_.weight);
}

/// 95 % of a part's rise by one belief.
double JointEstimate::hotRiseOf(const StationDraws& part, const JointBelief& belief) const
{
    const double plateRiseK = plateC_ - ambientC_;
    const PerDraw values = part.drawRiseK() + part.gains() * (belief.offsets.col(0).array() +
                                                              plateRiseK * belief.offsets.col(1).array());
    const double mean = (belief.weight * values).sum(), gain = part.gain(belief.weight);
    const double var = (belief.weight * (values - mean).square()).sum() +
                       gain * gain * plateVariance(belief) + part.misfitK() * part.misfitK();
    return mean + widening_ * share95 * std::sqrt(var);
}

/// Of the joints, by the thermocouple alone: hands may add heat to what the guard sees, never take it away.
double JointEstimate::hottestBy(const JointBelief& belief) const
{
    double hottest = -INFINITY;
    for (const Joint& joint : joints_)
        hottest = std::max(hottest, ambientC_ + hotRiseOf(joint.draws, belief));
    return hottest;
}

Band JointEstimate::contactOf(const PerDraw& weight) const
{
    static constexpr auto byContact = [] {
        std::array<int, drawCount> order{};
        for (int k = 0; k < drawCount; ++k)
            order[static_cast<size_t>(k)] = k;
        return order;
    }();
    return {weightedQuantile(draws_.contact, weight, byContact, 0.05),
            weightedQuantile(draws_.contact, weight, byContact, 0.5),
            weightedQuantile(draws_.contact, weight, byContact, 0.95)};
}

void JointEstimate::judgeCalibration()
{
    constexpr double riseSeenK = 60;
    if (calibrated_ || heardS_ == 0 || stripMostC_ - stripLeastC_ < riseSeenK)
        return;
    const Band contact = contactOf(measured_.weight);
    const double before = std::log(range_.high / range_.low), now = std::log(contact.high / contact.low);
    const StationDraws& at = joints_[sensorJoint_].draws;
    const double mean = (measured_.weight * at.drawRiseK()).sum();
    const double contactVar = (measured_.weight * (at.drawRiseK() - mean).square()).sum();
    calibrated_ = now <= before / 2 || contactVar < plateVariance(measured_) / 2;
}

const char* JointEstimate::newsText() const
{
    switch (news_) {
    case News::Lost:
        return "the thermocouple on the strip gives no reading: joints count as uncalibrated again";
    case News::Jumped:
        return "the thermocouple on the strip jumped by more than 5 K: joints count as uncalibrated again";
    case News::FellOff:
        return "the thermocouple on the strip has come off, it reads far below the strip: joints count as "
               "uncalibrated again";
    case News::Back:
        return "the thermocouple on the strip reads what the strip may have again";
    case News::None:
        break;
    }
    return "";
}

} // namespace stripwright
