#include "linear_program.h"

#include <cmath>
#include <vector>

namespace stripwright {

LinearProgram::LinearProgram(Eigen::Index pieces, double mostShare)
    : problem_(glp_create_prob()), pieces_(static_cast<int>(pieces))
{
    glp_term_out(GLP_OFF);
    glp_set_obj_dir(problem_, GLP_MAX);
    glp_add_cols(problem_, pieces_ + 1);
    for (int k = 1; k <= pieces_; ++k)
        glp_set_col_bnds(problem_, k, GLP_DB, 0, mostShare);
    // Without an upper bound the first program, with few rows, has no highest s.
    sAtMost(20);
    glp_set_obj_coef(problem_, pieces_ + 1, 1);
}

LinearProgram::~LinearProgram()
{
    glp_delete_prob(problem_);
}

void LinearProgram::sAtMost(double most)
{
    glp_set_col_bnds(problem_, pieces_ + 1, GLP_DB, -1000, most);
}

int LinearProgram::addRow(const Eigen::Ref<const Eigen::RowVectorXd>& perPower, double perS)
{
    // Under a millikelvin at full power a piece does not matter.
    constexpr double least = 1e-3;
    std::vector<int> at{0};
    std::vector<double> value{0};
    for (int k = 0; k < pieces_; ++k)
        if (std::abs(perPower[k]) > least) {
            at.push_back(k + 1);
            value.push_back(perPower[k]);
        }
    if (perS != 0) {
        at.push_back(pieces_ + 1);
        value.push_back(perS);
    }
    const int row = glp_add_rows(problem_, 1);
    glp_set_mat_row(problem_, row, static_cast<int>(at.size()) - 1, at.data(), value.data());
    return row;
}

void LinearProgram::require(const Eigen::Ref<const Eigen::RowVectorXd>& perPower, double perS, double atLeast)
{
    const int row = addRow(perPower, perS);
    glp_set_row_bnds(problem_, row, GLP_LO, atLeast, 0);
}

void LinearProgram::between(const Eigen::Ref<const Eigen::RowVectorXd>& perPower, double atLeast,
                            double atMost)
{
    const int row = addRow(perPower, 0);
    glp_set_row_bnds(problem_, row, GLP_DB, atLeast, atMost);
}

bool LinearProgram::solve()
{
    glp_smcp control;
    glp_init_smcp(&control);
    control.msg_lev = GLP_MSG_OFF;
    control.meth = GLP_DUALP;
    control.tm_lim = 3000;
    if (glp_simplex(problem_, &control) != 0) {
        // A basis that rounding has spoilt: once more from none.
        glp_adv_basis(problem_, 0);
        if (glp_simplex(problem_, &control) != 0)
            return false;
    }
    return glp_get_status(problem_) == GLP_OPT;
}

bool LinearProgram::isInfeasible() const
{
    return glp_get_status(problem_) == GLP_NOFEAS;
}

Eigen::VectorXd LinearProgram::power() const
{
    Eigen::VectorXd power(pieces_);
    for (int k = 0; k < pieces_; ++k)
        power[k] = glp_get_col_prim(problem_, k + 1);
    return power;
}

double LinearProgram::s() const
{
    return glp_get_col_prim(problem_, pieces_ + 1);
}

} // namespace stripwright
