#include "planner/unit_response.h"

#include <cmath>
#include <future>

namespace stripwright {

void UnitResponse::runScenario(const BenchSheet& sheet, size_t scenario, double aboutC)
{
    const double hot = aboutC + zeroCelsiusK, cold = sheet.air.ambientC + zeroCelsiusK;
    const double filmPerEmissivity = stefanBoltzmannWPerM2K4 * (hot * hot + cold * cold) * (hot + cold);
    const Scenario one = scenariosOf(sheet)[scenario];
    StripModelOptions options;
    options.contact = one.contact;
    options.filmFactor = one.filmFactor;
    StripModel model = buildStripModel(sheet, options);
    for (const auto& radiator : model.network.radiators)
        model.network.films.push_back({radiator.node, radiator.emissivityTimesM2 * filmPerEmissivity});
    model.network.radiators.clear();
    model.network.fixCapacitiesAt(aboutC);
    std::vector<std::pair<size_t, const Station*>> watched;
    for (size_t column = 0; column < columns_.size(); ++column)
        if (columns_[column].scenario == scenario)
            watched.push_back({column, model.find(columns_[column].station)});

    const auto nodes = static_cast<Eigen::Index>(model.network.capacityJPerK.size());
    TransientSolver solver(model.network, Eigen::VectorXd::Zero(nodes));
    // Draw of a ramp is C + G t once the first seconds have passed: sums for the straight line through it.
    double n = 0, sumT = 0, sumTT = 0, sumW = 0, sumTW = 0;
    constexpr double fineUntilS = 60, fineStepS = 1;
    for (size_t step = 1; step < steps_; ++step) {
        const double from = static_cast<double>(step - 1) * stepS_;
        const int inner =
            from < fineUntilS ? std::max(1, static_cast<int>(std::ceil(stepS_ / fineStepS))) : 1;
        for (int i = 0; i < inner; ++i) {
            const double t0 = from + stepS_ * i / inner, t1 = from + stepS_ * (i + 1) / inner;
            solver.step(stepS_ / inner, {0, t0, 0}, {0, t1, 0});
        }
        for (const auto& [column, station] : watched)
            ramp_[column * steps_ + step] = station->valueC(solver.temperaturesC());
        const double t = static_cast<double>(step) * stepS_;
        if (scenario == nominalScenario && t >= 20) {
            const double watts = solver.heatFromPlateW(t);
            n += 1, sumT += t, sumTT += t * t, sumW += watts, sumTW += t * watts;
        }
    }
    if (n > 1) {
        draw_.conductanceWPerK = (n * sumTW - sumT * sumW) / (n * sumTT - sumT * sumT);
        draw_.heatCapacityJPerK = (sumW - draw_.conductanceWPerK * sumT) / n;
    }
}

UnitResponse::UnitResponse(const BenchSheet& sheet, std::vector<Column> columns, double stepS, double endS,
                           double aboutC)
    : columns_(std::move(columns)), steps_(static_cast<size_t>(std::lround(endS / stepS)) + 1), stepS_(stepS),
      ramp_(steps_ * columns_.size(), 0.0)
{
    for (const Column& column : columns_)
        ambientRiseK_.push_back(scenariosOf(sheet)[column.scenario].ambientRiseK);
    std::vector<std::future<void>> running;
    for (size_t scenario = 0; scenario < scenarioCount; ++scenario)
        running.push_back(
            std::async(std::launch::async, [=, this, &sheet] { runScenario(sheet, scenario, aboutC); }));
    for (auto& one : running)
        one.get();
}

void UnitResponse::curves(std::span<const double> plateC, double ambientC, std::vector<double>& out) const
{
    const size_t samples = plateC.size();
    out.resize(samples * columns_.size());
    std::vector<std::pair<size_t, double>> bends;
    double slopeBefore = 0;
    for (size_t k = 0; k + 1 < samples; ++k) {
        const double slope = (plateC[k + 1] - plateC[k]) / stepS_;
        // A bend this small adds under 0.002 K in ten minutes; it is carried on to the next one.
        if (std::abs(slope - slopeBefore) < 3e-6)
            continue;
        bends.push_back({k, slope - slopeBefore});
        slopeBefore = slope;
    }
    for (size_t column = 0; column < columns_.size(); ++column) {
        double* sum = &out[column * samples];
        const double* rise = &ramp_[column * steps_];
        std::fill(sum, sum + samples, ambientC + ambientRiseK_[column]);
        // The plate starts as cold as the sheet's room whatever the scenario's is: a difference that the
        // whole model's residue makes up for.
        for (const auto& [k, bend] : bends)
            for (size_t i = 1; i + k < samples; ++i)
                sum[k + i] += bend * rise[i];
    }
}

} // namespace stripwright
