#include "thermal/sparse_ldl.h"

#include <Eigen/Dense>
#include <gtest/gtest.h>
#include <random>

namespace stripwright {
namespace {

using Eigen::MatrixXd;
using Eigen::VectorXd;

/// Conductances between random pairs, one of them named twice, and a node joined to all: a plate.
struct RandomNetwork {
    static constexpr int size = 40;
    std::vector<std::pair<int, int>> places;
    std::vector<double> offDiagonal;
    MatrixXd matrix = MatrixXd::Zero(size, size);

    RandomNetwork()
    {
        std::mt19937 random(5);
        std::uniform_int_distribution<int> node(0, size - 1);
        std::uniform_real_distribution<double> conductance(0.1, 2);
        for (int i = 0; i < 60; ++i)
            if (const int a = node(random), b = node(random); a != b)
                add(a, b, conductance(random));
        for (int i = 1; i < size; ++i)
            add(i, 0, conductance(random));
        add(7, 0, 0.5);
        for (int i = 0; i < size; ++i)
            matrix(i, i) += conductance(random);
    }
    void add(int a, int b, double wPerK)
    {
        places.emplace_back(a, b);
        offDiagonal.push_back(-wPerK);
        matrix(a, b) -= wPerK, matrix(b, a) -= wPerK;
        matrix(a, a) += wPerK, matrix(b, b) += wPerK;
    }
};

TEST(SparseLdl, SolvesAsADenseFactorisationDoes)
{
    const RandomNetwork network;
    SparseLdl sparse(RandomNetwork::size, network.places);
    const VectorXd diagonal = network.matrix.diagonal();
    const VectorXd right = VectorXd::LinSpaced(RandomNetwork::size, -3, 5);
    for (int twice = 0; twice < 2; ++twice) {
        ASSERT_TRUE(sparse.factorise(diagonal.data(), network.offDiagonal.data()));
        VectorXd x = right;
        sparse.solve(x.data());
        EXPECT_LT((x - network.matrix.ldlt().solve(right)).lpNorm<Eigen::Infinity>(), 1e-12);
    }
}

TEST(SparseLdl, SaysThatAMatrixIsNotPositiveDefinite)
{
    const RandomNetwork network;
    SparseLdl sparse(RandomNetwork::size, network.places);
    VectorXd diagonal = network.matrix.diagonal();
    diagonal[3] = 0.01;
    EXPECT_FALSE(sparse.factorise(diagonal.data(), network.offDiagonal.data()));
}

} // namespace
} // namespace stripwright
