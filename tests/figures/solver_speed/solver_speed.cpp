// The heat solver against SUNDIALS CVODE on the same network under the same plate curve, both at the same
// error.
#include "cvode_network.h"
#include "demo_sheet.h"
#include "matrix_speed.h"
#include "processor_time.h"

#include "thermal/transient_solver.h"

#include <sundials/sundials_config.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>

namespace stripwright::figures {
namespace {

using test::median, test::millisecondsOf;

constexpr double aimK = 0.05, outputStepS = 5, ambientC = 25;
constexpr int runs = 11;
constexpr std::array copiesShown = {1, 4, 16};

/// A lead-free profile with bends at whole outputs, followed by the plate.
const PlateCurve plate{{0, 100, 190, 225, 235, 275, 335, 400}, {25, 150, 200, 242, 242, 142, 52, 35}};

/// Independent strips of one kind in one network.
HeatNetwork strips(int copies)
{
    BenchSheet sheet = test::shippedSheet("marram-lane-bar-7.bench.json");
    for (SiteOnBench& site : sheet.sites)
        site.state = SiteState::Good, site.lens = LensState::On;
    const HeatNetwork one = buildStripModel(sheet, {}).network;
    const int nodes = static_cast<int>(one.capacityJPerK.size());
    HeatNetwork all;
    for (int copy = 0; copy < copies; ++copy) {
        const int first = copy * nodes;
        for (int i = 0; i < nodes; ++i)
            all.addNode(one.capacityJPerK[i], one.capacitySlopePerK[i]);
        for (auto link : one.links)
            all.links.push_back({link.a + first, link.b + first, link.wPerK});
        for (auto film : one.films) {
            film.node += first;
            all.films.push_back(film);
        }
        for (auto radiator : one.radiators)
            all.radiators.push_back({radiator.node + first, radiator.emissivityTimesM2});
        for (auto link : one.plateLinks)
            all.plateLinks.push_back({link.node + first, link.wPerK});
    }
    return all;
}

/// Steps of one output interval: short ones while the strip follows a bend of the plate curve.
struct Steps {
    int afterBend = 1, later = 1;
    int outputsAfterBend = 2;
};

bool followsBend(double timeS, double withinS)
{
    return std::any_of(plate.timeS.begin(), plate.timeS.end(),
                       [&](double bendS) { return timeS > bendS - 1e-9 && timeS < bendS + withinS - 1e-9; });
}

NetworkRun runOurs(const HeatNetwork& network, const Steps& steps)
{
    NetworkRun run;
    const auto nodes = static_cast<Eigen::Index>(network.capacityJPerK.size());
    TransientSolver solver(network, Eigen::VectorXd::Constant(nodes, ambientC));
    run.temperaturesC.push_back(solver.temperaturesC());
    const long outputs = std::lround(plate.timeS.back() / outputStepS);
    double plateC = plate.at(0);
    for (long i = 0; i < outputs; ++i) {
        const double from = static_cast<double>(i) * outputStepS;
        const int count =
            followsBend(from, steps.outputsAfterBend * outputStepS) ? steps.afterBend : steps.later;
        for (int s = 1; s <= count; ++s) {
            const double nextC = plate.at(from + outputStepS * s / count);
            solver.step(outputStepS / count, {ambientC, plateC, 0}, {ambientC, nextC, 0});
            plateC = nextC;
        }
        run.steps += count;
        run.temperaturesC.push_back(solver.temperaturesC());
    }
    return run;
}

double errorK(const NetworkRun& run, const NetworkRun& reference)
{
    double worst = 0;
    for (size_t i = 0; i < reference.temperaturesC.size(); ++i)
        worst =
            std::max(worst, (run.temperaturesC[i] - reference.temperaturesC[i]).lpNorm<Eigen::Infinity>());
    return worst;
}

const char* nameOf(AtBends bends)
{
    switch (bends) {
    case AtBends::RunsOver:
        return "runs over bends of the plate curve";
    case AtBends::StopsAt:
        return "ends a step at every bend of the plate curve";
    case AtBends::StartsAnew:
        return "starts anew at every bend of the plate curve";
    }
    return "";
}

/// The quickest of CVODE's settings that keep the error, each with the loosest tolerance that does.
CvodeOptions bestCvode(const HeatNetwork& network, const NetworkRun& reference)
{
    CvodeOptions best;
    double bestMs = HUGE_VAL;
    for (AtBends bends : {AtBends::RunsOver, AtBends::StopsAt, AtBends::StartsAnew})
        for (int highestOrder : {2, 3, 4, 5}) {
            CvodeOptions options{0.4, bends, highestOrder, outputStepS};
            while (errorK(runCvode(network, plate, ambientC, options), reference) > aimK)
                options.toleranceK /= 1.2;
            std::vector<double> ms;
            for (int i = 0; i < runs; ++i)
                ms.push_back(millisecondsOf([&] { runCvode(network, plate, ambientC, options); }));
            if (median(ms) < bestMs) {
                bestMs = median(ms);
                best = options;
            }
        }
    return best;
}

/// The fewest steps that keep the error.
Steps bestSteps(const HeatNetwork& network, const NetworkRun& reference)
{
    Steps best;
    long fewest = 0;
    for (int later : {1, 2, 3, 4})
        for (int afterBend = later; afterBend <= 8; ++afterBend)
            for (int outputs : {1, 2, 3}) {
                const Steps steps{afterBend, later, outputs};
                const NetworkRun run = runOurs(network, steps);
                if (errorK(run, reference) <= aimK && (fewest == 0 || run.steps < fewest)) {
                    fewest = run.steps;
                    best = steps;
                }
            }
    return best;
}

/// The reference of one strip, repeated for all.
NetworkRun repeated(const NetworkRun& one, int copies)
{
    NetworkRun all;
    for (const Eigen::VectorXd& t : one.temperaturesC)
        all.temperaturesC.push_back(t.replicate(copies, 1));
    return all;
}

void print()
{
    const HeatNetwork one = strips(1);
    const NetworkRun reference = runCvode(one, plate, ambientC, {1e-8, AtBends::StartsAnew, 5, outputStepS});
    const double apartK = errorK(runOurs(one, {500, 500, 1}), reference);
    const CvodeOptions cvode = bestCvode(one, reference);
    const Steps steps = bestSteps(one, reference);

    std::printf("Heat solver against SUNDIALS CVODE %d.%d.%d\n\n", SUNDIALS_VERSION_MAJOR,
                SUNDIALS_VERSION_MINOR, SUNDIALS_VERSION_PATCH);
    std::printf(
        "network    a 420 x 12 mm strip with 12 LEDs under lenses on a 60 mm plate, radiation and capacity\n"
        "           slope of aluminium included; more strips are independent copies in the same network\n"
        "plate      25 -> 150 C in 100 s, 200 C at 190 s, 242 C from 225 to 235 s, 35 C at 400 s\n"
        "error      largest of any node at any %g s output; both at most %g K\n"
        "reference  CVODE at 1e-8 K; the heat solver at 0.01 s differs from it by %.1e K\n",
        outputStepS, aimK, apartK);
    std::printf("CVODE      BDF to order %d, own step choice, analytic Jacobian, KLU with AMD ordering; "
                "tolerance %.3g K;\n"
                "           %s (quickest of 12 settings)\n",
                cvode.highestOrder, cvode.toleranceK, nameOf(cvode.bends));
    std::printf(
        "ours       steps of %.3g s for %g s after each bend, %.3g s otherwise (fewest of those tried)\n"
        "time       of the processor, median of %d runs in turn, from network to last output, setting up "
        "included\n\n",
        outputStepS / steps.afterBend, steps.outputsAfterBend * outputStepS, outputStepS / steps.later, runs);

    struct Row {
        HeatNetwork network;
        std::vector<double> oursMs, cvodeMs;
    };
    std::vector<Row> rows;
    for (int copies : copiesShown)
        rows.push_back({strips(copies), {}, {}});
    for (int i = 0; i < runs; ++i)
        for (Row& row : rows) {
            row.oursMs.push_back(millisecondsOf([&] { runOurs(row.network, steps); }));
            row.cvodeMs.push_back(millisecondsOf([&] { runCvode(row.network, plate, ambientC, cvode); }));
        }

    std::printf(
        "strips  nodes   ours: steps  error K   ms      CVODE: steps  error K   ms      CVODE / ours\n");
    for (size_t i = 0; i < rows.size(); ++i) {
        const NetworkRun all = repeated(reference, copiesShown[i]);
        const NetworkRun ours = runOurs(rows[i].network, steps);
        const NetworkRun theirs = runCvode(rows[i].network, plate, ambientC, cvode);
        const double oursMs = median(rows[i].oursMs), cvodeMs = median(rows[i].cvodeMs);
        std::printf("%6d %6zu %13ld %8.3f %7.2f %15ld %8.3f %7.2f %13.1f\n", copiesShown[i],
                    rows[i].network.capacityJPerK.size(), ours.steps, errorK(ours, all), oursMs, theirs.steps,
                    errorK(theirs, all), cvodeMs, cvodeMs / oursMs);
    }
    std::printf("\ntime of 16 strips / time of 1: ours %.1f, CVODE %.1f\n",
                median(rows.back().oursMs) / median(rows.front().oursMs),
                median(rows.back().cvodeMs) / median(rows.front().cvodeMs));

    std::printf(
        "\nThe matrix of a step of %.3g s: ours against Eigen's SimplicialLDLT with AMD ordering, medians "
        "of %d runs\n\n"
        "           us to factorise           us to solve               us for the pattern, once\n"
        "strips     ours   Eigen  ratio       ours   Eigen  ratio       ours   Eigen   apart K\n",
        outputStepS / steps.later, runs);
    for (size_t i = 0; i < rows.size(); ++i) {
        const MatrixSpeed speed = matrixSpeedOf(rows[i].network, outputStepS / steps.later, runs);
        std::printf("%6d %8.1f %7.1f %6.2f %10.2f %7.2f %6.2f %10.0f %7.0f   %.1e\n", copiesShown[i],
                    speed.ours.factoriseUs, speed.eigens.factoriseUs,
                    speed.eigens.factoriseUs / speed.ours.factoriseUs, speed.ours.solveUs,
                    speed.eigens.solveUs, speed.eigens.solveUs / speed.ours.solveUs, speed.ours.patternUs,
                    speed.eigens.patternUs, speed.apartK);
    }
}

} // namespace
} // namespace stripwright::figures

int main()
{
    stripwright::figures::print();
}
