#include "matrix_speed.h"

#include "processor_time.h"

#include "thermal/sparse_ldl.h"

#include <Eigen/SparseCholesky>

#include <algorithm>
#include <cmath>
#include <stdexcept>

namespace stripwright::figures {

using test::median, test::millisecondsOf;

namespace {

/// What one step of TR-BDF2 solves with: capacities, and conductances times a share of the step.
struct StepMatrix {
    std::vector<std::pair<int, int>> places;
    Eigen::VectorXd diagonal, offDiagonal;

    StepMatrix(const HeatNetwork& network, double dtS)
    {
        constexpr double aboutC = 100;
        const double share = (1 - std::sqrt(0.5)) * dtS;
        const auto nodes = static_cast<Eigen::Index>(network.capacityJPerK.size());
        diagonal.resize(nodes);
        for (size_t i = 0; i < network.capacityJPerK.size(); ++i)
            diagonal[static_cast<Eigen::Index>(i)] =
                network.capacityJPerK[i] * (1 + network.capacitySlopePerK[i] * (aboutC - capacityStatedAtC));
        for (const auto& film : network.films)
            diagonal[film.node] += share * film.wPerK;
        for (const auto& link : network.plateLinks)
            diagonal[link.node] += share * link.wPerK;
        for (const auto& radiator : network.radiators)
            diagonal[radiator.node] += 4 * share * radiator.emissivityTimesM2 * stefanBoltzmannWPerM2K4 *
                                       std::pow(aboutC + zeroCelsiusK, 3);
        offDiagonal.resize(static_cast<Eigen::Index>(network.links.size()));
        for (const auto& link : network.links) {
            offDiagonal[static_cast<Eigen::Index>(places.size())] = -share * link.wPerK;
            places.emplace_back(link.a, link.b);
            diagonal[link.a] += share * link.wPerK;
            diagonal[link.b] += share * link.wPerK;
        }
    }
    Eigen::SparseMatrix<double> lower() const
    {
        std::vector<Eigen::Triplet<double>> entries;
        for (int i = 0; i < diagonal.size(); ++i)
            entries.emplace_back(i, i, diagonal[i]);
        for (size_t i = 0; i < places.size(); ++i)
            entries.emplace_back(std::max(places[i].first, places[i].second),
                                 std::min(places[i].first, places[i].second),
                                 offDiagonal[static_cast<Eigen::Index>(i)]);
        Eigen::SparseMatrix<double> matrix(diagonal.size(), diagonal.size());
        matrix.setFromTriplets(entries.begin(), entries.end());
        return matrix;
    }
};

template <class Run> double microsecondsOf(int times, Run run)
{
    return 1e3 / times * millisecondsOf([&] {
               for (int i = 0; i < times; ++i)
                   run();
           });
}

} // namespace

MatrixSpeed matrixSpeedOf(const HeatNetwork& network, double dtS, int runs)
{
    constexpr int times = 20;
    const StepMatrix matrix(network, dtS);
    const Eigen::SparseMatrix<double> lower = matrix.lower();
    const auto size = static_cast<int>(matrix.diagonal.size());
    const Eigen::VectorXd right =
        matrix.diagonal.array() * Eigen::ArrayXd::LinSpaced(size, 20, 240); // as a step's heat contents
    Eigen::VectorXd ours, eigens;
    SparseLdl sparse(size, matrix.places);
    Eigen::SimplicialLDLT<Eigen::SparseMatrix<double>, Eigen::Lower, Eigen::AMDOrdering<int>> simplicial;
    simplicial.analyzePattern(lower);

    const auto check = [](bool good) {
        if (!good)
            throw std::runtime_error("a step's matrix is not positive definite");
    };
    std::vector<double> each[6];
    for (int run = 0; run < runs; ++run) {
        each[0].push_back(microsecondsOf(1, [&] { sparse = SparseLdl(size, matrix.places); }));
        each[1].push_back(microsecondsOf(
            times, [&] { check(sparse.factorise(matrix.diagonal.data(), matrix.offDiagonal.data())); }));
        each[2].push_back(microsecondsOf(times, [&] {
            ours = right;
            sparse.solve(ours.data());
        }));
        each[3].push_back(microsecondsOf(1, [&] { simplicial.analyzePattern(lower); }));
        each[4].push_back(microsecondsOf(times, [&] {
            simplicial.factorize(lower);
            check(simplicial.info() == Eigen::Success);
        }));
        each[5].push_back(microsecondsOf(times, [&] { eigens = simplicial.solve(right); }));
    }
    MatrixSpeed speed{{median(each[1]), median(each[2]), median(each[0])},
                      {median(each[4]), median(each[5]), median(each[3])}};
    speed.apartK = (ours - eigens).lpNorm<Eigen::Infinity>();
    return speed;
}

} // namespace stripwright::figures
