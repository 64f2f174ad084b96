#pragma once

#include "search/whole_model.h"

#include <Eigen/Core>

#include <array>
#include <string>
#include <vector>

namespace stripwright {

/// The discretised problem: heater power in pieces of pieceS, held, and none from the last piece's end on,
/// which is heater-off (and the fan's start). Everything is sampled every gridS.
struct PowerGrid {
    static constexpr double pieceS = 4, gridS = 2, afterOffS = 440;
    int pieces = 120;
    double offS() const { return pieces * pieceS; }
    Eigen::Index samples() const { return static_cast<Eigen::Index>((offS() + afterOffS) / gridS) + 1; }
};

/// The plate that this power (shares of the plate's, one a piece) drives at nominal contact, and over that
/// plate curve the strip in every scenario, as a plan is predicted and judged; its shape is none. Times are 1
/// s apart, from the first power on.
PredictedHeat wholeModelOf(const BenchSheet& sheet, const PowerGrid& grid, const Eigen::VectorXd& power);

/// Rise over ambient of one station at every sample for each piece at full power [K], of the network with
/// radiation as a film: sample n, piece k at (n, k).
using Response = Eigen::Matrix<double, Eigen::Dynamic, Eigen::Dynamic, Eigen::RowMajor>;

/// Responses of a sheet. The plate takes the strip's draw at nominal contact; a station answers to that plate
/// curve in its own scenario. Before and after heater-off each have their own conductances where a fan
/// blows, joined exactly at heater-off.
class PowerResponse {
public:
    PowerResponse(const BenchSheet& sheet, const PowerGrid& grid, double aboutC);

    const Response& plate() const { return plate_; }
    Response station(size_t scenario, StationId id) const;

private:
    struct Strip {
        StripModel model;
        Eigen::MatrixXd heating; ///< States at each sample of a plate that rises 1 K/s, no fan.
        Eigen::VectorXd capacity;
        Eigen::MatrixXd coolingRamp, coolingStep; ///< Same after heater-off, with the fan if there is one.
        HeatNetwork cooling;
        Response plate; ///< As it coasts in this scenario.
    };
    const PowerGrid grid_;
    bool fan_;
    Response plate_;
    std::vector<Strip> strips_; ///< As scenariosOf().
};

} // namespace stripwright
