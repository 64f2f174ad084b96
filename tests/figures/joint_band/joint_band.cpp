#include "board_run.h"

#include "demo_sheet.h"

#include <algorithm>
#include <atomic>
#include <chrono>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <thread>

namespace stripwright::figures {

namespace {

constexpr int boardsAsked = 200, unseatedAsked = 60;
constexpr std::uint64_t tuningSeed = 1, reportSeed = 2;

/// Boards by two threads, each with its number.
template <class Run> void onTwoThreads(int count, Run run)
{
    std::atomic<int> next = 0;
    auto work = [&] {
        for (int i = next++; i < count; i = next++)
            run(i);
    };
    std::thread other(work);
    work();
    other.join();
}

double percent(double part, double whole)
{
    return whole > 0 ? 100 * part / whole : NAN;
}

double medianOf(std::vector<double> values)
{
    if (values.empty())
        return NAN;
    std::nth_element(values.begin(), values.begin() + static_cast<long>(values.size() / 2), values.end());
    return values[values.size() / 2];
}

double ninetyOf(std::vector<double> values)
{
    if (values.empty())
        return NAN;
    std::sort(values.begin(), values.end());
    return values[values.size() * 9 / 10];
}

struct Coverage {
    double samples = 0, inBand = 0, peaks = 0, peaksInBand = 0;
    std::vector<double> halfWidthK, errorK;

    void add(const SiteResult& site)
    {
        samples += site.samples;
        inBand += site.inBand;
        ++peaks;
        peaksInBand += site.peakInBand;
        halfWidthK.push_back(site.halfWidthK);
        errorK.push_back(std::abs(site.medianErrorK));
    }
    void print(const char* what) const
    {
        std::printf("  %-34s %6.1f %% of samples %6.1f %% of peaks   half width %4.1f K (90 %%: %4.1f)   "
                    "off by %4.1f K\n",
                    what, percent(inBand, samples), percent(peaksInBand, peaks), medianOf(halfWidthK),
                    ninetyOf(halfWidthK), medianOf(errorK));
    }
};

void printSeated(const std::vector<HeatPlan>& plans, std::uint64_t seed, bool verbose)
{
    for (const bool withThermocouple : {false, true}) {
        std::vector<BoardResult> results(boardsAsked);
        onTwoThreads(boardsAsked, [&](int i) {
            const HeatPlan& plan = plans[static_cast<size_t>(i) % plans.size()];
            results[static_cast<size_t>(i)] = runBoard(plan, randomBoard(plan, seed, i, Seating::AsPlanned),
                                                       withThermocouple, Seating::AsPlanned);
        });
        Coverage measured, others, calibratedMeasured, calibratedOthers;
        std::vector<Coverage> byPlan(plans.size());
        int calibrated = 0, falseAlarms = 0, early = 0, widened = 0;
        double calibratedSamples = 0, calibratedInBand = 0;
        std::vector<double> calibratedAtShare;
        for (size_t i = 0; i < results.size(); ++i) {
            const BoardResult& result = results[i];
            const HeatPlan& plan = plans[i % plans.size()];
            for (size_t s = 0; s < result.sites.size(); ++s) {
                const bool atSensor = plan.joints[s].site == plan.sheet.stripSensorSite;
                (atSensor ? measured : others).add(result.sites[s]);
                byPlan[i % plans.size()].add(result.sites[s]);
                if (result.calibratedAtS)
                    (atSensor ? calibratedMeasured : calibratedOthers).add(result.sites[s]);
                calibratedSamples += result.sites[s].calibratedSamples;
                calibratedInBand += result.sites[s].calibratedInBand;
            }
            calibrated += result.calibratedAtS.has_value();
            if (result.calibratedAtS)
                calibratedAtShare.push_back(*result.calibratedAtS / plan.heaterOffS);
            falseAlarms += result.notSeatedAtS.has_value();
            early += result.endedEarlyAtS.has_value();
            widened += result.widening > 1;
        }
        std::printf(" %s\n", withThermocouple ? "thermocouple at one target" : "plate sensor alone");
        measured.print(withThermocouple ? "target with the thermocouple" : "target in the middle");
        others.print("other targets");
        if (withThermocouple) {
            calibratedMeasured.print("of calibrated boards: with");
            calibratedOthers.print("of calibrated boards: others");
            std::printf("  %d of %d boards calibrated, half of them by %.0f %% of the heat; while calibrated "
                        "%.1f %% of samples in the band\n",
                        calibrated, boardsAsked, 100 * medianOf(calibratedAtShare),
                        percent(calibratedInBand, calibratedSamples));
            std::printf(
                "  %d false \"not seated\", %d bands widened, %d heats ended before the plan's time\n",
                falseAlarms, widened, early);
        } else {
            std::printf("  %d heats ended before the plan's time\n", early);
        }
        for (size_t p = 0; verbose && p < plans.size(); ++p)
            byPlan[p].print(plans[p].sheet.title.c_str());
    }
}

void printUnseated(const std::vector<HeatPlan>& plans, std::uint64_t seed)
{
    std::vector<BoardResult> results(unseatedAsked);
    onTwoThreads(unseatedAsked, [&](int i) {
        const HeatPlan& plan = plans[static_cast<size_t>(i) % plans.size()];
        results[static_cast<size_t>(i)] =
            runBoard(plan, randomBoard(plan, seed, i, Seating::Unseated), true, Seating::Unseated);
    });
    int noticed = 0;
    std::vector<double> afterS;
    for (const BoardResult& result : results)
        if (result.notSeatedAtS) {
            ++noticed;
            afterS.push_back(*result.notSeatedAtS);
        }
    std::printf(
        " contact a tenth to three tenths of low: %d of %d noticed in preheat, half of them by %.0f s\n",
        noticed, unseatedAsked, medianOf(afterS));
}

/// Twelve targets and as many parts as a plan may hold.
void printTime(const HeatPlan& from)
{
    HeatPlan plan = from;
    const JointModel joint = plan.joints.front();
    const PlateResponse slow{
        .gain = 0.4, .lagS = 20, .worstErrorK = 0.3, .secondLagS = 90, .secondShare = 1.3};
    plan.joints.clear();
    plan.parts.clear();
    for (int i = 1; i <= 12; ++i) {
        plan.joints.push_back(joint);
        plan.joints.back().site = *plan.sheet.stripSensorSite + i - 1;
    }
    for (size_t i = 0; i < partModelsMost; ++i)
        plan.parts.push_back({"lens_" + std::to_string(i), 80, {}, {}, slow, slow, slow});
    JointEstimate joints(plan);
    joints.start(23);
    constexpr int cycles = 2000;
    std::vector<double> us;
    for (int n = 0; n < cycles; ++n) {
        const double plateC = 23 + 0.1 * n, stripC = 22 + 0.093 * n;
        const auto from0 = std::chrono::steady_clock::now();
        joints.advance(periodS, plateC, stripC);
        us.push_back(
            std::chrono::duration<double, std::micro>(std::chrono::steady_clock::now() - from0).count());
    }
    std::printf("12 targets, %zu parts, thermocouple: %.0f us a cycle (90 %%: %.0f), %.3f %% of the control "
                "period of %.1f s\n",
                partModelsMost, medianOf(us), ninetyOf(us), 100 * medianOf(us) * 1e-6 / periodS, periodS);
}

} // namespace

int print(int argc, char** argv)
{
    bool verbose = false;
    std::vector<std::uint64_t> seeds = {tuningSeed, reportSeed};
    for (int i = 1; i < argc; ++i)
        if (std::strcmp(argv[i], "--by-strip") == 0) {
            verbose = true;
        } else if (std::strcmp(argv[i], "--seed") == 0 && i + 1 < argc) {
            seeds = {std::strtoull(argv[++i], nullptr, 10)};
        } else {
            std::fprintf(stderr, "usage: figures_joint_band [--seed N] [--by-strip]\n");
            return 2;
        }
    const std::vector<HeatPlan> plans = plansOf(test::shippedShelf());
    printTime(plans.front());
    std::printf(
        "\n90 %% band of the joint estimate on %d random boards, one sample a second while heat is on\n",
        boardsAsked);
    for (const std::uint64_t seed : seeds) {
        std::printf("\nseed %llu%s\n", static_cast<unsigned long long>(seed),
                    seed == tuningSeed ? ", on which the estimate was tuned" : "");
        printSeated(plans, seed, verbose);
        printUnseated(plans, seed);
    }
    return 0;
}

} // namespace stripwright::figures

int main(int argc, char** argv)
{
    return stripwright::figures::print(argc, argv);
}
