#include "search/unit_response.h"

#include <Eigen/QR>
#include <algorithm>
#include <cmath>
#include <future>
#include <numeric>

namespace stripwright {

// Watts drawn by a ramp of 1 K/s, from the first step on: G t + C + sum of C_i (1 - exp(-t / lag_i)). Least
// squares; a capacity that comes out negative is left out.
static StripDraw fittedDraw(const std::vector<double>& drawnW, double stepS)
{
    constexpr std::array<double, 3> lagsS = {6, 30, 150};
    const auto rows = static_cast<Eigen::Index>(drawnW.size());
    Eigen::MatrixXd basis(rows, 2 + static_cast<Eigen::Index>(lagsS.size()));
    Eigen::VectorXd watts(rows);
    for (Eigen::Index i = 0; i < rows; ++i) {
        const double t = static_cast<double>(i + 1) * stepS;
        basis(i, 0) = t;
        basis(i, 1) = 1;
        for (size_t k = 0; k < lagsS.size(); ++k)
            basis(i, 2 + static_cast<Eigen::Index>(k)) = 1 - std::exp(-t / lagsS[k]);
        watts[i] = drawnW[static_cast<size_t>(i)];
    }
    std::vector<Eigen::Index> used(static_cast<size_t>(basis.cols()));
    std::iota(used.begin(), used.end(), 0);
    Eigen::VectorXd found = Eigen::VectorXd::Zero(basis.cols());
    while (!used.empty()) {
        const Eigen::VectorXd some =
            Eigen::MatrixXd(basis(Eigen::all, used)).colPivHouseholderQr().solve(watts);
        Eigen::Index least = 0;
        if (some.minCoeff(&least) >= 0) {
            for (size_t i = 0; i < used.size(); ++i)
                found[used[i]] = some[static_cast<Eigen::Index>(i)];
            break;
        }
        used.erase(used.begin() + least);
    }
    StripDraw draw{found[1], found[0], {}};
    for (size_t k = 0; k < lagsS.size(); ++k)
        draw.late[k] = {found[2 + static_cast<Eigen::Index>(k)], lagsS[k]};
    return draw;
}

void UnitResponse::run(const BenchSheet& sheet, size_t scenario, double aboutC,
                       const std::vector<SpareLed>& spares)
{
    const double hot = aboutC + zeroCelsiusK, cold = sheet.air.ambientC + zeroCelsiusK;
    const double filmPerEmissivity = stefanBoltzmannWPerM2K4 * (hot * hot + cold * cold) * (hot + cold);
    PredictOptions shared;
    shared.spares = spares;
    StripModel model = buildStripModel(sheet, optionsIn(scenarios_[scenario], sheet, shared));
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
    std::vector<double> drawnW;
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
        if (scenario == asStated)
            drawnW.push_back(solver.heatFromPlateW(static_cast<double>(step) * stepS_));
    }
    if (scenario == asStated)
        draw_ = fittedDraw(drawnW, stepS_);
}

UnitResponse::UnitResponse(const BenchSheet& sheet, std::vector<Column> columns, double stepS, double endS,
                           double aboutC, const std::vector<SpareLed>& spares)
    : columns_(std::move(columns)), scenarios_(scenariosOf(sheet)),
      steps_(static_cast<size_t>(std::lround(endS / stepS)) + 1), stepS_(stepS),
      ramp_(steps_ * columns_.size(), 0.0)
{
    std::vector<std::future<void>> running;
    for (size_t scenario = 0; scenario < scenarios_.size(); ++scenario) {
        const bool watched = std::any_of(columns_.begin(), columns_.end(),
                                         [&](const Column& one) { return one.scenario == scenario; });
        if (watched || scenario == asStated)
            running.push_back(std::async(
                std::launch::async, [=, this, &sheet, &spares] { run(sheet, scenario, aboutC, spares); }));
    }
    for (auto& one : running)
        one.get();
}

namespace {

struct Bend {
    size_t at;
    double perStepS; ///< Change of slope.
};

std::vector<Bend> bendsOf(const std::vector<double>& plateC, double stepS)
{
    constexpr double leastCPerS = 3e-6; // adds under 0.002 K in ten minutes; it is carried on to the next one
    std::vector<Bend> bends;
    double slopeBefore = 0;
    for (size_t k = 0; k + 1 < plateC.size(); ++k) {
        const double slope = (plateC[k + 1] - plateC[k]) / stepS;
        if (std::abs(slope - slopeBefore) < leastCPerS)
            continue;
        bends.push_back({k, slope - slopeBefore});
        slopeBefore = slope;
    }
    return bends;
}

// Four at a time where they follow one another: a sum is then fetched and stored once for four.
void addBends(const std::vector<Bend>& bends, const double* rise, size_t samples, double* sum)
{
    constexpr size_t together = 4;
    for (size_t b = 0; b < bends.size();) {
        const size_t at = bends[b].at;
        if (b + together > bends.size() || bends[b + 3].at != at + 3 || at + together >= samples) {
            for (size_t i = 1; i + at < samples; ++i)
                sum[at + i] += bends[b].perStepS * rise[i];
            ++b;
            continue;
        }
        const double b0 = bends[b].perStepS, b1 = bends[b + 1].perStepS, b2 = bends[b + 2].perStepS,
                     b3 = bends[b + 3].perStepS;
        sum[at + 1] += b0 * rise[1];
        sum[at + 2] += b0 * rise[2] + b1 * rise[1];
        sum[at + 3] += b0 * rise[3] + b1 * rise[2] + b2 * rise[1];
        for (size_t i = together; i + at < samples; ++i)
            sum[at + i] += b0 * rise[i] + b1 * rise[i - 1] + b2 * rise[i - 2] + b3 * rise[i - 3];
        b += together;
    }
}

} // namespace

std::vector<double> UnitResponse::curves(std::span<const double> plateC, double heaterOffS, double ambientC,
                                         std::span<const size_t> columns) const
{
    const size_t samples = plateC.size();
    std::vector<double> sums(samples * columns.size());
    std::vector<std::vector<Bend>> bends(scenarios_.size());
    for (size_t i = 0; i < columns.size(); ++i) {
        const Column& column = columns_[columns[i]];
        const Scenario& scenario = scenarios_[column.scenario];
        const double roomC = ambientC + scenario.ambientRiseK;
        if (bends[column.scenario].empty()) {
            std::vector<double> coastingC = coastingIn(scenario, plateC, stepS_, heaterOffS);
            coastingC[0] = roomC; // the plate is as cold as the sheet's room: within the first step
            bends[column.scenario] = bendsOf(coastingC, stepS_);
        }
        double* sum = &sums[i * samples];
        std::fill(sum, sum + samples, roomC);
        addBends(bends[column.scenario], &ramp_[columns[i] * steps_], samples, sum);
    }
    return sums;
}

} // namespace stripwright
