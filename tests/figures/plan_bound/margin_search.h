#pragma once

#include "linear_curve.h"

#include <functional>

namespace stripwright {

/// What a power does, judged as a plan is.
struct JudgedPower {
    Eigen::VectorXd power; ///< Shares of the plate's power, one a piece.
    PredictedHeat answer;
    double worst = 0; ///< Normalised, over the limits that count.
};

/// Climbs the worst normalised margin of some limits of a sheet by linear programs: crossing times linearised
/// about the last curve, its change bounded. Temperatures are linear in power, with what the whole heat model
/// says more of the last curve added.
class MarginSearch {
public:
    /// Limits that are no habit and for which `counts` is true; `near` tells those that can matter. What
    /// hands need are times above a level to the programs, the hands' own times those of the plan; what a new
    /// LED needs they leave out. judge() knows all of it.
    MarginSearch(const BenchSheet& sheet, const PowerGrid& grid, const PowerResponse& response,
                 const std::optional<HandTimes>& hands, const std::function<bool(const Limit&)>& counts,
                 const std::function<bool(const Limit&)>& near);

    /// Power whose plate curve is nearest to this one in its worst sample up to heater-off; at grid samples.
    Eigen::VectorXd powerForPlate(const Eigen::VectorXd& plateC) const;
    /// Same for a target joint at nominal contact.
    Eigen::VectorXd powerForJoint(int site, const Eigen::VectorXd& jointC) const;

    JudgedPower judge(const Eigen::VectorXd& power) const; ///< By the whole heat model.
    /// Programs and whole models in turn until neither gains; never worse than the start.
    JudgedPower climb(const Eigen::VectorXd& start);
    double linearWorst(const Eigen::VectorXd& power) const; ///< By superposition, residue of the last curve.

    const std::vector<ResponseColumn>& columns() const { return columns_; }
    void correctBy(const JudgedPower& judged);

private:
    void addColumns(const Limit& limit, const PowerResponse& response);
    Eigen::VectorXd powerFor(const Response& response, const Eigen::VectorXd& offset,
                             const Eigen::VectorXd& wantedC) const;

    const BenchSheet& sheet_;
    const PowerGrid grid_;
    const PowerResponse& response_;
    std::vector<Limit> limits_, counted_;
    std::vector<ResponseColumn> columns_;
    std::vector<double> timeS_;
};

} // namespace stripwright
