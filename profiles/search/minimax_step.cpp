#include "search/minimax_step.h"

#include <algorithm>
#include <glpk.h>
#include <memory>

namespace stripwright {

namespace {

constexpr double brokenJobWeight = 10, keepWorstWeight = 1000, smallWeight = 0.02, givenUpWeight = 0.001;
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

static bool isAim(AimKind kind)
{
    return kind != AimKind::Slope && kind != AimKind::Clear;
}

static double aimsIn(const std::vector<AimedMargin>& margins)
{
    return static_cast<double>(std::count_if(margins.begin(), margins.end(),
                                             [](const AimedMargin& one) { return isAim(one.kind); }));
}

double Merit::of(const std::vector<AimedMargin>& margins) const
{
    const double aims = aimsIn(margins);
    double job = mostOfAMargin, part = mostOfAMargin, value = 0;
    for (const auto& [kind, margin] : margins) {
        if (!isAim(kind))
            continue;
        if (kind == AimKind::Job)
            job = std::min(job, margin);
        if (kind == AimKind::Part)
            part = std::min(part, margin);
        if (kind == AimKind::Habit)
            value += habitWeight * std::min(0.0, margin);
        if (kind == AimKind::GivenUp)
            value += givenUpWeight * std::min(0.0, margin);
        else
            value += smallWeight * std::min(mostOfAMargin, margin) / aims;
    }
    const double worst = std::min(job, part);
    return value + brokenJobWeight * std::min(0.0, job) + std::min(0.0, part) + worst +
           keepWorstWeight * std::min(0.0, worst - keepWorst);
}

std::vector<double> climbLinear(const Merit& merit, const std::vector<AimedMargin>& margins,
                                const std::vector<double>& slopes, const std::vector<StepRange>& ranges)
{
    constexpr double lowest = -1e6;
    const size_t numbers = ranges.size();
    const double aims = aimsIn(margins);
    // GLPK keeps an environment a thread, which nobody frees when the thread ends.
    struct Environment {
        ~Environment() { glp_free_env(); }
    } environment;
    Program program;
    // A number whose price turns within its box is two columns, below the turn and above it: the upper one is
    // only used where the lower one is full.
    std::vector<std::vector<int>> parts(numbers);
    for (size_t i = 0; i < numbers; ++i) {
        const auto [low, high, freeAt, perUnit] = ranges[i];
        const double turn = perUnit > 0 ? std::clamp(freeAt, low, high) : high;
        parts[i].push_back(program.column(low, turn, perUnit));
        if (turn < high)
            parts[i].push_back(program.column(0, high - turn, -perUnit));
    }
    const int worst = program.column(lowest, mostOfAMargin, 1);
    const int brokenJob = program.column(lowest, 0, brokenJobWeight);
    const int brokenPart = program.column(lowest, 0, 1);
    if (merit.keepWorst > lowest)
        program.row({0, program.column(lowest, 0, keepWorstWeight), worst}, {0, 1, -1}, -merit.keepWorst);

    for (size_t k = 0; k < margins.size(); ++k) {
        const AimKind kind = margins[k].kind;
        const double margin = margins[k].margin;
        const double* const slope = &slopes[k * numbers];
        double least = margin; // that any step in the box leaves of it
        for (size_t i = 0; i < numbers; ++i)
            least += std::min(slope[i] * ranges[i].low, slope[i] * ranges[i].high);
        if (least >= mostOfAMargin)
            continue;
        auto row = [&](std::vector<int> columns, std::vector<double> coefficients, double most) {
            for (size_t i = 0; i < numbers; ++i)
                for (const int part : parts[i]) {
                    columns.push_back(part);
                    coefficients.push_back(-slope[i]);
                }
            program.row(columns, coefficients, most);
        };
        auto atMostMargin = [&](int column) { row({0, column}, {0, 1}, margin); };
        if (kind == AimKind::Clear) {
            constexpr double lost = -1;
            if (margin > lost)
                row({0}, {0}, std::max(0.0, margin));
            continue;
        }
        if (kind == AimKind::Slope) {
            atMostMargin(brokenJob);
            atMostMargin(worst);
            continue;
        }
        if (kind != AimKind::GivenUp)
            atMostMargin(program.column(lowest, mostOfAMargin, smallWeight / aims));
        switch (kind) {
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
            change[i] = std::clamp(change[i], ranges[i].low, ranges[i].high);
        }
    return change;
}

} // namespace stripwright
