#include "demo_sheet.h"
#include "reference_plate.h"

#include "bench/simulated_plate.h"
#include "loop/control_loop.h"
#include "planner/plan_sheet.h"
#include "tuning/setpoint_heating.h"

#include <algorithm>
#include <atomic>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <random>
#include <thread>

using namespace stripwright;

namespace {

constexpr double periodS = 0.2;

double uniform(std::mt19937& random, double low, double high)
{
    return low + (high - low) * static_cast<double>(random()) * 0x1p-32;
}

double quantile(std::vector<double> values, double share)
{
    if (values.empty())
        return NAN;
    std::sort(values.begin(), values.end());
    return values[static_cast<size_t>(std::lround(share * static_cast<double>(values.size() - 1)))];
}

/// PI by the SIMC rules with the half rule on the element's lag.
OwnLoopFigures tunedLoop(const PlateType& plate)
{
    const double delayS = std::max(0.5, plate.deadTimeS + plate.sensorLagS + plate.elementLagS / 2);
    return {.gainPerK = plate.heatCapacityJPerK / plate.powerW / (2 * delayS), .integralS = 8 * delayS};
}

SimulatedPlateOptions withLoop(const OwnLoopFigures& loop)
{
    SimulatedPlateOptions options;
    options.truth = {.contact = 1, .losses = 1, .power = 1};
    options.drive = DriveKind::Setpoint;
    options.ownLoopGainPerK = loop.gainPerK;
    options.ownLoopIntegralS = loop.integralS;
    options.tellsDuty = false;
    options.cellMm = 6;
    return options;
}

// ---- learning

/// How far what was learnt lies from the truth, in shares, and in its own standard errors.
struct Learnt {
    std::string refused;
    double capacity = 0, loss = 0, lags = 0, gain = 0, integral = 0, lastedS = 0, hottestC = 0, rmsK = 0;
};

Learnt learn(unsigned number, unsigned seed)
{
    std::mt19937 random(seed * 7919 + number);
    random.discard(16);
    BenchSheet sheet = test::shippedSheet("marram-lane-bar-7.bench.json");
    PlateType& plate = sheet.plate;
    plate = referencePlateType();
    plate.lengthMm = plate.widthMm = 180;
    plate.thicknessMm = 9;
    for (double* figure : {&plate.heatCapacityJPerK, &plate.powerW, &plate.lossWPerK, &plate.radiatingAreaM2,
                           &plate.elementLagS, &plate.sensorLagS, &plate.deadTimeS})
        *figure *= uniform(random, 0.7, 1.4);
    OwnLoopFigures loop = tunedLoop(plate);
    loop.gainPerK *= std::pow(10, uniform(random, -0.75, 0.25));
    loop.integralS *= std::pow(10, uniform(random, -0.25, 0.75));
    SimulatedPlateOptions options = withLoop(loop);
    options.bare = true;
    options.seed = number + 1;
    options.ownLoopEveryS = std::array{0.1, 0.25, 0.5}[random() % 3];
    SimulatedPlate simulated(sheet, options);
    SetpointHeating heating(simulated, {.drive = DriveKind::Setpoint}, plate.powerW, sheet.air.ambientC,
                            true);
    Learnt learnt;
    double wallS = 1000;
    for (; !heating.ended() && wallS < 4000; wallS += periodS) {
        simulated.advance(periodS);
        heating.cycle(wallS);
        learnt.hottestC = std::max(learnt.hottestC, simulated.shown().sensorC);
    }
    learnt.lastedS = wallS - 1000;
    if (!heating.why().empty()) {
        learnt.refused = heating.why();
        return learnt;
    }
    const PlateFit fit = fitPlate(heating.record(), plate.powerW, sheet.air.ambientC);
    if (!fit.refusals.empty()) {
        learnt.refused = fit.refusals.front();
        return learnt;
    }
    const PlateFigures truth = figuresOf(plate, sheet.air.ambientC);
    const auto off = [](double found, double is) { return 100 * std::abs(found / is - 1); };
    learnt.rmsK = fit.rmsK;
    learnt.capacity = off(fit.figures.heatCapacityJPerK, truth.heatCapacityJPerK);
    learnt.loss = off(fit.figures.lossW(150), truth.lossW(150));
    learnt.lags = off(fit.figures.elementLagS + fit.figures.sensorLagS + fit.figures.deadTimeS,
                      truth.elementLagS + truth.sensorLagS + truth.deadTimeS);
    learnt.gain = off(fit.ownLoop->gainPerK, loop.gainPerK);
    learnt.integral = off(fit.ownLoop->integralS, loop.integralS);
    return learnt;
}

void printLearning(int count, unsigned seed, bool each)
{
    std::vector<Learnt> all(static_cast<size_t>(count));
    std::atomic<int> next = 0;
    const auto work = [&] {
        for (int i; (i = next++) < count;)
            all[static_cast<size_t>(i)] = learn(static_cast<unsigned>(i), seed);
    };
    std::thread other(work);
    work();
    other.join();
    int refused = 0;
    std::printf("%d plates with a loop of their own that tell no duty, learnt from set-points alone: how far "
                "from the truth, %%\n"
                "%-26s %7s %7s %7s\n",
                count, "", "median", "90 %", "worst");
    const auto row = [&](const char* words, double Learnt::*member) {
        std::vector<double> values;
        for (const Learnt& one : all)
            if (one.refused.empty())
                values.push_back(one.*member);
        std::printf("%-26s %7.2f %7.2f %7.2f\n", words, quantile(values, 0.5), quantile(values, 0.9),
                    quantile(values, 1));
    };
    row("heat capacity", &Learnt::capacity);
    row("loss at 150 C", &Learnt::loss);
    row("lags and dead time", &Learnt::lags);
    row("loop's gain", &Learnt::gain);
    row("loop's integral time", &Learnt::integral);
    row("time it took, s", &Learnt::lastedS);
    row("hottest, C (top 180)", &Learnt::hottestC);
    row("model against reading, K", &Learnt::rmsK);
    for (const Learnt& one : all)
        refused += !one.refused.empty();
    std::printf("refused: %d\n", refused);
    for (size_t i = 0; i < all.size(); ++i)
        if (each || !all[i].refused.empty())
            std::printf("  %3zu capacity %.1f gain %.1f integral %.1f rms %.2f K %s\n", i, all[i].capacity,
                        all[i].gain, all[i].integral, all[i].rmsK, all[i].refused.c_str());
}

// ---- the host dies

struct Kind {
    const char* words;
    bool setpoint, cuts, proven;
};

struct Death {
    double riseK = 0, atS = 0, hottestC = 0;
};

/// The controller, its guardian and everything else are gone from that moment of the heat on.
Death dieAt(const HeatPlan& plan, const Kind& kind, const LoopSettings& settings, double deathS)
{
    SimulatedPlateOptions options = withLoop(plan.sheet.plate.ownLoop.value_or(OwnLoopFigures{}));
    if (!kind.setpoint)
        options = {};
    options.truth = {.contact = 1, .losses = 1, .power = 1};
    options.cellMm = 6;
    options.hasWatchdog = kind.cuts;
    SimulatedPlate plate(plan.sheet, options);
    ControlLoop loop(plate, plan, settings);
    for (const HandCard& card : plan.cards)
        loop.confirmCard(card.id);
    for (double wallS = 1000;; wallS += periodS) {
        plate.advance(periodS);
        const CycleRecord record = loop.cycle(wallS);
        if (record.timeS >= deathS || record.state == RunState::Cooling || record.state == RunState::Ended)
            break;
    }
    const double fromC = plate.truthC("truth_plate_C");
    Death death{.atS = deathS, .hottestC = fromC};
    for (double s = 0; s < 1200; s += 1) {
        plate.advance(1);
        death.hottestC = std::max(death.hottestC, plate.truthC("truth_plate_C"));
    }
    death.riseK = death.hottestC - fromC;
    return death;
}

void printDeaths(double everyS)
{
    std::printf(
        "\nHost, guardian and line dead from one moment of the demo heat on: how far the plate still rises\n"
        "%-40s %9s %6s %9s %10s %10s\n",
        "", "worst", "at", "hottest", "plan's", "plan says");
    std::printf("%-40s %9s %6s %9s %10s %10s\n", "", "rise, K", "s", "C", "peak, C", "at most, C");
    for (const Kind& kind :
         {Kind{"duty, cuts", false, true, true}, Kind{"duty, does not cut", false, false, false},
          Kind{"set-point, seen to cut", true, true, true},
          Kind{"set-point, cuts, not proven", true, true, false},
          Kind{"set-point, does not cut", true, false, false}}) {
        BenchSheet sheet = test::shippedSheet("marram-lane-bar-7.bench.json");
        LoopSettings settings{.drive = kind.setpoint ? DriveKind::Setpoint : DriveKind::Duty,
                              .simulatedStrip = true,
                              .tellsDuty = false,
                              .watchdogProvenS = kind.proven ? 3.0 : 0.0,
                              .virtualTime = true};
        if (kind.setpoint) {
            sheet.plate.ownLoop = tunedLoop(sheet.plate);
            if (kind.proven)
                sheet.plate.ownLoop->cutAfterS = 3;
            settings.identified = asLearnt(sheet.plate);
        }
        const HeatPlan plan = planSheet(sheet);
        Death worst, hottest;
        for (double atS = everyS; atS < plan.heaterOffS; atS += everyS) {
            const Death death = dieAt(plan, kind, settings, atS);
            if (death.riseK > worst.riseK)
                worst = death;
            if (death.hottestC > hottest.hottestC)
                hottest = death;
        }
        std::printf("%-40s %9.1f %6.0f %9.1f %10.1f ", kind.words, worst.riseK, worst.atS, hottest.hottestC,
                    *std::max_element(plan.plateC.begin(), plan.plateC.end()));
        if (plan.leftAloneAtMostC)
            std::printf("%10.1f\n", *plan.leftAloneAtMostC);
        else
            std::printf("%10s\n", "-");
    }
}

} // namespace

int main(int argc, char** argv)
{
    int count = 100;
    unsigned seed = 1;
    bool each = false;
    double everyS = 10;
    for (int i = 1; i < argc; ++i) {
        if (!std::strcmp(argv[i], "--loops") && i + 1 < argc)
            count = std::atoi(argv[++i]);
        else if (!std::strcmp(argv[i], "--seed") && i + 1 < argc)
            seed = static_cast<unsigned>(std::atoi(argv[++i]));
        else if (!std::strcmp(argv[i], "--death-every") && i + 1 < argc)
            everyS = std::atof(argv[++i]);
        else if (!std::strcmp(argv[i], "--each"))
            each = true;
        else {
            std::fprintf(stderr,
                         "usage: figures_own_loops [--loops N] [--seed N] [--death-every S] [--each]\n");
            return 2;
        }
    }
    printLearning(count, seed, each);
    printDeaths(std::max(everyS, 1.0));
    return 0;
}
