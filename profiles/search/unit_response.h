#pragma once

#include "search/plate_reference.h"
#include "search/scenario.h"

#include <span>

namespace stripwright {

/// A station's curve in one scenario.
struct Column {
    size_t scenario = 0; ///< Index into scenariosOf().
    StationId station;
    bool operator==(const Column&) const = default;
};

/// Response of watched stations to a plate that rises 1 K/s from zero, so that the answer to any plate curve
/// is a sum (superposition holds for fixed conductances; radiation is taken as a film at `aboutC`, heat
/// capacities as they are there).
class UnitResponse {
public:
    UnitResponse() = default;
    UnitResponse(const BenchSheet& sheet, std::vector<Column> columns, double stepS, double endS,
                 double aboutC, const std::vector<SpareLed>& spares = {});

    const std::vector<Column>& columns() const { return columns_; }
    double stepS() const { return stepS_; }

    /// Curves of some columns, one after the other, each with the plate curve's number of samples [°C].
    /// The plate curve must start at ambientC, have this response's step and at most its length; from
    /// heaterOffS on each column has it coast as its scenario does.
    std::vector<double> curves(std::span<const double> plateC, double heaterOffS, double ambientC,
                               std::span<const size_t> columns) const;

    /// What the strip takes from the plate as stated, fitted to the response.
    StripDraw draw() const { return draw_; }

private:
    void run(const BenchSheet& sheet, size_t scenario, double aboutC, const std::vector<SpareLed>& spares);

    std::vector<Column> columns_;
    std::vector<Scenario> scenarios_;
    size_t steps_ = 0;
    double stepS_ = 1;
    std::vector<double> ramp_; // [column * steps + step], rise in K
    StripDraw draw_;
};

} // namespace stripwright
