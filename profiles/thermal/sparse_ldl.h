#pragma once

#include <utility>
#include <vector>

namespace stripwright {

/// LDL^T of sparse symmetric positive definite matrices of one pattern. The order of elimination and what
/// goes where are worked out once, so that factorise() and solve() are straight runs over arrays.
class SparseLdl {
public:
    SparseLdl() = default;
    /// `places` off the diagonal hold values, either way round; one may come twice.
    SparseLdl(int size, const std::vector<std::pair<int, int>>& places);

    /// One value a place; values of the same place add up. False: not positive definite.
    bool factorise(const double* diagonal, const double* offDiagonal);
    void solve(double* x); ///< Right-hand side in, solution out.

private:
    std::vector<int> order_;             // which unknown is eliminated n-th
    std::vector<int> columnStart_, row_; // below the diagonal, column by column in that order
    std::vector<int> slotOfPlace_;
    std::vector<int> target_;    // of each elimination product, in the order they are made
    std::vector<double> values_; // diagonal, then the columns
    std::vector<double> inverseDiagonal_, work_;
};

} // namespace stripwright
