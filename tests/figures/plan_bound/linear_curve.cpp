#include "linear_curve.h"

#include <cmath>
#include <limits>

namespace stripwright {

using Eigen::Index;
using Eigen::RowVectorXd;
using Eigen::VectorXd;

LinearCurve::LinearCurve(const ResponseColumn& column, const std::vector<double>& timeS,
                         const VectorXd& power)
    : column_(column), timeS_(timeS), valueC_(column.response * power + column.offset)
{
}

Curve LinearCurve::curve() const
{
    return {timeS_, {valueC_.data(), static_cast<size_t>(valueC_.size())}};
}

Index LinearCurve::hottest() const
{
    Index at = 0;
    valueC_.maxCoeff(&at);
    return at;
}

Linear LinearCurve::sample(Index n) const
{
    return {column_.offset[n], column_.response.row(n)};
}

Linear LinearCurve::slope(Index n, int sign) const
{
    const double scale = sign / slopeWindowS;
    return {scale * (column_.offset[n + slopeSamples] - column_.offset[n]),
            scale * (column_.response.row(n + slopeSamples) - column_.response.row(n))};
}

std::optional<Index> LinearCurve::rise(double levelC, Index from) const
{
    for (Index n = from; n + 1 < valueC_.size(); ++n)
        if (valueC_[n] < levelC && valueC_[n + 1] >= levelC)
            return n;
    return {};
}

std::optional<Index> LinearCurve::lastFall(double levelC) const
{
    for (Index n = valueC_.size() - 1; n-- > 0;)
        if (valueC_[n] >= levelC && valueC_[n + 1] < levelC)
            return n;
    return {};
}

double LinearCurve::leavesStartC() const
{
    constexpr double startLevelC = 25; // or 5 K over a warmer start
    return valueC_[0] < startLevelC ? startLevelC : valueC_[0] + 5;
}

double LinearCurve::reaches(double levelC) const
{
    const double overK = valueC_.maxCoeff() - levelC;
    return overK < 0 ? overK / reachK : std::numeric_limits<double>::infinity();
}

std::optional<Linear> LinearCurve::measured(const Limit& limit) const
{
    switch (limit.metric) {
    case Metric::TimeAbove:
        return timeAbove(limit.levelC);
    case Metric::SoakTime:
        return soakTime(limit.levelC, limit.upperLevelC);
    case Metric::TimeToPeak:
        return timeToPeak();
    case Metric::MeanCooling:
        return meanCooling(limit.levelC);
    default:
        return {};
    }
}

// Time of a crossing, moved by what temperature changes there. `n` is the sample before it.
Linear LinearCurve::crossing(Index n, double levelC) const
{
    const double rise = valueC_[n + 1] - valueC_[n];
    const double share = (levelC - valueC_[n]) / rise;
    constexpr double leastCPerS = 0.03; // A flatter crossing has no time worth the name.
    double slope = rise / PowerGrid::gridS;
    slope = std::copysign(std::max(std::abs(slope), leastCPerS), slope);
    const RowVectorXd here = (1 - share) * column_.response.row(n) + share * column_.response.row(n + 1);
    const double hereOffset = (1 - share) * column_.offset[n] + share * column_.offset[n + 1];
    const double t = timeS_[n] + share * PowerGrid::gridS;
    return {t - (hereOffset - levelC) / slope, -here / slope};
}

double LinearCurve::crossingS(Index n, double levelC) const
{
    return timeS_[n] + PowerGrid::gridS * (levelC - valueC_[n]) / (valueC_[n + 1] - valueC_[n]);
}

std::optional<Linear> LinearCurve::timeAbove(double levelC) const
{
    Linear total{0, RowVectorXd::Zero(column_.response.cols())};
    bool any = false;
    for (Index n = 0; n + 1 < valueC_.size(); ++n) {
        const bool below = valueC_[n] < levelC, belowNext = valueC_[n + 1] < levelC;
        if (below == belowNext)
            continue;
        const Linear time = crossing(n, levelC);
        total.at += below ? -time.at : time.at;
        total.perPower += below ? RowVectorXd(-time.perPower) : time.perPower;
        any = true;
    }
    if (valueC_[valueC_.size() - 1] >= levelC)
        total.at += timeS_.back();
    return any ? std::optional(total) : std::nullopt;
}

std::optional<Linear> LinearCurve::soakTime(double lowC, double highC) const
{
    const auto from = rise(lowC);
    const auto to = from ? rise(highC, *from) : std::nullopt;
    if (!to)
        return {};
    const Linear a = crossing(*from, lowC), b = crossing(*to, highC);
    return Linear{b.at - a.at, b.perPower - a.perPower};
}

std::optional<Linear> LinearCurve::timeToPeak() const
{
    const auto from = rise(leavesStartC());
    if (!from)
        return {};
    const Linear a = crossing(*from, leavesStartC());
    return Linear{timeS_[hottest()] - a.at, -a.perPower};
}

std::optional<Linear> LinearCurve::meanCooling(double levelC) const
{
    for (Index n = valueC_.size() - 1; n-- > hottest();)
        if (valueC_[n] >= levelC && valueC_[n + 1] < levelC) {
            const Linear end = crossing(n, levelC), top = sample(hottest());
            const double height = valueC_[hottest()] - levelC;
            const double length = crossingS(n, levelC) - timeS_[hottest()];
            if (height < 1 || length < 1)
                return {};
            // d(height / length) about the present values.
            return Linear{height / length + (top.at - levelC - height) / length -
                              height / (length * length) * (end.at - timeS_[hottest()] - length),
                          top.perPower / length - height / (length * length) * end.perPower};
        }
    return {};
}

} // namespace stripwright
