#pragma once

#include "linear_program.h"
#include "power_response.h"

#include "analysis/limits.h"

#include <functional>

namespace stripwright {

/// What a power does, judged as a plan is.
struct Judged {
    Eigen::VectorXd power; ///< Shares of the plate's power, one a piece.
    WholeModel whole;
    std::vector<MarginRow> rows; ///< Of every limit, worst first.
    double worst = 0;            ///< Normalised, over the limits that count.
};

/// Climbs the worst normalised margin of some limits of a sheet by linear programs: crossing times linearised
/// about the last curve, its change bounded. Temperatures are linear in power, with what the whole heat model
/// says more of the last curve added.
class MarginSearch {
public:
    /// Limits that are no habit and for which `counts` is true; `near` tells those that can matter.
    MarginSearch(const BenchSheet& sheet, const PowerGrid& grid, const PowerResponse& response,
                 const std::function<bool(const Limit&)>& counts,
                 const std::function<bool(const Limit&)>& near);

    /// Power whose plate curve is nearest to this one in its worst sample up to heater-off; at grid samples.
    Eigen::VectorXd powerForPlate(const Eigen::VectorXd& plateC) const;
    /// Same for a target joint at nominal contact.
    Eigen::VectorXd powerForJoint(int site, const Eigen::VectorXd& jointC) const;

    Judged judge(const Eigen::VectorXd& power) const; ///< By the whole heat model.
    /// Programs and whole models in turn until neither gains; never worse than the start.
    Judged climb(const Eigen::VectorXd& start);
    double linearWorst(const Eigen::VectorXd& power) const; ///< By superposition, residue of the last curve.

    struct Column {
        size_t scenario; ///< Index into scenariosOf(), or plateColumn.
        std::string station;
        Response response;
        Eigen::VectorXd offset; ///< Ambient and the whole model's residue.
        std::vector<Limit> limits;
    };
    static constexpr size_t plateColumn = scenarioCount;
    const std::vector<Column>& columns() const { return columns_; }
    void correctBy(const Judged& judged);

private:
    Eigen::VectorXd powerFor(const Response& response, const Eigen::VectorXd& offset,
                             const Eigen::VectorXd& wantedC) const;
    std::optional<Eigen::VectorXd> program(const Eigen::VectorXd& about, const Eigen::VectorXd& judged,
                                           double reachK) const;

    const BenchSheet& sheet_;
    const PowerGrid grid_;
    const PowerResponse& response_;
    std::vector<Limit> limits_, counted_;
    std::vector<Column> columns_;
    std::vector<double> timeS_;
};

} // namespace stripwright
