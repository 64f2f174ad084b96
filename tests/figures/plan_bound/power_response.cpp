#include "power_response.h"

#include "planner/heat_kinds.h"

#include <algorithm>
#include <cmath>

namespace stripwright {

using Eigen::Index;
using Eigen::MatrixXd;
using Eigen::VectorXd;

namespace {

HeatNetwork withRadiationAsFilm(HeatNetwork network, double aboutC)
{
    // The tangent: what counts is how a change of power changes temperatures.
    const double kelvin = aboutC + zeroCelsiusK;
    const double film = 4 * stefanBoltzmannWPerM2K4 * kelvin * kelvin * kelvin;
    for (const auto& radiator : network.radiators)
        network.films.push_back({radiator.node, radiator.emissivityTimesM2 * film});
    network.radiators.clear();
    network.fixCapacitiesAt(aboutC);
    return network;
}

VectorXd capacityOf(const HeatNetwork& network)
{
    return Eigen::Map<const VectorXd>(network.capacityJPerK.data(),
                                      static_cast<Index>(network.capacityJPerK.size()));
}

/// States of a linear network at every sample, one a column, under a drive given as a function of time.
template <class DriveAt>
MatrixXd statesOf(const HeatNetwork& network, const VectorXd& start, Index samples, DriveAt driveAt)
{
    MatrixXd states(start.size(), samples);
    states.col(0) = start;
    TransientSolver solver(network, start);
    constexpr int inner = 2;
    constexpr double stepS = PowerGrid::gridS / inner;
    for (Index n = 1; n < samples; ++n) {
        for (int i = 0; i < inner; ++i) {
            const double t0 = static_cast<double>(n - 1) * PowerGrid::gridS + i * stepS;
            solver.step(stepS, driveAt(t0), driveAt(t0 + stepS));
        }
        states.col(n) = solver.temperaturesC();
    }
    return states;
}

VectorXd weightsOf(const Station& station, Index nodes)
{
    VectorXd weights = VectorXd::Zero(nodes);
    for (const auto& share : station.shares)
        weights[share.node] += share.weight;
    return weights;
}

/// Row m: what a station reads m samples later for a unit of each node's temperature now. Conductances are
/// symmetric, so it is the network's own answer to the station's weights, by heat instead of temperature.
MatrixXd readoutOf(const HeatNetwork& network, const VectorXd& weights, Index samples)
{
    const VectorXd capacity = capacityOf(network);
    const MatrixXd states =
        statesOf(network, weights.cwiseQuotient(capacity), samples, [](double) { return Drive{}; });
    return states.transpose() * capacity.asDiagonal();
}

/// PredictedHeat to a hat of the drive, one sample wide to either side, from the answer to a ramp; sample 0
/// is at the hat's top.
template <class Row> VectorXd hatOf(const Row& ramp)
{
    const Index samples = ramp.size();
    VectorXd hat(samples - 1);
    for (Index m = 0; m + 1 < samples; ++m)
        hat[m] = (ramp[m + 1] - 2 * ramp[m] + (m > 0 ? ramp[m - 1] : 0)) / PowerGrid::gridS;
    return hat;
}
/// The plate's answers with its losses off by a factor as it coasts (search/scenario.h).
Response coastingIn(const Response& plate, double lossFactor, Index off)
{
    Response in = plate;
    for (Index n = off + 1; n < plate.rows(); ++n) {
        const double place = static_cast<double>(off) + static_cast<double>(n - off) * lossFactor;
        const Index before = std::min(static_cast<Index>(place), plate.rows() - 2);
        in.row(n) = plate.row(before) +
                    (place - static_cast<double>(before)) * (plate.row(before + 1) - plate.row(before));
    }
    return in;
}

} // namespace

PowerResponse::PowerResponse(const BenchSheet& sheet, const PowerGrid& grid, double aboutC)
    : grid_(grid), fan_(sheet.cooling.fan)
{
    const Index samples = grid.samples(), off = static_cast<Index>(grid.offS() / PowerGrid::gridS);
    constexpr Index perPiece = static_cast<Index>(PowerGrid::pieceS / PowerGrid::gridS);

    StripModelOptions options;
    options.plateIsNode = true;
    const StripModel powered = buildStripModel(sheet, options);
    const HeatNetwork heating = withRadiationAsFilm(powered.network, aboutC);
    const auto nodes = static_cast<Index>(heating.capacityJPerK.size());
    // The power ends between two steps, not along one.
    const double endS = PowerGrid::pieceS - 1e-9;
    const double watts = sheet.plate.powerW;
    const MatrixXd pulse = [&] {
        MatrixXd states(nodes, samples);
        TransientSolver solver(heating, VectorXd::Zero(nodes));
        states.col(0).setZero();
        for (Index n = 1; n < samples; ++n) {
            const double t0 = static_cast<double>(n - 1) * PowerGrid::gridS;
            const Drive drive{0, 0, t0 < endS ? watts : 0};
            for (int i = 0; i < 2; ++i)
                solver.step(PowerGrid::gridS / 2, drive, drive);
            states.col(n) = solver.temperaturesC();
        }
        return states;
    }();
    plate_ = Response::Zero(samples, grid.pieces);
    const VectorXd plateWeights = weightsOf(*powered.find({StationKind::Plate}), nodes);
    const VectorXd plateAfterPulse = pulse.transpose() * plateWeights;
    options.fan = fan_;
    const HeatNetwork coasting = withRadiationAsFilm(buildStripModel(sheet, options).network, aboutC);
    const MatrixXd readout = readoutOf(coasting, plateWeights, samples - off);
    for (Index k = 0; k < grid.pieces; ++k) {
        const Index from = k * perPiece;
        for (Index n = from; n <= off; ++n)
            plate_(n, k) = plateAfterPulse[n - from];
        plate_.col(k).segment(off, samples - off) = readout * pulse.col(off - from);
    }

    for (const Scenario& scenario : scenariosOf(sheet)) {
        Strip& strip = strips_.emplace_back();
        strip.plate = coastingIn(plate_, scenario.plateLossFactor, off);
        StripModelOptions stripOptions = optionsIn(scenario, sheet, {});
        stripOptions.spares = taskOf(sheet).spares;
        strip.model = buildStripModel(sheet, stripOptions);
        const HeatNetwork network = withRadiationAsFilm(strip.model.network, aboutC);
        strip.capacity = capacityOf(network);
        const VectorXd cold = VectorXd::Zero(strip.capacity.size());
        const auto rising = [](double t) { return Drive{0, t, 0}; };
        strip.heating = statesOf(network, cold, samples + 1, rising);
        if (!fan_)
            continue;
        stripOptions.fan = true;
        strip.cooling = withRadiationAsFilm(buildStripModel(sheet, stripOptions).network, aboutC);
        strip.coolingRamp = statesOf(strip.cooling, cold, samples - off + 1, rising);
        strip.coolingStep = statesOf(strip.cooling, cold, samples - off, [](double) {
            return Drive{0, 1, 0};
        });
    }
}

Response PowerResponse::station(size_t scenario, StationId id) const
{
    const Strip& strip = strips_[scenario];
    const Index samples = grid_.samples(), off = static_cast<Index>(grid_.offS() / PowerGrid::gridS);
    const Station* station = strip.model.find(id);
    if (!station)
        throw std::runtime_error("the heat model has no station " + id.name());
    const VectorXd weights = weightsOf(*station, strip.capacity.size());
    const VectorXd ramp = strip.heating.transpose() * weights;
    const VectorXd hat = hatOf(ramp);
    // byPlate(n, j): this station at sample n for a plate that is 1 K up at sample j.
    Response byPlate = Response::Zero(samples, samples);
    for (Index n = 0; n < samples; ++n)
        for (Index j = 0; j <= n; ++j)
            byPlate(n, j) = hat[n - j];
    if (fan_) {
        const Index after = samples - off;
        const MatrixXd readout = readoutOf(strip.cooling, weights, after);
        MatrixXd hats(strip.capacity.size(), off + 1); // states at heater-off of a hat at each sample before
        for (Index j = 0; j <= off; ++j) {
            const Index m = off - j;
            hats.col(j) = (strip.heating.col(m + 1) - 2 * strip.heating.col(m)) / PowerGrid::gridS;
            if (m > 0)
                hats.col(j) += strip.heating.col(m - 1) / PowerGrid::gridS;
        }
        byPlate.block(off, 0, after, off + 1) = readout * hats;
        const VectorXd coolingRamp = strip.coolingRamp.transpose() * weights;
        const VectorXd coolingHat = hatOf(coolingRamp);
        const VectorXd coolingStep = strip.coolingStep.transpose() * weights;
        for (Index m = 1; m < after; ++m) {
            // What the plate still does after heater-off; its first sample is a step and the slope after it.
            byPlate(off + m, off) +=
                coolingStep[m] - (coolingRamp[m] - coolingRamp[m - 1]) / PowerGrid::gridS;
            for (Index j = 1; j <= m; ++j)
                byPlate(off + m, off + j) = coolingHat[m - j];
        }
    }
    return byPlate.triangularView<Eigen::Lower>() * strip.plate;
}

PredictedHeat wholeModelOf(const BenchSheet& sheet, const PowerGrid& grid, const VectorXd& power)
{
    Index first = 0;
    while (first + 1 < power.size() && power[first] <= 1e-9)
        ++first;
    const double startS = static_cast<double>(first) * PowerGrid::pieceS;
    StripModelOptions options;
    options.plateIsNode = true;
    StripModel powered = buildStripModel(sheet, options);
    const auto nodes = static_cast<Index>(powered.network.capacityJPerK.size());
    TransientSolver solver(powered.network, VectorXd::Constant(nodes, sheet.air.ambientC));
    const Station& body = *powered.find({StationKind::Plate});

    PredictedHeat answer;
    PlateCurve plate;
    const double offS = grid.offS() - startS, judgedS = offS + PowerGrid::afterOffS;
    for (int second = 0; second <= static_cast<int>(judgedS); ++second) {
        plate.timeS.push_back(second);
        plate.plateC.push_back(body.valueC(solver.temperaturesC()));
        if (second == static_cast<int>(offS) && sheet.cooling.fan) {
            options.fan = true;
            solver.replaceConductances(buildStripModel(sheet, options).network);
        }
        const Index piece = first + static_cast<Index>(second / PowerGrid::pieceS);
        const Drive drive{sheet.air.ambientC, 0,
                          piece < power.size() ? power[piece] * sheet.plate.powerW : 0};
        for (int i = 0; i < 2; ++i)
            solver.step(0.5, drive, drive);
    }
    PredictOptions predictOptions;
    predictOptions.stepS = 1;
    const HeatTask task = taskOf(sheet);
    predictOptions.spares = task.spares;
    if (sheet.cooling.fan)
        predictOptions.fanFromS = offS;
    answer.predictions = predictScenarios(sheet, plate, offS, predictOptions);
    answer.reference.plateC = std::move(plate.plateC);
    answer.reference.heaterOffS = offS;
    judge(answer, task);
    return answer;
}

} // namespace stripwright
