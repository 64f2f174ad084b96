#include "loop/station_draws.h"

#include <algorithm>
#include <cmath>
#include <numeric>

namespace stripwright {

namespace {

using Levels = std::array<double, levelCount>;

Levels contactsOf(ContactRange range)
{
    return {poorShareOfLow * range.low, range.low, 1, range.high};
}

/// Shares of the levels at one contact; their sum is 1 but for contact below the poorest.
Levels sharesAt(double contact, const Levels& contacts, const std::array<PlateResponse, levelCount>& levels)
{
    Levels shares{};
    const double at = 1 / contact;
    auto place = [&](size_t from, size_t to) {
        const double width = 1 / contacts[to] - 1 / contacts[from];
        return width == 0 ? 0 : (at - 1 / contacts[from]) / width;
    };
    constexpr size_t last = levelCount - 1;
    if (contact <= contacts[0]) {
        const double worst = levels[0].gain, next = levels[1].gain;
        const double steps = -place(0, 1);
        const bool falls = worst > 0 && next > worst;
        shares[0] = falls ? 1 / (1 + steps * (1 - worst / next)) : 1;
        return shares;
    }
    if (contact >= contacts[last]) {
        // At most as far beyond high as nominal is before it: further out misfits of the responses would
        // grow.
        const double beyond = std::min(1.0, place(last - 1, last) - 1);
        shares[last] = 1 + beyond;
        shares[last - 1] = -beyond;
        return shares;
    }
    size_t to = 1;
    while (contact > contacts[to])
        ++to;
    shares[to] = place(to - 1, to);
    shares[to - 1] = 1 - shares[to];
    return shares;
}

} // namespace

StationDraws::StationDraws(const std::array<PlateResponse, levelCount>& levels, const JointDraws& draws,
                           ContactRange range, double contactSd, unsigned stream)
    : levels_(levels)
{
    const Levels contacts = contactsOf(range);
    const PerDraw contact = draws.contact * (contactSd * normals(stream)).exp();
    for (int k = 0; k < drawCount; ++k) {
        const Levels shares = sharesAt(contact[k], contacts, levels);
        double gain = 0;
        for (int l = 0; l < levelCount; ++l)
            gain += shares[static_cast<size_t>(l)] * levels[static_cast<size_t>(l)].gain;
        gain = std::clamp(gain, 0.01, 1.0);
        const double lossScale = 1 / (gain + (1 - gain) * draws.lossShare[k]);
        for (int l = 0; l < levelCount; ++l)
            weight_(k, l) = lossScale * shares[static_cast<size_t>(l)];
        gain_[k] = std::min(1.0, gain * lossScale);
    }
    ambientK_ = (1 - gain_) * draws.ambientK;
    for (size_t l = 1; l < levels.size(); ++l)                    // poor contact is off by more and seldom
        misfitK_ = std::max(misfitK_, levels[l].worstErrorK / 2); // a worst error is about two deviations
    std::iota(order_.begin(), order_.end(), 0);
}

void StationDraws::start(double plateRiseK)
{
    x_.setConstant(plateRiseK);
    sum();
}

void StationDraws::startAtRise(double riseK)
{
    for (int l = 0; l < levelCount; ++l)
        x_.row(l).setConstant(riseK / std::max(levels_[static_cast<size_t>(l)].gain, 0.01));
    sum();
}

void StationDraws::advance(double dtS, double plateRiseK)
{
    for (int l = 0; l < levelCount; ++l) {
        const PlateResponse& level = levels_[static_cast<size_t>(l)];
        const double lags[] = {level.lagS, level.secondLagS};
        for (int i = 0; i < 2; ++i)
            x_(l, i) = plateRiseK + (lags[i] > 0 ? (x_(l, i) - plateRiseK) * std::exp(-dtS / lags[i]) : 0);
    }
    sum();
}

PerDraw StationDraws::heldRiseWithRoomK(double plateRiseK, double forS) const
{
    Eigen::Matrix<double, levelCount, 1> riseK;
    for (int l = 0; l < levelCount; ++l) {
        const PlateResponse& level = levels_[static_cast<size_t>(l)];
        const auto held = [&](int i, double lagS) {
            return plateRiseK + (lagS > 0 ? (x_(l, i) - plateRiseK) * std::exp(-forS / lagS) : 0);
        };
        riseK[l] = level.gain * ((1 - level.secondShare) * held(0, level.lagS) +
                                 level.secondShare * held(1, level.secondLagS));
    }
    return (weight_ * riseK).array() + ambientK_;
}

void StationDraws::sum()
{
    for (int l = 0; l < levelCount; ++l) {
        const PlateResponse& level = levels_[static_cast<size_t>(l)];
        riseK_[l] = level.gain * ((1 - level.secondShare) * x_(l, 0) + level.secondShare * x_(l, 1));
    }
    drawRiseK_ = (weight_ * riseK_).array();
}

double weightedQuantile(const PerDraw& values, const PerDraw& weights,
                        const std::array<int, drawCount>& order, double share)
{
    // A value stands at the middle of its weight.
    double below = 0, lastAt = 0, lastValue = values[order[0]];
    for (int k : order) {
        const double at = below + weights[k] / 2;
        if (at >= share)
            return at > lastAt ? lastValue + (values[k] - lastValue) * (share - lastAt) / (at - lastAt)
                               : values[k];
        below += weights[k];
        lastAt = at;
        lastValue = values[k];
    }
    return lastValue;
}

Band StationDraws::band(const PerDraw& weights, const PerDraw& addK, double addSd)
{
    constexpr double roomShownAtK = 50; // at first everything has the plate's own temperature
    const double shown = std::clamp(drawRiseK_.mean() / roomShownAtK, 0.0, 1.0);
    return spread(drawRiseK_ + addK + shown * ambientK_, weights, std::hypot(addSd, shown * misfitK_));
}

Band StationDraws::bandOf(const PerDraw& values, const PerDraw& weights, double addSd)
{
    return spread(values, weights, std::hypot(addSd, misfitK_));
}

Band StationDraws::spread(const PerDraw& values, const PerDraw& weights, double besidesSd)
{
    constexpr double share95 = 1.6449;
    for (size_t i = 1; i < order_.size(); ++i)
        for (size_t j = i; j > 0 && values[order_[j]] < values[order_[j - 1]]; --j)
            std::swap(order_[j], order_[j - 1]);
    const double median = weightedQuantile(values, weights, order_, 0.5);
    const double down = median - weightedQuantile(values, weights, order_, 0.05);
    const double up = weightedQuantile(values, weights, order_, 0.95) - median;
    const double besides = share95 * besidesSd;
    return {median - std::hypot(down, besides), median, median + std::hypot(up, besides)};
}

} // namespace stripwright
