#pragma once

#include "planner/plate_reference.h"
#include "thermal/predict.h"

#include <array>
#include <span>

namespace stripwright {

constexpr std::array<ContactLevel, 3> contactLevels = {ContactLevel::Low, ContactLevel::Nominal,
                                                       ContactLevel::High};

/// Answer of watched stations to a plate that rises 1 K/s from zero, so that the answer to any plate curve is
/// a sum (superposition holds for fixed conductances; radiation is taken as a film at `aboutC`). One column a
/// station and contact level: column = level * stations + station.
class UnitResponse {
public:
    UnitResponse() = default;
    UnitResponse(const BenchSheet& sheet, std::vector<std::string> stations, double stepS, double endS,
                 double aboutC);

    const std::vector<std::string>& stations() const { return stations_; }
    size_t columns() const { return columns_; }
    double stepS() const { return stepS_; }

    /// Curves of every column, one after the other, each with the plate curve's number of samples [°C].
    /// The plate curve must have this response's step and at most its length.
    void curves(std::span<const double> plateC, double ambientC, std::vector<double>& out) const;

    /// What the strip takes from the plate at nominal contact, fitted to the response.
    StripDraw draw() const { return draw_; }

private:
    std::vector<std::string> stations_;
    size_t columns_ = 0, steps_ = 0;
    double stepS_ = 1;
    std::vector<double> ramp_; // [step * columns + column], rise in K
    StripDraw draw_;
};

} // namespace stripwright
