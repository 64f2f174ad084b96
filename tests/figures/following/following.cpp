#include "board_plate.h"
#include "demo_sheet.h"
#include "random_sheets.h"
#include "reference_plate.h"

#include "analysis/limits.h"
#include "loop/control_loop.h"
#include "planner/heat_kinds.h"
#include "planner/plan_sheet.h"

#include <algorithm>
#include <atomic>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <thread>

using namespace stripwright;

namespace {

constexpr double periodS = 0.2;
bool talk = false; ///< Say what the loop said.

/// What one run came to.
struct Run {
    double rmsK = 0, worstK = 0, overshootK = 0, stretchedS = 0;
    int plannedAnew = 0;
    double slowestPlanMs = 0;
    bool ended = false;     ///< By the plan, not by a check.
    bool jointsKept = true; ///< Every limit of a target joint that is no habit.
    std::optional<double> lensPeakC;
    std::string why;
};

/// One plate, one strip, one plan.
struct Bench {
    int number = 0;
    HeatPlan plan;    ///< Made from what the bench believes.
    BenchSheet truth; ///< The plate and strip that are really there.
    TruthFactors factors;
    std::optional<StationId> lens; ///< Nearest to the targets; none: none is left on.
    OwnLoopFigures ownLoop;        ///< Of a plate driven by its set-point, as it really is.
};

/// How a plate is driven, and what is known of it.
struct Driven {
    const char* words;
    bool setpoint = false;
    bool tellsDuty = true;
    bool learnt = false;      ///< Its own loop, which the plan then knows too.
    bool proven = true;       ///< It cuts its heater when the line falls silent.
    bool overADecade = false; ///< Gain and integral of its loop, each about those of a loop well tuned.
    bool coarse = false;      ///< It is read in whole degrees, once a second.
    std::optional<double> rampCPerS = {}; ///< Its own, which cannot be switched off.
};

enum class Plain { Pid, Thermostat };

double uniform(std::mt19937& random, double low, double high)
{
    return low + (high - low) * static_cast<double>(random()) * 0x1p-32;
}

PlateType benchPlate()
{
    PlateType plate = referencePlateType();
    plate.name = "Reference plate";
    plate.source = "control benchmark";
    plate.lengthMm = plate.widthMm = 180;
    plate.thicknessMm = 9;
    return plate;
}

std::optional<StationId> nearestLens(const BenchSheet& sheet)
{
    double nearestMm = INFINITY;
    std::optional<StationId> lens;
    for (int target : sheet.targets())
        for (size_t i = 0; i < sheet.sites.size(); ++i) {
            const int site = static_cast<int>(i) + 1;
            const double mm =
                std::abs(sheet.strip.siteXMm[i] - sheet.strip.siteXMm[static_cast<size_t>(target) - 1]);
            if (sheet.lensStaysOn(site) && mm < nearestMm) {
                nearestMm = mm;
                lens = {StationKind::Lens, site};
            }
        }
    return lens;
}

/// Follows the truth while a run goes on.
class Judge {
public:
    Judge(const Bench& bench) : bench_(bench)
    {
        for (const Limit& limit : limitsOf(bench.truth))
            if (!limit.habit && !limit.needsHands() && limit.station.kind == StationKind::Joint)
                limits_.push_back(limit);
    }

    void sample(double timeS, const BoardPlate& plate)
    {
        timeS_.push_back(timeS);
        for (const Limit& limit : limits_)
            if (auto& curve = curves_[limit.station]; curve.size() < timeS_.size())
                curve.push_back(plate.stationC(limit.station));
        if (bench_.lens)
            lensPeakC_ = std::max(lensPeakC_.value_or(-INFINITY), plate.stationC(*bench_.lens));
    }

    void tracked(double plateC, double referenceC, bool stands)
    {
        const double errorK = plateC - referenceC;
        sum_ += errorK * errorK;
        ++count_;
        if (!stands)
            worstK_ = std::max(worstK_, std::abs(errorK));
    }

    void hottest(double plateC, double referenceC)
    {
        hottestC_ = std::max(hottestC_, plateC);
        highestReferenceC_ = std::max(highestReferenceC_, referenceC);
    }

    Run verdict() const
    {
        Run run;
        run.rmsK = std::sqrt(sum_ / std::max(count_, 1));
        run.worstK = worstK_;
        run.overshootK = hottestC_ - highestReferenceC_;
        run.lensPeakC = lensPeakC_;
        for (const Limit& limit : limits_) {
            const MarginRow row = marginRow(limit, {}, Judged{{timeS_, curves_.at(limit.station)}}, {});
            if (row.margin < 0) {
                run.jointsKept = false;
                char text[160];
                std::snprintf(text, sizeof text, " [%s %.2f]", limit.id.c_str(), row.nominal.value_or(NAN));
                run.why += text;
            }
        }
        return run;
    }

private:
    const Bench& bench_;
    std::vector<Limit> limits_;
    std::vector<double> timeS_;
    std::map<StationId, std::vector<double>> curves_;
    std::optional<double> lensPeakC_;
    double sum_ = 0, worstK_ = 0, hottestC_ = -INFINITY, highestReferenceC_ = -INFINITY;
    int count_ = 0;
};

double safeC(const Bench& bench)
{
    return bench.truth.paste.alloy.solidusC - 40;
}

Run runStripwright(const Bench& bench, const Driven& drive)
{
    BoardPlate plate(bench.truth, bench.factors, static_cast<unsigned>(bench.number),
                     {.ownLoop = drive.setpoint ? std::optional(bench.ownLoop) : std::nullopt,
                      .tellsDuty = drive.tellsDuty,
                      .coarse = drive.coarse});
    const double everyS = drive.coarse ? plate.readingEveryS() : periodS;
    LoopSettings settings{.drive = drive.setpoint ? DriveKind::Setpoint : DriveKind::Duty,
                          .periodS = everyS,
                          .simulatedStrip = true,
                          .watchdogProvenS = drive.proven ? 3.0 : 0.0,
                          .virtualTime = true};
    if (drive.learnt)
        settings.identified = asLearnt(bench.plan.sheet.plate);
    ControlLoop loop(plate, bench.plan, settings);
    for (const HandCard& card : bench.plan.cards)
        loop.confirmCard(card.id);
    Judge judge(bench);
    Run ended;
    double stretchedS = 0;
    std::string why;
    long samples = 0;
    for (double wallS = 1000;; wallS += everyS) {
        plate.advance(everyS);
        const CycleRecord record = loop.cycle(wallS);
        for (int i = 0; i < record.eventCount; ++i)
            if (double ms = 0; std::sscanf(record.events[size_t(i)].text.data(),
                                           "the rest of the heat planned anew in %lf ms", &ms) == 1) {
                ++ended.plannedAnew;
                ended.slowestPlanMs = std::max(ended.slowestPlanMs, ms);
            }
        for (int i = 0; i < record.eventCount; ++i)
            if (record.events[size_t(i)].severity == Severity::Trip ||
                (talk && record.events[size_t(i)].kind != EventKind::Card))
                why += std::string(record.events[size_t(i)].severity == Severity::Trip ? " TRIP " : " | ") +
                       record.events[size_t(i)].text.data();
        const bool heating = record.state == RunState::Running || record.state == RunState::Holding;
        if (heating)
            judge.tracked(plate.plateC(), record.referenceC, record.state == RunState::Holding);
        stretchedS = std::max(stretchedS, record.timeS - record.profileS);
        judge.hottest(plate.plateC(), record.referenceC);
        if (record.sampleSeq > 0 && samples++ % std::lround(1 / everyS) == 0)
            judge.sample(record.timeS, plate);
        if (!heating && record.state != RunState::Starting && plate.plateC() < safeC(bench))
            break;
    }
    Run run = judge.verdict();
    run.plannedAnew = ended.plannedAnew;
    run.slowestPlanMs = ended.slowestPlanMs;
    run.stretchedS = stretchedS;
    run.ended = why.find("TRIP") == std::string::npos;
    run.why = why + run.why;
    return run;
}

/// The same plan by a controller that knows only a set curve and the reading.
Run runPlain(const Bench& bench, Plain control)
{
    BoardPlate plate(bench.truth, bench.factors, static_cast<unsigned>(bench.number), {});
    Pid pid(simcGains(figuresOf(bench.plan.sheet.plate, bench.plan.sheet.air.ambientC)), periodS);
    Judge judge(bench);
    bool on = false;
    long samples = 0;
    for (double timeS = 0;; timeS += periodS) {
        plate.advance(periodS);
        const bool heating = timeS < bench.plan.heaterOffS;
        const double referenceC = planValue(bench.plan.timeS, bench.plan.plateC, timeS);
        if (heating && control == Plain::Pid) {
            plate.setDuty(pid.step(referenceC, plate.shownC(), 0, periodS));
        } else if (heating) {
            on = plate.shownC() < referenceC + (on ? 1 : -1);
            plate.setDuty(on ? 1 : 0);
        } else {
            plate.heaterOff();
            plate.setFan(bench.plan.sheet.cooling.fan);
            plate.setStripLifted(bench.plan.liftAtS && timeS >= *bench.plan.liftAtS);
        }
        if (heating)
            judge.tracked(plate.plateC(), referenceC, false);
        judge.hottest(plate.plateC(), referenceC);
        if (samples++ % 5 == 0)
            judge.sample(timeS, plate);
        if (!heating && plate.plateC() < safeC(bench))
            break;
    }
    Run run = judge.verdict();
    run.ended = true;
    return run;
}

/// PI by the SIMC rules with the half rule on the element's lag, as a controller on the shelf would be tuned;
/// over a decade: that, or slower, or quicker.
OwnLoopFigures drawnLoop(const PlateType& plate, const Driven& drive, std::mt19937& random)
{
    const double delayS = std::max(0.5, plate.deadTimeS + plate.sensorLagS + plate.elementLagS / 2);
    OwnLoopFigures loop{.gainPerK = plate.heatCapacityJPerK / plate.powerW / (2 * delayS),
                        .integralS = 8 * delayS,
                        .rampCPerS = drive.rampCPerS};
    const double slower = uniform(random, -0.75, 0.25), longer = uniform(random, -0.25, 0.75);
    if (drive.overADecade) {
        loop.gainPerK *= std::pow(10, slower);
        loop.integralS *= std::pow(10, longer);
    }
    return loop;
}

OwnLoopFigures believedLoop(OwnLoopFigures loop, bool proven, double smallShare, std::mt19937& random)
{
    loop.gainPerK *= 1 + smallShare * uniform(random, -1, 1);
    loop.integralS *= 1 + smallShare * uniform(random, -1, 1);
    if (proven)
        loop.cutAfterS = 3;
    return loop;
}

/// Plates and strips drawn by lot, each planned with what the bench believes of its plate.
/// @param beliefShare by how much heat capacity and losses are believed wrong, either way
std::vector<Bench> draw(int count, double beliefShare, double smallShare, unsigned seed, const Driven& drive)
{
    const Shelf shelf = test::shippedShelf();
    std::vector<Bench> benches;
    std::atomic<int> next = 0;
    std::mutex mutex;
    auto work = [&] {
        for (;;) {
            const int number = next++;
            {
                const std::lock_guard lock(mutex);
                if (static_cast<int>(benches.size()) >= count)
                    return;
            }
            std::mt19937 random(seed * 7919 + static_cast<unsigned>(number));
            random.discard(16);
            Bench bench;
            bench.number = number;
            PlateType real = benchPlate();
            for (double* figure : {&real.heatCapacityJPerK, &real.powerW, &real.lossWPerK,
                                   &real.radiatingAreaM2, &real.elementLagS, &real.sensorLagS})
                *figure *= uniform(random, 0.8, 1.2);
            PlateType believed = real;
            const auto wrong = [&](double share) { return random() % 2 ? 1 + share : 1 - share; };
            if (beliefShare > 0) {
                believed.heatCapacityJPerK *= wrong(beliefShare);
                const double losses = wrong(beliefShare);
                believed.lossWPerK *= losses;
                believed.radiatingAreaM2 *= losses;
            }
            for (double* figure : {&believed.heatCapacityJPerK, &believed.lossWPerK, &believed.elementLagS,
                                   &believed.sensorLagS})
                *figure *= 1 + smallShare * uniform(random, -1, 1);
            bench.ownLoop = drawnLoop(real, drive, random);
            if (drive.learnt)
                believed.ownLoop = believedLoop(bench.ownLoop, drive.proven, smallShare, random);
            BenchSheet sheet = randomSheet(shelf, seed, number, &believed);
            sheet.cooling.fan = false;
            bench.plan = planSheet(sheet);
            if (!bench.plan.runnable || !whyNotRunnable(bench.plan).empty())
                continue;
            bench.truth = sheet;
            bench.truth.plate = real;
            const ContactCondition& contact = sheet.contact;
            bench.factors.contact =
                std::exp(uniform(random, std::log(contact.lowWPerM2K), std::log(contact.highWPerM2K))) /
                contact.nominalWPerM2K;
            bench.factors.power = uniform(random, 0.95, 1.05);
            bench.lens = nearestLens(sheet);
            const std::lock_guard lock(mutex);
            benches.push_back(std::move(bench));
        }
    };
    std::thread other(work);
    work();
    other.join();
    std::sort(benches.begin(), benches.end(),
              [](const Bench& a, const Bench& b) { return a.number < b.number; });
    benches.resize(static_cast<size_t>(count));
    return benches;
}

template <class Control>
std::vector<Run> runAll(const std::vector<Bench>& benches, const Control& control,
                        Run (*one)(const Bench&, Control))
{
    std::vector<Run> runs(benches.size());
    std::atomic<size_t> next = 0;
    auto work = [&] {
        for (size_t i; (i = next++) < benches.size();)
            runs[i] = one(benches[i], control);
    };
    std::thread other(work);
    work();
    other.join();
    return runs;
}

double quantile(std::vector<double> values, double share)
{
    if (values.empty())
        return NAN;
    std::sort(values.begin(), values.end());
    return values[static_cast<size_t>(std::lround(share * static_cast<double>(values.size() - 1)))];
}

void printRow(const char* name, const std::vector<Run>& runs, bool verbose)
{
    std::vector<double> rms, worst, overshoot, lens;
    int kept = 0, ended = 0, stretched = 0, anew = 0;
    double slowestMs = 0;
    for (const Run& run : runs) {
        rms.push_back(run.rmsK);
        worst.push_back(run.worstK);
        overshoot.push_back(run.overshootK);
        if (run.lensPeakC)
            lens.push_back(*run.lensPeakC);
        kept += run.jointsKept && run.ended;
        ended += run.ended;
        stretched += run.stretchedS > 1;
        anew += run.plannedAnew > 0;
        slowestMs = std::max(slowestMs, run.slowestPlanMs);
    }
    const double n = static_cast<double>(runs.size());
    std::printf(
        "%-30s %5.2f %5.2f  %5.2f %5.2f  %5.2f %5.2f  %5.1f  %5.1f  %5.1f  %5.1f %4.0f  %6.1f %6.1f\n", name,
        quantile(rms, 0.5), quantile(rms, 1), quantile(worst, 0.5), quantile(worst, 1),
        quantile(overshoot, 0.5), quantile(overshoot, 1), 100 * ended / n, 100 * kept / n,
        100 * stretched / n, 100 * anew / n, slowestMs, quantile(lens, 0.5), quantile(lens, 1));
    if (verbose)
        for (size_t i = 0; i < runs.size(); ++i)
            if (!runs[i].why.empty() || runs[i].worstK > 2 || runs[i].overshootK > 1)
                std::printf("    %3zu rms %.2f worst %.2f over %.2f stretched %.0f%s\n", i, runs[i].rmsK,
                            runs[i].worstK, runs[i].overshootK, runs[i].stretchedS, runs[i].why.c_str());
}

} // namespace

int main(int argc, char** argv)
{
    int count = 200;
    unsigned seed = 1;
    bool verbose = false;
    std::string only;
    for (int i = 1; i < argc; ++i) {
        if (!std::strcmp(argv[i], "--benches") && i + 1 < argc)
            count = std::atoi(argv[++i]);
        else if (!std::strcmp(argv[i], "--seed") && i + 1 < argc)
            seed = static_cast<unsigned>(std::atoi(argv[++i]));
        else if (!std::strcmp(argv[i], "--only") && i + 1 < argc)
            only = argv[++i];
        else if (!std::strcmp(argv[i], "--each"))
            verbose = true;
        else if (!std::strcmp(argv[i], "--talk"))
            verbose = talk = true;
        else {
            std::fprintf(
                stderr,
                "usage: figures_following [--benches N] [--seed N] [--only WORDS] [--each] [--talk]\n");
            return 2;
        }
    }
    std::printf(
        "%d benches, seed %u. Plate against reference while heat is on, K: median of the runs and worst.\n"
        "ended: by the plan, not by a check. joints: every limit of every target kept. slower: the plan was\n"
        "stretched by a second or more. anew: rest of the heat planned anew, and the slowest such plan, ms.\n"
        "lens: peak of the nearest lens left on, C, median and hottest.\n\n",
        count, seed);
    std::printf("%-30s %11s  %11s  %11s  %5s  %5s  %5s  %10s  %13s\n", "", "RMS", "worst", "overshoot",
                "ended", "joint", "slow", "anew", "lens");
    std::printf("%-30s %11s  %11s  %11s  %5s  %5s  %5s  %5s %4s\n", "", "", "", "", "%", "ok %", "er %", "%",
                "ms");
    const struct {
        const char* words;
        double belief, small;
    } beliefs[] = {{"figures within 2 %", 0, 0.02}, {"heat capacity, losses 20 % off", 0.2, 0}};
    const Driven drives[] = {
        {.words = "  duty"},
        {.words = "  duty, whole degrees, 1 s", .coarse = true},
        {.words = "  set-point, duty told", .setpoint = true},
        {.words = "  set-point, learnt, duty told", .setpoint = true, .learnt = true, .overADecade = true},
        {.words = "  set-point, learnt", .setpoint = true, .tellsDuty = false, .learnt = true},
        {.words = "  set-point, learnt, decade",
         .setpoint = true,
         .tellsDuty = false,
         .learnt = true,
         .overADecade = true},
        {.words = "  set-point, learnt, unproven",
         .setpoint = true,
         .tellsDuty = false,
         .learnt = true,
         .proven = false},
        {.words = "  set-point, unproven, decade",
         .setpoint = true,
         .tellsDuty = false,
         .learnt = true,
         .proven = false,
         .overADecade = true},
        {.words = "  set-point, whole degrees, 1 s",
         .setpoint = true,
         .tellsDuty = false,
         .learnt = true,
         .overADecade = true,
         .coarse = true},
        {.words = "  set-point, own ramp 0.8 C/s",
         .setpoint = true,
         .tellsDuty = false,
         .learnt = true,
         .overADecade = true,
         .rampCPerS = 0.8},
    };
    for (const auto& belief : beliefs) {
        std::printf("%s\n", belief.words);
        std::vector<Bench> byDuty;
        for (const Driven& drive : drives) {
            if (!only.empty() && std::string(drive.words).find(only) == std::string::npos)
                continue;
            const std::vector<Bench> benches = draw(count, belief.belief, belief.small, seed, drive);
            printRow(drive.words,
                     runAll(
                         benches, drive, +[](const Bench& b, Driven d) { return runStripwright(b, d); }),
                     verbose);
            if (!drive.setpoint)
                byDuty = benches;
        }
        if (byDuty.empty())
            continue;
        printRow("  plain PID, no feed-forward", runAll(byDuty, Plain::Pid, &runPlain), false);
        printRow("  thermostat, 2 K wide", runAll(byDuty, Plain::Thermostat, &runPlain), false);
    }
    return 0;
}
