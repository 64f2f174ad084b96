#include "planner/plate_response.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numeric>

namespace stripwright {

ResponseFit::ResponseFit(std::span<const double> timeS, std::span<const double> plateC, double ambientC)
    : ambientC_(ambientC)
{
    // Quicker than the shortest nothing on a plate follows it; slower than the longest is no heat's business.
    constexpr double shortestS = 0.5, longestS = 1500, factor = 1.17;
    for (double lagS = shortestS; lagS <= longestS; lagS *= factor) {
        lagsS_.push_back(lagS);
        std::vector<double>& x = lagged_.emplace_back(plateC.size(), 0.0);
        double stepS = 0, keep = 1;
        for (size_t i = 1; i < plateC.size(); ++i) {
            if (timeS[i] - timeS[i - 1] != stepS) {
                stepS = timeS[i] - timeS[i - 1];
                keep = std::exp(-stepS / lagS);
            }
            x[i] = keep * x[i - 1] + (1 - keep) * ((plateC[i] + plateC[i - 1]) / 2 - ambientC);
        }
    }
    const size_t lags = lagsS_.size();
    gram_.resize(lags * lags);
    for (size_t a = 0; a < lags; ++a)
        for (size_t b = a; b < lags; ++b)
            gram_[a * lags + b] = gram_[b * lags + a] =
                std::inner_product(lagged_[a].begin(), lagged_[a].end(), lagged_[b].begin(), 0.0);
}

double ResponseFit::worstErrorK(const PlateResponse& response, std::span<const double> valueC) const
{
    auto place = [&](double lagS) {
        return static_cast<size_t>(std::find(lagsS_.begin(), lagsS_.end(), lagS) - lagsS_.begin());
    };
    const std::vector<double>& first = lagged_[place(response.lagS)];
    const std::vector<double>& second = response.secondLagS > 0 ? lagged_[place(response.secondLagS)] : first;
    double worst = 0;
    for (size_t i = 0; i < valueC.size(); ++i) {
        const double x = (1 - response.secondShare) * first[i] + response.secondShare * second[i];
        worst = std::max(worst, std::abs(ambientC_ + response.gain * x - valueC[i]));
    }
    return worst;
}

PlateResponse ResponseFit::fit(std::span<const double> valueC, double mostGain) const
{
    constexpr double mostShare = 3; // beyond it two large responses cancel, and what is left is noise
    constexpr double worthShare = 0.2, worthK = 0.05; // off the misfit of one lag
    const size_t lags = lagsS_.size();
    std::vector<double> with(lags, 0.0);
    for (size_t a = 0; a < lags; ++a)
        for (size_t i = 0; i < valueC.size(); ++i)
            with[a] += lagged_[a][i] * (valueC[i] - ambientC_);

    PlateResponse one{.lagS = lagsS_.front()}, two = one;
    double explainedByOne = 0, explainedByTwo = 0;
    for (size_t a = 0; a < lags; ++a) {
        if (!(shareOf(a, a) > 0))
            continue;
        const double gain = std::clamp(with[a] / shareOf(a, a), 0.0, mostGain);
        const double explainedHere = gain * (2 * with[a] - gain * shareOf(a, a));
        if (explainedHere > explainedByOne) {
            explainedByOne = explainedHere;
            one = {.gain = gain, .lagS = lagsS_[a]};
        }
        for (size_t b = a + 1; b < lags; ++b) {
            const double det = shareOf(a, a) * shareOf(b, b) - shareOf(a, b) * shareOf(a, b);
            if (!(det > 1e-9 * shareOf(a, a) * shareOf(b, b)))
                continue;
            const double first = (with[a] * shareOf(b, b) - with[b] * shareOf(a, b)) / det;
            const double second = (with[b] * shareOf(a, a) - with[a] * shareOf(a, b)) / det;
            const double explained = first * with[a] + second * with[b], both = first + second;
            if (explained > explainedByTwo && both > 0 && both <= mostGain &&
                std::abs(second) <= mostShare * both && std::abs(first) <= mostShare * both) {
                explainedByTwo = explained;
                two = {both, lagsS_[a], 0, lagsS_[b], second / both};
            }
        }
    }
    one.worstErrorK = worstErrorK(one, valueC);
    two.worstErrorK = two.gain > 0 ? worstErrorK(two, valueC) : std::numeric_limits<double>::infinity();
    return one.worstErrorK - two.worstErrorK > std::max(worthShare * one.worstErrorK, worthK) ? two : one;
}

} // namespace stripwright
