#include "thermal/transient_solver.h"

#include <Eigen/SparseCholesky>
#include <algorithm>
#include <cmath>
#include <stdexcept>

namespace stripwright {

using Eigen::VectorXd;
using SparseMatrix = Eigen::SparseMatrix<double>;

double EnergyBalance::closure() const
{
    const double residual = std::abs(fromHeaterJ + fromPlateJ - toAmbientJ - storedJ);
    return residual / std::max(turnoverJ, 1e-12);
}

static double pow4(double kelvin)
{
    const double square = kelvin * kelvin;
    return square * square;
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

} // namespace

struct TransientSolver::Work {
    HeatNetwork network;
    VectorXd startC, nowC, capacity;
    SparseMatrix conductance; // links, films and plate links; lower triangle and diagonal
    Eigen::SparseMatrix<double, Eigen::RowMajor> wholeConductance;
    VectorXd filmWPerK, plateWPerK; // per node
    double filmTotalWPerK = 0, plateTotalWPerK = 0;
    EnergyBalance energy;

    Eigen::SimplicialLDLT<SparseMatrix, Eigen::Lower, Eigen::NaturalOrdering<int>> factor;
    bool analysed = false;
    double factorDtS = 0;
    VectorXd factorAtC; // temperatures the radiation was linearised at

    VectorXd flow, stage, next, known, residual, change;
    VectorXd endFlow; // net flow at the end of the last step, which starts the next one
    Drive endDrive;
    bool endFlowIsValid = false;

    void assemble();
    void factorise(double dtS);
    void netFlow(const VectorXd& temperatureC, const Drive& drive, VectorXd& out) const;
    Flows boundaryFlows(const VectorXd& temperatureC, const Drive& drive) const;
    void solveStage(const VectorXd& knownHeat, double dtS, const Drive& drive, VectorXd& temperatureC);
};

void TransientSolver::Work::assemble()
{
    const int n = static_cast<int>(network.capacityJPerK.size());
    capacity = Eigen::Map<const VectorXd>(network.capacityJPerK.data(), n);
    filmWPerK = VectorXd::Zero(n);
    plateWPerK = VectorXd::Zero(n);
    for (const auto& film : network.films)
        filmWPerK[film.node] += film.wPerK;
    for (const auto& link : network.plateLinks)
        plateWPerK[link.node] += link.wPerK;
    filmTotalWPerK = filmWPerK.sum();
    plateTotalWPerK = plateWPerK.sum();

    std::vector<Eigen::Triplet<double>> entries;
    for (int i = 0; i < n; ++i)
        entries.emplace_back(i, i, filmWPerK[i] + plateWPerK[i]);
    for (const auto& link : network.links) {
        entries.emplace_back(link.a, link.a, link.wPerK);
        entries.emplace_back(link.b, link.b, link.wPerK);
        entries.emplace_back(std::max(link.a, link.b), std::min(link.a, link.b), -link.wPerK);
    }
    conductance.resize(n, n);
    conductance.setFromTriplets(entries.begin(), entries.end());
    conductance.makeCompressed();
    wholeConductance = conductance.selfadjointView<Eigen::Lower>();
    analysed = false;
    factorDtS = 0;
    endFlowIsValid = false;
}

void TransientSolver::Work::factorise(double dtS)
{
    SparseMatrix matrix = conductance * (d * dtS);
    VectorXd radiation = VectorXd::Zero(capacity.size());
    for (const auto& radiator : network.radiators) {
        const double kelvin = nowC[radiator.node] + zeroCelsiusK;
        radiation[radiator.node] +=
            4 * radiator.emissivityTimesM2 * stefanBoltzmannWPerM2K4 * kelvin * kelvin * kelvin;
    }
    matrix.diagonal() += capacity + d * dtS * radiation;
    if (!analysed) {
        factor.analyzePattern(matrix);
        analysed = true;
    }
    factor.factorize(matrix);
    if (factor.info() != Eigen::Success)
        throw std::runtime_error("the heat network has a node without heat capacity");
    factorDtS = dtS;
    factorAtC = nowC;
}

void TransientSolver::Work::netFlow(const VectorXd& temperatureC, const Drive& drive, VectorXd& out) const
{
    out.noalias() = -(wholeConductance * temperatureC);
    out += filmWPerK * drive.ambientC + plateWPerK * drive.plateC;
    const double ambient4 = pow4(drive.ambientC + zeroCelsiusK);
    for (const auto& radiator : network.radiators)
        out[radiator.node] += radiator.emissivityTimesM2 * stefanBoltzmannWPerM2K4 *
                              (ambient4 - pow4(temperatureC[radiator.node] + zeroCelsiusK));
    if (network.heaterNode >= 0)
        out[network.heaterNode] += drive.heaterW;
}

Flows TransientSolver::Work::boundaryFlows(const VectorXd& temperatureC, const Drive& drive) const
{
    Flows flows;
    flows.ambientW = filmTotalWPerK * drive.ambientC - filmWPerK.dot(temperatureC);
    flows.plateW = plateTotalWPerK * drive.plateC - plateWPerK.dot(temperatureC);
    const double ambient4 = pow4(drive.ambientC + zeroCelsiusK);
    double radiated = 0;
    for (const auto& radiator : network.radiators)
        radiated +=
            radiator.emissivityTimesM2 * (ambient4 - pow4(temperatureC[radiator.node] + zeroCelsiusK));
    flows.ambientW += stefanBoltzmannWPerM2K4 * radiated;
    flows.heaterW = network.heaterNode >= 0 ? drive.heaterW : 0;
    return flows;
}

// Solves C T - d dt f(T) = knownHeat from the guess in temperatureC.
void TransientSolver::Work::solveStage(const VectorXd& knownHeat, double dtS, const Drive& drive,
                                       VectorXd& temperatureC)
{
    // The matrix is frozen, so each round shrinks the error by a thousand or more; a change of this size
    // leaves less than 1e-6 K.
    constexpr double acceptK = 5e-4;
    constexpr int mostRounds = 12;
    for (int round = 0; round < mostRounds; ++round) {
        netFlow(temperatureC, drive, flow);
        residual = knownHeat - capacity.cwiseProduct(temperatureC) + d * dtS * flow;
        change = factor.solve(residual);
        temperatureC += change;
        if (network.radiators.empty() || change.lpNorm<Eigen::Infinity>() < acceptK)
            break;
    }
}

TransientSolver::TransientSolver(HeatNetwork network, const VectorXd& startC)
    : work_(std::make_unique<Work>())
{
    work_->network = std::move(network);
    work_->startC = work_->nowC = startC;
    work_->assemble();
}

TransientSolver::~TransientSolver() = default;
TransientSolver::TransientSolver(TransientSolver&&) noexcept = default;

void TransientSolver::step(double dtS, const Drive& start, const Drive& end)
{
    if (!(dtS > 0))
        throw std::invalid_argument("a time step must be above 0 s");
    Work& work = *work_;
    constexpr double refreshK = 40; // how far temperatures may run from the radiation's linearisation
    const bool drifted = !work.network.radiators.empty() && work.factorDtS > 0 &&
                         (work.nowC - work.factorAtC).lpNorm<Eigen::Infinity>() > refreshK;
    if (work.factorDtS != dtS || drifted)
        work.factorise(dtS);

    const bool goesOn = work.endFlowIsValid && start.ambientC == work.endDrive.ambientC &&
                        start.plateC == work.endDrive.plateC && start.heaterW == work.endDrive.heaterW;
    if (!goesOn)
        work.netFlow(work.nowC, start, work.endFlow);
    const Flows startFlows = work.boundaryFlows(work.nowC, start);

    const Drive middle = between(start, end, gammaFraction);
    work.known = work.capacity.cwiseProduct(work.nowC) + d * dtS * work.endFlow;
    // The last step's slope is the better guess, except for stiff little nodes, whose slope says nothing.
    work.stage =
        work.nowC + gammaFraction * dtS * work.endFlow.cwiseQuotient(work.capacity).cwiseMax(-5).cwiseMin(5);
    work.solveStage(work.known, dtS, middle, work.stage);
    const Flows middleFlows = work.boundaryFlows(work.stage, middle);

    work.known = work.capacity.cwiseProduct(bdfStage * work.stage + bdfOld * work.nowC);
    work.next = work.nowC + (work.stage - work.nowC) / gammaFraction;
    work.solveStage(work.known, dtS, end, work.next);
    const Flows endFlows = work.boundaryFlows(work.next, end);
    // The stage equation itself gives the flow at its solution.
    work.endFlow = (work.capacity.cwiseProduct(work.next) - work.known) / (d * dtS);
    work.endDrive = end;
    work.endFlowIsValid = true;
    work.nowC.swap(work.next);

    auto weighted = [dtS](double a, double b, double c) { return dtS * (w * a + w * b + d * c); };
    const double heaterJ = weighted(startFlows.heaterW, middleFlows.heaterW, endFlows.heaterW);
    const double plateJ = weighted(startFlows.plateW, middleFlows.plateW, endFlows.plateW);
    const double ambientJ = weighted(startFlows.ambientW, middleFlows.ambientW, endFlows.ambientW);
    work.energy.fromHeaterJ += heaterJ;
    work.energy.fromPlateJ += plateJ;
    work.energy.toAmbientJ -= ambientJ;
    work.energy.turnoverJ += std::abs(heaterJ) + std::abs(plateJ) + std::abs(ambientJ);
}

const VectorXd& TransientSolver::temperaturesC() const
{
    return work_->nowC;
}

EnergyBalance TransientSolver::energy() const
{
    EnergyBalance energy = work_->energy;
    energy.storedJ = work_->capacity.dot(work_->nowC - work_->startC);
    return energy;
}

double TransientSolver::heatFromPlateW(double plateC) const
{
    return work_->plateTotalWPerK * plateC - work_->plateWPerK.dot(work_->nowC);
}

void TransientSolver::replaceConductances(HeatNetwork network)
{
    if (network.capacityJPerK != work_->network.capacityJPerK)
        throw std::invalid_argument("only conductances may change in mid-run");
    work_->network = std::move(network);
    work_->assemble();
}

} // namespace stripwright
