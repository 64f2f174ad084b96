#pragma once

#include <Eigen/Core>
#include <glpk.h>

namespace stripwright {

/// Highest s over shares of power, each between 0 and a most, under rows that are added as they are found to
/// matter; solving again starts from the basis of the time before. GLPK's dual simplex, else its primal one.
class LinearProgram {
public:
    LinearProgram(Eigen::Index pieces, double mostShare);
    ~LinearProgram();
    LinearProgram(const LinearProgram&) = delete;
    LinearProgram& operator=(const LinearProgram&) = delete;

    /// perPower · power + perS s >= atLeast.
    void require(const Eigen::Ref<const Eigen::RowVectorXd>& perPower, double perS, double atLeast);
    void between(const Eigen::Ref<const Eigen::RowVectorXd>& perPower, double atLeast, double atMost);
    void sAtMost(double most);

    bool solve();              ///< False: no optimum; see isInfeasible().
    bool isInfeasible() const; ///< After solve(): proven that no point keeps every row.
    Eigen::VectorXd power() const;
    double s() const;

private:
    int addRow(const Eigen::Ref<const Eigen::RowVectorXd>& perPower, double perS);
    glp_prob* problem_;
    int pieces_;
};

} // namespace stripwright
