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

constexpr double unseatedShare = 0.3; // of the boards, as many again that do not lie on the plate
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

/// Half width of a 90 % band that plate sensor and thermocouple leave if contact were known, by their stated
/// deviations alone.
double bestHalfWidthK(double riseK)
{
    const double plateVar = 4 + std::pow(0.01 * riseK, 2), sensorVar = 2.25 + std::pow(0.01 * riseK, 2);
    return 1.6449 / std::sqrt(1 / plateVar + 1 / sensorVar);
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

/// Conductance under the thermocouple, of the plan's low.
double contactOfLow(const Board& board)
{
    const BenchSheet& sheet = board.truth;
    const double xMm = sheet.strip.siteXMm[static_cast<size_t>(*sheet.stripSensorSite - 1)];
    for (const ContactSegment& segment : sheet.contact.segments)
        if (xMm >= segment.startMm && xMm < segment.endMm)
            return segment.conductanceWPerM2K / sheet.contact.lowWPerM2K;
    return 0;
}

/// All boards of one seed, once.
struct Seated {
    Coverage measured, others, calibratedMeasured, calibratedOthers, markedMeasured, markedOthers;
    std::vector<Coverage> byPlan;
    std::vector<double> calibratedAtShare, bestHalfWidthsK, notSeatedOfLow;
    double calibratedSamples = 0, calibratedInBand = 0;
    int early = 0, widened = 0, marked = 0, hopeless = 0;

    void add(const HeatPlan& plan, const BoardResult& result, Coverage& own)
    {
        for (size_t s = 0; s < result.sites.size(); ++s) {
            const SiteResult& site = result.sites[s];
            const bool atSensor = plan.joints[s].site == plan.sheet.stripSensorSite;
            (atSensor ? measured : others).add(site);
            own.add(site);
            if (atSensor)
                bestHalfWidthsK.push_back(bestHalfWidthK(site.peakC - plan.sheet.air.ambientC));
            if (result.liquidAtS)
                (atSensor ? markedMeasured : markedOthers).add(site);
            if (result.calibratedAtS)
                (atSensor ? calibratedMeasured : calibratedOthers).add(site);
            calibratedSamples += site.calibratedSamples;
            calibratedInBand += site.calibratedInBand;
        }
        if (result.calibratedAtS)
            calibratedAtShare.push_back(*result.calibratedAtS / plan.heaterOffS);
        early += result.endedEarlyAtS.has_value();
        widened += result.widening > 1;
        marked += result.liquidAtS.has_value();
        hopeless += result.hopelessAtS.has_value();
    }
};

Seated runSeated(const std::vector<HeatPlan>& plans, int boards, std::uint64_t seed, Told told)
{
    std::vector<BoardResult> results(static_cast<size_t>(boards));
    auto boardOf = [&](int i) {
        return randomBoard(plans[static_cast<size_t>(i) % plans.size()], seed, i, Seating::AsPlanned);
    };
    onTwoThreads(boards, [&](int i) {
        results[static_cast<size_t>(i)] =
            runBoard(plans[static_cast<size_t>(i) % plans.size()], boardOf(i), told, Seating::AsPlanned);
    });
    Seated seated;
    seated.byPlan.resize(plans.size());
    for (int i = 0; i < boards; ++i) {
        const size_t plan = static_cast<size_t>(i) % plans.size();
        const BoardResult& result = results[static_cast<size_t>(i)];
        seated.add(plans[plan], result, seated.byPlan[plan]);
        if (result.notSeatedAtS)
            seated.notSeatedOfLow.push_back(contactOfLow(boardOf(i)));
    }
    return seated;
}

void printSeated(const std::vector<HeatPlan>& plans, int boards, std::uint64_t seed, Told told, bool byStrip)
{
    const bool withThermocouple = told == Told::ByThermocouple;
    const Seated seated = runSeated(plans, boards, seed, told);
    std::printf(" %s\n", withThermocouple        ? "thermocouple at one target"
                         : told == Told::ByMarks ? "plate sensor, and one mark \"it is liquid\""
                                                 : "plate sensor alone");
    seated.measured.print(withThermocouple        ? "target with the thermocouple"
                          : told == Told::ByMarks ? "target that is watched"
                                                  : "target in the middle");
    seated.others.print("other targets");
    if (withThermocouple) {
        seated.calibratedMeasured.print("of calibrated boards: with");
        seated.calibratedOthers.print("of calibrated boards: others");
        std::printf("  with contact known, the stated errors of both sensors alone leave %.1f K\n",
                    medianOf(seated.bestHalfWidthsK));
        std::printf("  %zu of %d boards calibrated, half of them by %.0f %% of the heat; while calibrated "
                    "%.1f %% of samples in the band\n",
                    seated.calibratedAtShare.size(), boards, 100 * medianOf(seated.calibratedAtShare),
                    percent(seated.calibratedInBand, seated.calibratedSamples));
        std::printf("  %zu said not seated", seated.notSeatedOfLow.size());
        for (const double ofLow : seated.notSeatedOfLow)
            std::printf(", contact there %.2f of low", ofLow);
        std::printf("; %d bands widened\n", seated.widened);
    }
    if (told == Told::ByMarks) {
        seated.markedMeasured.print("of marked boards: watched");
        seated.markedOthers.print("of marked boards: others");
        std::printf("  %d of %d boards marked liquid while heat was on, %d said to be without hope\n",
                    seated.marked, boards, seated.hopeless);
    }
    std::printf("  %d heats ended before the plan's time\n", seated.early);
    for (size_t p = 0; byStrip && p < plans.size(); ++p)
        seated.byPlan[p].print(plans[p].sheet.title.c_str());
}

void printUnseated(const std::vector<HeatPlan>& plans, int boards, std::uint64_t seed)
{
    std::vector<BoardResult> results(static_cast<size_t>(boards));
    onTwoThreads(boards, [&](int i) {
        const HeatPlan& plan = plans[static_cast<size_t>(i) % plans.size()];
        results[static_cast<size_t>(i)] = runBoard(plan, randomBoard(plan, seed, i, Seating::Unseated),
                                                   Told::ByThermocouple, Seating::Unseated);
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
        noticed, boards, medianOf(afterS));
}

/// Marks alone, no thermocouple: of boards that do not lie on the plate.
void printHopeless(const std::vector<HeatPlan>& plans, int boards, std::uint64_t seed)
{
    std::vector<BoardResult> results(static_cast<size_t>(boards));
    onTwoThreads(boards, [&](int i) {
        const HeatPlan& plan = plans[static_cast<size_t>(i) % plans.size()];
        results[static_cast<size_t>(i)] =
            runBoard(plan, randomBoard(plan, seed, i, Seating::Unseated), Told::ByMarks, Seating::Unseated);
    });
    int cold = 0, ended = 0, wrong = 0;
    std::vector<double> leastHope, earlierS;
    for (size_t i = 0; i < results.size(); ++i) {
        const BoardResult& result = results[i];
        cold += !result.melted;
        ended += !result.melted && result.hopelessAtS;
        wrong += result.melted && result.hopelessAtS;
        if (!result.melted)
            leastHope.push_back(result.leastHope);
        if (result.hopelessAtS)
            earlierS.push_back(plans[i % plans.size()].heaterOffS - *result.hopelessAtS);
    }
    std::printf(
        " the same in %s, no thermocouple, \"not yet\" every 8 s: %d of %d never melt, %d of these end as "
        "without hope, half of them %.0f s before the plan does, and %d of those that melt; least hope of "
        "those that never do %.2f (90 %%: %.2f)\n",
        plans.front().sheet.heat == HeatKind::Fit ? "a fit" : "a removal", cold, boards, ended,
        medianOf(earlierS), wrong, medianOf(leastHope), ninetyOf(leastHope));
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
        plan.parts.push_back({{StationKind::Lens, static_cast<int>(i)}, 80, {}, {}, slow, slow, slow});
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
    int boards = 200;
    bool byStrip = false, usage = false;
    std::vector<std::uint64_t> seeds = {tuningSeed, reportSeed};
    for (int i = 1; i < argc; ++i)
        if (std::strcmp(argv[i], "--by-strip") == 0)
            byStrip = true;
        else if (std::strcmp(argv[i], "--seed") == 0 && i + 1 < argc)
            seeds = {std::strtoull(argv[++i], nullptr, 10)};
        else if (std::strcmp(argv[i], "--boards") == 0 && i + 1 < argc)
            boards = std::atoi(argv[++i]);
        else
            usage = true;
    if (usage || boards < 1) {
        std::fprintf(stderr, "usage: figures_joint_band [--boards N] [--seed N] [--by-strip]\n");
        return 2;
    }
    const int unseated = std::max(1, static_cast<int>(unseatedShare * boards));
    const std::vector<HeatPlan> plans = plansOf(test::shippedShelf());
    const std::vector<HeatPlan> removals = plansOf(test::shippedShelf(), HeatKind::Remove);
    printTime(plans.front());
    std::printf(
        "\n90 %% band of the joint estimate on %d random boards each way, and %d that do not lie on the "
        "plate; one sample a second while heat is on\n",
        boards, unseated);
    for (const std::uint64_t seed : seeds) {
        std::printf("\nseed %llu%s\n", static_cast<unsigned long long>(seed),
                    seed == tuningSeed ? ", on which the estimate was tuned" : "");
        for (const Told told : {Told::Nothing, Told::ByMarks, Told::ByThermocouple})
            printSeated(plans, boards, seed, told, byStrip);
        printUnseated(plans, unseated, seed);
        printHopeless(plans, unseated, seed);
        printHopeless(removals, unseated, seed);
    }
    return 0;
}

} // namespace stripwright::figures

int main(int argc, char** argv)
{
    return stripwright::figures::print(argc, argv);
}
