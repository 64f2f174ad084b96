#pragma once

#include "power_response.h"

#include <cstdint>
#include <optional>

namespace stripwright {

constexpr Eigen::Index slopeSamples = static_cast<Eigen::Index>(slopeWindowS / PowerGrid::gridS);

/// One station in one scenario, and the limits it is judged by.
struct ResponseColumn {
    size_t scenario; ///< Index into scenariosOf(), or plateColumn.
    StationId station;
    Response response;
    Eigen::VectorXd offset; ///< Ambient and the whole model's residue.
    std::vector<Limit> limits;
};
constexpr size_t plateColumn = SIZE_MAX;

/// A value linear in power: at + perPower · power.
struct Linear {
    double at = 0;
    Eigen::RowVectorXd perPower;
};

/// A column's curve at one power, and what is measured of it as linear functions of power about that one.
class LinearCurve {
public:
    LinearCurve(const ResponseColumn& column, const std::vector<double>& timeS, const Eigen::VectorXd& power);

    Curve curve() const;
    const Eigen::VectorXd& valueC() const { return valueC_; }
    Eigen::Index hottest() const;

    Linear sample(Eigen::Index n) const;
    Linear slope(Eigen::Index n,
                 int sign) const; ///< Mean over the window that begins at sample n, times sign.
    std::optional<Linear> measured(const Limit& limit) const; ///< If it moves smoothly with power.

    std::optional<Eigen::Index> rise(double levelC, Eigen::Index from = 0) const; ///< Sample before it.
    std::optional<Eigen::Index> lastFall(double levelC) const;
    double leavesStartC() const; ///< Time to peak counts from here.

    /// A curve that never gets to a level has no time above it to climb: what it lacks counts instead, in
    /// reachK. Infinite if it gets there.
    double reaches(double levelC) const;
    static constexpr double reachK = 10;

private:
    Linear crossing(Eigen::Index n, double levelC) const;
    double crossingS(Eigen::Index n, double levelC) const;
    std::optional<Linear> timeAbove(double levelC) const;
    std::optional<Linear> soakTime(double lowC, double highC) const;
    std::optional<Linear> timeToPeak() const;
    std::optional<Linear> meanCooling(double levelC) const;

    const ResponseColumn& column_;
    const std::vector<double>& timeS_;
    Eigen::VectorXd valueC_;
};

} // namespace stripwright
