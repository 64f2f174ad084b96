#include "thermal/transient_solver.h"

#include "thermal/sparse_ldl.h"

#include <algorithm>
#include <cmath>
#include <stdexcept>

namespace stripwright {

using Eigen::ArrayXd;
using Eigen::VectorXd;

double EnergyBalance::closure() const
{
    const double residual = std::abs(fromHeaterJ + fromPlateJ - toAmbientJ - storedJ);
    return residual / std::max(turnoverJ, 1e-12);
}

namespace {

// Stage fractions of TR-BDF2 with gamma = 2 - sqrt 2; both stages share the factor d of the step.
const double gammaFraction = 2 - std::sqrt(2.0);
const double d = gammaFraction / 2;
const double w = std::sqrt(2.0) / 4;
const double bdfOld = -(1 - gammaFraction) * (1 - gammaFraction) / (gammaFraction * (2 - gammaFraction));
const double bdfStage = 1 / (gammaFraction * (2 - gammaFraction));

/// Heat flows into the network at one moment [W].
struct Flows {
    double heaterW = 0, plateW = 0, ambientW = 0;
};

Drive between(const Drive& start, const Drive& end, double fraction)
{
    auto mix = [fraction](double a, double b) { return a + (b - a) * fraction; };
    return {mix(start.ambientC, end.ambientC), mix(start.plateC, end.plateC),
            mix(start.heaterW, end.heaterW)};
}

struct AtTime {
    double time;
    const VectorXd& temperatureC;
};

/// The parabola through three moments, at `time`.
auto parabolaAt(double time, const AtTime& a, const AtTime& b, const AtTime& c)
{
    auto weight = [time](double own, double other, double third) {
        return (time - other) * (time - third) / ((own - other) * (own - third));
    };
    return weight(a.time, b.time, c.time) * a.temperatureC + weight(b.time, a.time, c.time) * b.temperatureC +
           weight(c.time, a.time, b.time) * c.temperatureC;
}

double pow4(double kelvin)
{
    const double square = kelvin * kelvin;
    return square * square;
}

/// Heat a film takes from its node, and its derivative by the node's temperature.
std::pair<double, double> filmLoss(const HeatNetwork::Film& film, double aboveAmbientK)
{
    const double wPerK = film.wPerK * std::pow(std::abs(aboveAmbientK) / film.refK, film.exponent);
    return {wPerK * aboveAmbientK, wPerK * (1 + film.exponent)};
}

} // namespace

// A stage solves H(T) + d dt (A T + P(T)) = known + what the boundaries bring: H the heat content, A the
// conductances, P the losses by radiation and power-law films. H and P act node by node, so with their slope
// m frozen in the matrix M = m + d dt A, a round of Newton's method is M T' = known + boundaries + rest(T)
// with rest(T) = m T - H(T) - d dt P(T), and rest(T') - rest(T) is the heat that T' still misses.
struct TransientSolver::Work {
    HeatNetwork network;
    bool isLinear = true;
    VectorXd nowC, stageC, otherC; // otherC: the last step's start; in mid-step this one's end
    double lastDtS = 1;
    ArrayXd nowJ; // heat content
    double startJ = 0;
    ArrayXd capacityJPerK, halfRiseJPerK2; // H = (T - 25) (capacity + halfRise (T - 25))
    ArrayXd filmWPerK, radiationWPerK4;    // per node
    std::vector<HeatNetwork::Film> powerFilms;
    double filmTotalWPerK = 0, plateTotalWPerK = 0, radiationTotalWPerK4 = 0;
    EnergyBalance energy;

    SparseLdl matrix;
    double matrixDtS = 0; // 0: to be factorised
    ArrayXd slope, offDiagonal;
    int rounds = 0; // solved in this step

    ArrayXd known, rest, missing, heatJ;
    ArrayXd endFlowW; // net flow at the end of the last step, which starts the next one
    Flows endFlows;
    Drive endDrive;
    bool endFlowIsValid = false;

    void assemble();
    void factorise(double dtS, const VectorXd& aboutC, double ambientC);
    void restAt(const VectorXd& temperatureC, double dtS, double ambientC, ArrayXd& out) const;
    void heatAt(const VectorXd& temperatureC, ArrayXd& out) const;
    void startFrom(const Drive& drive);
    Flows flowsAt(const VectorXd& temperatureC, const Drive& drive) const;
    void solveStage(double dtS, const Drive& drive, VectorXd& temperatureC);
};

void TransientSolver::Work::assemble()
{
    const auto n = static_cast<Eigen::Index>(network.capacityJPerK.size());
    if (network.capacitySlopePerK.size() != network.capacityJPerK.size())
        throw std::invalid_argument("a heat network needs one capacity slope a node");
    capacityJPerK = Eigen::Map<const ArrayXd>(network.capacityJPerK.data(), n);
    halfRiseJPerK2 = Eigen::Map<const ArrayXd>(network.capacitySlopePerK.data(), n) * capacityJPerK / 2;
    filmWPerK = radiationWPerK4 = ArrayXd::Zero(n);
    powerFilms.clear();
    for (const auto& film : network.films)
        if (film.exponent == 0)
            filmWPerK[film.node] += film.wPerK;
        else
            powerFilms.push_back(film);
    for (const auto& radiator : network.radiators)
        radiationWPerK4[radiator.node] += radiator.emissivityTimesM2 * stefanBoltzmannWPerM2K4;
    plateTotalWPerK = 0;
    for (const auto& link : network.plateLinks)
        plateTotalWPerK += link.wPerK;
    filmTotalWPerK = filmWPerK.sum();
    radiationTotalWPerK4 = radiationWPerK4.sum();
    isLinear = powerFilms.empty() && network.radiators.empty() && (halfRiseJPerK2 == 0).all();

    std::vector<std::pair<int, int>> places;
    for (const auto& link : network.links)
        places.emplace_back(link.a, link.b);
    matrix = SparseLdl(static_cast<int>(n), places);
    matrixDtS = 0;
    endFlowIsValid = false;
}

void TransientSolver::Work::factorise(double dtS, const VectorXd& aboutC, double ambientC)
{
    const double share = d * dtS;
    slope = capacityJPerK + 2 * halfRiseJPerK2 * (aboutC.array() - capacityStatedAtC) +
            4 * share * radiationWPerK4 * (aboutC.array() + zeroCelsiusK).cube();
    for (const auto& film : powerFilms)
        slope[film.node] += share * filmLoss(film, aboutC[film.node] - ambientC).second;
    ArrayXd diagonal = slope + share * filmWPerK;
    for (const auto& link : network.plateLinks)
        diagonal[link.node] += share * link.wPerK;
    offDiagonal.resize(static_cast<Eigen::Index>(network.links.size()));
    for (size_t i = 0; i < network.links.size(); ++i) {
        const auto& link = network.links[i];
        offDiagonal[static_cast<Eigen::Index>(i)] = -share * link.wPerK;
        diagonal[link.a] += share * link.wPerK;
        diagonal[link.b] += share * link.wPerK;
    }
    if (!matrix.factorise(diagonal.data(), offDiagonal.data()))
        throw std::runtime_error("the heat network has a node without heat capacity");
    matrixDtS = dtS;
}

void TransientSolver::Work::heatAt(const VectorXd& temperatureC, ArrayXd& out) const
{
    const auto aboveK = temperatureC.array() - capacityStatedAtC;
    out = aboveK * (capacityJPerK + halfRiseJPerK2 * aboveK);
}

void TransientSolver::Work::restAt(const VectorXd& temperatureC, double dtS, double ambientC,
                                   ArrayXd& out) const
{
    const double share = d * dtS;
    const auto t = temperatureC.array();
    const auto aboveK = t - capacityStatedAtC;
    out = slope * t - aboveK * (capacityJPerK + halfRiseJPerK2 * aboveK) -
          share * radiationWPerK4 * (t + zeroCelsiusK).square().square();
    for (const auto& film : powerFilms)
        out[film.node] -= share * filmLoss(film, temperatureC[film.node] - ambientC).first;
}

Flows TransientSolver::Work::flowsAt(const VectorXd& temperatureC, const Drive& drive) const
{
    Flows flows{network.heaterNode >= 0 ? drive.heaterW : 0, plateTotalWPerK * drive.plateC,
                filmTotalWPerK * drive.ambientC + radiationTotalWPerK4 * pow4(drive.ambientC + zeroCelsiusK)};
    const auto t = temperatureC.array();
    flows.ambientW -= (filmWPerK * t + radiationWPerK4 * (t + zeroCelsiusK).square().square()).sum();
    for (const auto& film : powerFilms)
        flows.ambientW -= filmLoss(film, temperatureC[film.node] - drive.ambientC).first;
    for (const auto& link : network.plateLinks)
        flows.plateW -= link.wPerK * temperatureC[link.node];
    return flows;
}

// Net flow into every node now, where no last step has left it.
void TransientSolver::Work::startFrom(const Drive& drive)
{
    const auto t = nowC.array();
    endFlowW = filmWPerK * (drive.ambientC - t) +
               radiationWPerK4 * (pow4(drive.ambientC + zeroCelsiusK) - (t + zeroCelsiusK).square().square());
    for (const auto& film : powerFilms)
        endFlowW[film.node] -= filmLoss(film, nowC[film.node] - drive.ambientC).first;
    for (const auto& link : network.plateLinks)
        endFlowW[link.node] += link.wPerK * (drive.plateC - nowC[link.node]);
    for (const auto& link : network.links) {
        const double watts = link.wPerK * (nowC[link.b] - nowC[link.a]);
        endFlowW[link.a] += watts;
        endFlowW[link.b] -= watts;
    }
    if (network.heaterNode >= 0)
        endFlowW[network.heaterNode] += drive.heaterW;
    endFlows = flowsAt(nowC, drive);
}

// From the guess in temperatureC; leaves the heat content of the solution in heatJ.
void TransientSolver::Work::solveStage(double dtS, const Drive& drive, VectorXd& temperatureC)
{
    constexpr double acceptK = 1e-5;
    constexpr int roundsBeforeNewSlope = 6, mostRounds = 60;
    const double share = d * dtS;
    restAt(temperatureC, dtS, drive.ambientC, rest);
    temperatureC = known + rest + filmWPerK * (share * drive.ambientC) +
                   radiationWPerK4 * (share * pow4(drive.ambientC + zeroCelsiusK));
    for (const auto& link : network.plateLinks)
        temperatureC[link.node] += share * link.wPerK * drive.plateC;
    if (network.heaterNode >= 0)
        temperatureC[network.heaterNode] += share * drive.heaterW;
    matrix.solve(temperatureC.data());
    if (isLinear) {
        heatAt(temperatureC, heatJ);
        return;
    }
    for (int round = 1;; ++round) {
        ++rounds;
        restAt(temperatureC, dtS, drive.ambientC, missing);
        missing -= rest;
        const double missesK = (missing / slope).abs().maxCoeff();
        if (missesK < acceptK)
            break;
        if (round == mostRounds || !std::isfinite(missesK))
            throw std::runtime_error("the temperatures of a heat network do not settle");
        if (round % roundsBeforeNewSlope == 0) {
            const ArrayXd before = slope;
            factorise(dtS, temperatureC, drive.ambientC);
            rest += (slope - before) * temperatureC.array();
        }
        rest += missing;
        matrix.solve(missing.data());
        temperatureC.array() += missing;
    }
    // With what is still missing this is what the flows have brought, so that no step loses any heat.
    heatAt(temperatureC, heatJ);
    heatJ += missing;
}

TransientSolver::TransientSolver(HeatNetwork network, const Eigen::VectorXd& startC)
    : work_(std::make_unique<Work>())
{
    work_->network = std::move(network);
    work_->assemble();
    work_->nowC = work_->stageC = work_->otherC = startC;
    work_->heatAt(startC, work_->nowJ);
    work_->startJ = work_->nowJ.sum();
}

TransientSolver::~TransientSolver() = default;
TransientSolver::TransientSolver(TransientSolver&&) noexcept = default;

void TransientSolver::step(double dtS, const Drive& start, const Drive& end)
{
    if (!(dtS > 0))
        throw std::invalid_argument("a time step must be above 0 s");
    Work& work = *work_;
    // A frozen slope that has drifted too far shows in the rounds it costs.
    constexpr int mostRoundsOnOneSlope = 3;
    if (work.matrixDtS != dtS || work.rounds > mostRoundsOnOneSlope)
        work.factorise(dtS, work.nowC, start.ambientC);
    work.rounds = 0;
    const bool goesOn = work.endFlowIsValid && start.ambientC == work.endDrive.ambientC &&
                        start.plateC == work.endDrive.plateC && start.heaterW == work.endDrive.heaterW;
    if (!goesOn)
        work.startFrom(start);
    const Flows startFlows = work.endFlows;

    const Drive middle = between(start, end, gammaFraction);
    work.known = work.nowJ + d * dtS * work.endFlowW;
    // From a step much shorter than this one a parabola shoots off.
    constexpr double leastShare = 0.2;
    const bool tells = work.lastDtS >= leastShare * dtS;
    const double before = -work.lastDtS / dtS; // in units of this step
    if (tells)
        work.stageC = parabolaAt(gammaFraction, {before, work.otherC},
                                 {(1 - gammaFraction) * before, work.stageC}, {0, work.nowC});
    else
        work.stageC = work.nowC;
    work.solveStage(dtS, middle, work.stageC);
    const Flows middleFlows = work.flowsAt(work.stageC, middle);

    work.known = bdfStage * work.heatJ + bdfOld * work.nowJ;
    if (tells)
        work.otherC = parabolaAt(1, {before, work.otherC}, {0, work.nowC}, {gammaFraction, work.stageC});
    else
        work.otherC = work.nowC + (work.stageC - work.nowC) / gammaFraction;
    work.solveStage(dtS, end, work.otherC);
    // The stage equation itself gives the flow at its solution.
    work.endFlowW = (work.heatJ - work.known) / (d * dtS);
    work.endFlows = work.flowsAt(work.otherC, end);
    work.endDrive = end;
    work.endFlowIsValid = true;
    work.lastDtS = dtS;
    work.nowC.swap(work.otherC);
    work.nowJ.swap(work.heatJ);

    auto weighted = [dtS](double a, double b, double c) { return dtS * (w * a + w * b + d * c); };
    const double heaterJ = weighted(startFlows.heaterW, middleFlows.heaterW, work.endFlows.heaterW);
    const double plateJ = weighted(startFlows.plateW, middleFlows.plateW, work.endFlows.plateW);
    const double ambientJ = weighted(startFlows.ambientW, middleFlows.ambientW, work.endFlows.ambientW);
    work.energy.fromHeaterJ += heaterJ;
    work.energy.fromPlateJ += plateJ;
    work.energy.toAmbientJ -= ambientJ;
    work.energy.turnoverJ += std::abs(heaterJ) + std::abs(plateJ) + std::abs(ambientJ);
}

const Eigen::VectorXd& TransientSolver::temperaturesC() const
{
    return work_->nowC;
}

EnergyBalance TransientSolver::energy() const
{
    EnergyBalance energy = work_->energy;
    work_->heatAt(work_->nowC, work_->heatJ);
    energy.storedJ = work_->heatJ.sum() - work_->startJ;
    return energy;
}

double TransientSolver::heatFromPlateW(double plateC) const
{
    return work_->flowsAt(work_->nowC, {0, plateC, 0}).plateW;
}

void TransientSolver::replaceConductances(HeatNetwork network)
{
    if (network.capacityJPerK != work_->network.capacityJPerK ||
        network.capacitySlopePerK != work_->network.capacitySlopePerK)
        throw std::invalid_argument("only conductances may change in mid-run");
    work_->network = std::move(network);
    work_->assemble();
}

} // namespace stripwright
