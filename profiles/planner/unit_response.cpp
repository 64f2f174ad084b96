#include "planner/unit_response.h"

#include <cmath>

namespace stripwright {

UnitResponse::UnitResponse(const BenchSheet& sheet, std::vector<std::string> stations, double stepS,
                           double endS, double aboutC)
    : stations_(std::move(stations)), columns_(stations_.size() * contactLevels.size()),
      steps_(static_cast<size_t>(std::lround(endS / stepS)) + 1), stepS_(stepS), ramp_(steps_ * columns_, 0.0)
{
    const double hot = aboutC + zeroCelsiusK, cold = sheet.air.ambientC + zeroCelsiusK;
    const double filmPerEmissivity = stefanBoltzmannWPerM2K4 * (hot * hot + cold * cold) * (hot + cold);
    for (size_t level = 0; level < contactLevels.size(); ++level) {
        StripModelOptions options;
        options.contact = contactLevels[level];
        StripModel model = buildStripModel(sheet, options);
        for (const auto& radiator : model.network.radiators)
            model.network.films.push_back({radiator.node, radiator.emissivityTimesM2 * filmPerEmissivity});
        model.network.radiators.clear();
        model.network.fixCapacitiesAt(aboutC);
        std::vector<const Station*> watched;
        for (const std::string& name : stations_)
            watched.push_back(model.find(name));

        const auto nodes = static_cast<Eigen::Index>(model.network.capacityJPerK.size());
        TransientSolver solver(model.network, Eigen::VectorXd::Zero(nodes));
        const int inner = std::max(1, static_cast<int>(std::ceil(stepS)));
        // Draw of a ramp is C + G t once the first seconds have passed: two sums for the straight line
        // through it.
        double n = 0, sumT = 0, sumTT = 0, sumW = 0, sumTW = 0;
        for (size_t step = 1; step < steps_; ++step) {
            for (int i = 0; i < inner; ++i) {
                const double t0 = ((step - 1) + double(i) / inner) * stepS, t1 = t0 + stepS / inner;
                solver.step(stepS / inner, {0, t0, 0}, {0, t1, 0});
            }
            for (size_t s = 0; s < watched.size(); ++s)
                ramp_[step * columns_ + level * stations_.size() + s] =
                    watched[s]->valueC(solver.temperaturesC());
            const double t = step * stepS;
            if (contactLevels[level] == ContactLevel::Nominal && t >= 20) {
                const double watts = solver.heatFromPlateW(t);
                n += 1, sumT += t, sumTT += t * t, sumW += watts, sumTW += t * watts;
            }
        }
        if (n > 1) {
            draw_.conductanceWPerK = (n * sumTW - sumT * sumW) / (n * sumTT - sumT * sumT);
            draw_.heatCapacityJPerK = (sumW - draw_.conductanceWPerK * sumT) / n;
        }
    }
}

void UnitResponse::curves(std::span<const double> plateC, double ambientC, std::vector<double>& out) const
{
    const size_t samples = plateC.size();
    std::vector<double> byTime(samples * columns_, ambientC);
    double slopeBefore = 0;
    for (size_t k = 0; k + 1 < samples; ++k) {
        const double slope = (plateC[k + 1] - plateC[k]) / stepS_;
        const double bend = slope - slopeBefore;
        // A bend this small adds under 0.002 K in ten minutes; it is carried on to the next one.
        if (std::abs(bend) < 3e-6)
            continue;
        slopeBefore = slope;
        const double* rise = &ramp_[columns_];
        double* sum = &byTime[(k + 1) * columns_];
        const size_t count = (samples - k - 1) * columns_;
        for (size_t i = 0; i < count; ++i)
            sum[i] += bend * rise[i];
    }
    out.resize(samples * columns_);
    for (size_t n = 0; n < samples; ++n)
        for (size_t column = 0; column < columns_; ++column)
            out[column * samples + n] = byTime[n * columns_ + column];
}

} // namespace stripwright
