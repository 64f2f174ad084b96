#include "search/minimax_step.h"

#include <algorithm>
#include <glpk.h>
#include <memory>

namespace stripwright {

namespace {

constexpr double brokenJobWeight = 10, keepWorstWeight = 50, smallWeight = 0.02, givenUpWeight = 0.001;
constexpr double mostOfAMargin = 1; // more than half a window from every side there is no better

/// Rows and columns of a linear program, gathered before they are handed over.
class Program {
public:
    Program() : problem_(glp_create_prob(), glp_delete_prob) { glp_set_obj_dir(problem_.get(), GLP_MAX); }

    int column(double low, double high, double gain)
    {
        const int at = glp_add_cols(problem_.get(), 1);
        glp_set_col_bnds(problem_.get(), at, low < high ? GLP_DB : GLP_FX, low, high);
        glp_set_obj_coef(problem_.get(), at, gain);
        return at;
    }
    /// sum of coefficients times columns <= most; index 0 of both is unused.
    void row(const std::vector<int>& columns, const std::vector<double>& coefficients, double most)
    {
        const int at = glp_add_rows(problem_.get(), 1);
        glp_set_row_bnds(problem_.get(), at, GLP_UP, 0, most);
        glp_set_mat_row(problem_.get(), at, static_cast<int>(columns.size()) - 1, columns.data(),
                        coefficients.data());
    }
    bool solve()
    {
        glp_smcp control;
        glp_init_smcp(&control);
        control.msg_lev = GLP_MSG_OFF;
        control.it_lim = 2000;
        return glp_simplex(problem_.get(), &control) == 0 && glp_get_status(problem_.get()) == GLP_OPT;
    }
    double value(int column) const { return glp_get_col_prim(problem_.get(), column); }

private:
    std::unique_ptr<glp_prob, decltype(&glp_delete_prob)> problem_;
};

} // namespace

static double aimsIn(const std::vector<AimKind>& kinds)
{
    return static_cast<double>(std::count_if(kinds.begin(), kinds.end(), [](AimKind kind) {
        return kind != AimKind::Slope && kind != AimKind::Clear;
    }));
}

double Merit::of(const std::vector<AimKind>& kinds, const std::vector<double>& margins) const
{
    const double aims = aimsIn(kinds);
    double job = mostOfAMargin, part = mostOfAMargin, value = 0;
    for (size_t i = 0; i < kinds.size(); ++i) {
        if (kinds[i] == AimKind::Slope || kinds[i] == AimKind::Clear)
            continue;
        const double margin = margins[i];
        if (kinds[i] == AimKind::Job)
            job = std::min(job, margin);
        if (kinds[i] == AimKind::Part)
            part = std::min(part, margin);
        if (kinds[i] == AimKind::Habit)
            value += habitWeight * std::min(0.0, margin);
        if (kinds[i] == AimKind::GivenUp)
            value += givenUpWeight * std::min(0.0, margin);
        else
            value += smallWeight * std::min(mostOfAMargin, margin) / aims;
    }
    const double worst = std::min(job, part);
    return value + brokenJobWeight * std::min(0.0, job) + std::min(0.0, part) + worst +
           keepWorstWeight * std::min(0.0, worst - keepWorst);
}

std::vector<double> climbLinear(const Merit& merit, const std::vector<AimKind>& kinds,
                                const std::vector<double>& margins, const std::vector<double>& slopes,
                                const std::vector<double>& low, const std::vector<double>& high,
                                const StepPrice& price)
{
    constexpr double lowest = -1e6;
    const size_t numbers = low.size();
    const double aims = aimsIn(kinds);
    // GLPK keeps an environment a thread, which nobody frees when the thread ends.
    struct Environment {
        ~Environment() { glp_free_env(); }
    } environment;
    Program program;
    // A number whose price turns within its box is two columns, below the turn and above it: the upper one is
    // only used where the lower one is full.
    std::vector<std::vector<int>> parts(numbers);
    for (size_t i = 0; i < numbers; ++i) {
        const double perUnit = price.perUnit.empty() ? 0 : price.perUnit[i];
        const double turn = perUnit > 0 ? std::clamp(price.freeAt[i], low[i], high[i]) : high[i];
        parts[i].push_back(program.column(low[i], turn, perUnit));
        if (turn < high[i])
            parts[i].push_back(program.column(0, high[i] - turn, -perUnit));
    }
    const int worst = program.column(lowest, mostOfAMargin, 1);
    const int brokenJob = program.column(lowest, 0, brokenJobWeight);
    const int brokenPart = program.column(lowest, 0, 1);
    if (merit.keepWorst > lowest)
        program.row({0, program.column(lowest, 0, keepWorstWeight), worst}, {0, 1, -1}, -merit.keepWorst);

    for (size_t k = 0; k < kinds.size(); ++k) {
        double least = margins[k]; // that any step in the box leaves of it
        for (size_t i = 0; i < numbers; ++i)
            least += std::min(slopes[k * numbers + i] * low[i], slopes[k * numbers + i] * high[i]);
        if (least >= mostOfAMargin)
            continue;
        auto row = [&](std::vector<int> columns, std::vector<double> coefficients, double most) {
            for (size_t i = 0; i < numbers; ++i)
                for (const int part : parts[i]) {
                    columns.push_back(part);
                    coefficients.push_back(-slopes[k * numbers + i]);
                }
            program.row(columns, coefficients, most);
        };
        auto atMostMargin = [&](int column) { row({0, column}, {0, 1}, margins[k]); };
        if (kinds[k] == AimKind::Clear) {
            constexpr double lost = -1;
            if (margins[k] > lost)
                row({0}, {0}, std::max(0.0, margins[k]));
            continue;
        }
        if (kinds[k] == AimKind::Slope) {
            atMostMargin(brokenJob);
            atMostMargin(worst);
            continue;
        }
        if (kinds[k] != AimKind::GivenUp)
            atMostMargin(program.column(lowest, mostOfAMargin, smallWeight / aims));
        switch (kinds[k]) {
        case AimKind::Job:
            atMostMargin(brokenJob);
            atMostMargin(worst);
            break;
        case AimKind::Part:
            atMostMargin(brokenPart);
            atMostMargin(worst);
            break;
        case AimKind::GivenUp:
            atMostMargin(program.column(lowest, 0, givenUpWeight));
            break;
        case AimKind::Habit:
            atMostMargin(program.column(lowest, 0, merit.habitWeight));
            break;
        case AimKind::Slope:
        case AimKind::Clear:
            break;
        }
    }
    std::vector<double> change(numbers, 0.0);
    if (program.solve())
        for (size_t i = 0; i < numbers; ++i) {
            for (const int part : parts[i])
                change[i] += program.value(part);
            change[i] = std::clamp(change[i], low[i], high[i]);
        }
    return change;
}

} // namespace stripwright
