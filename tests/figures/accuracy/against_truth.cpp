#include "heat.h"
#include "processor_time.h"

#include "analysis/metrics.h"

#include <cmath>
#include <cstdio>

namespace stripwright::figures {

namespace {

constexpr double fineOutputS = 0.5;
constexpr int timedRuns = 11;

/// What a one-dimensional model with its sites as branches can honestly be asked for.
struct StationClass {
    const char* name;
    StationKind kind;
    std::optional<bool> overPlate; ///< Absent: wherever it is.
    double maxK, rmsK;             ///< Bounds.
};
constexpr StationClass classes[] = {
    {"core over the plate", StationKind::Strip, true, 0.3, 0.2},
    {"core at the plate's edge and beyond", StationKind::Strip, false, 1.0, 0.5},
    {"joint over the plate", StationKind::Joint, true, 0.7, 0.4},
    {"joint at the plate's edge and beyond", StationKind::Joint, false, 1.0, 0.5},
    {"body top, centre", StationKind::Body, {}, 1.5, 0.8}};

constexpr double peakBoundK = 0.7;
constexpr double clearOverK = 10, marginalK = 3; ///< Peak over liquidus.
constexpr double clearBoundS = 1, flatBoundS = 4;

/// An error that must stay within a bound, with what it was taken from.
struct Worst {
    double value = 0;
    int samples = 0;
    double sumOfSquares = 0;
    std::string where;

    void take(double error, const std::string& at)
    {
        if (samples == 0 || std::abs(error) > std::abs(value))
            value = error, where = at;
        sumOfSquares += error * error;
        ++samples;
    }
    double rms() const { return std::sqrt(sumOfSquares / samples); }
};

const char* verdict(bool kept)
{
    return kept ? "kept" : "BROKEN";
}

bool belongs(const Station& station, const StationClass& wanted, const BenchSheet& sheet)
{
    return station.kind == wanted.kind &&
           (!wanted.overPlate || *wanted.overPlate == isOverPlate(station, sheet));
}

void printClasses(const test::FiniteElementCase& one)
{
    PredictOptions options = one.options();
    options.outputStepS = one.timeS[1] - one.timeS[0];
    const Prediction prediction = predict(one.sheet, one.plate, options);
    std::printf(
        "  class of station                      stations  max K (bound)  RMS K (bound)          worst\n");
    for (const StationClass& wanted : classes) {
        int stations = 0;
        Worst worst;
        for (const auto& [name, truthC] : one.stationC) {
            const StationCurve& curve = *prediction.find(name);
            if (!belongs(curve.station, wanted, one.sheet))
                continue;
            ++stations;
            for (size_t i = 0; i < truthC.size(); ++i)
                worst.take(curve.valueC.at(i) - truthC[i], std::to_string(std::lround(one.timeS[i])) +
                                                               " s, " + placeOf(curve.station, one.sheet));
        }
        if (stations == 0)
            continue;
        const bool kept = std::abs(worst.value) <= wanted.maxK && worst.rms() <= wanted.rmsK;
        std::printf("  %-37s %8d   %4.2f (%3.1f)     %4.2f (%3.1f)  %-7s %+.2f K at %s\n", wanted.name,
                    stations, std::abs(worst.value), wanted.maxK, worst.rms(), wanted.rmsK, verdict(kept),
                    worst.value, worst.where.c_str());
    }
}

void printWorst(const char* what, const Worst& worst, double bound, const char* unit)
{
    std::printf("  %-45s joints %2d", what, worst.samples);
    if (worst.samples > 0)
        std::printf("   worst %+.2f %s (%.1f)  %s", worst.value, unit, bound,
                    verdict(std::abs(worst.value) <= bound));
    std::printf("\n");
}

void printJoints(const test::FiniteElementCase& one)
{
    PredictOptions options = one.options();
    options.outputStepS = fineOutputS;
    const Prediction prediction = predict(one.sheet, one.plate, options);
    std::printf("\n              peak C                        truth's peak     time above liquidus s\n"
                "  joint    truth     ours  error K    over liquidus K    truth     ours   error\n");
    Worst peak, clear, flat;
    for (const auto& joint : one.joints) {
        const std::string name = "joint_" + std::to_string(joint.site);
        const Curve curve{prediction.timeS, prediction.find(name)->valueC};
        const double peakC = peakOf(curve)->valueC, aboveS = timeAboveS(curve, joint.liquidusC);
        const double overK = joint.peakC - joint.liquidusC, errorS = aboveS - joint.aboveLiquidusS;
        peak.take(peakC - joint.peakC, name);
        std::printf("  %5d %8.2f %8.2f %+8.2f %18.2f    ", joint.site, joint.peakC, peakC,
                    peakC - joint.peakC, overK);
        if (std::abs(overK) < marginalK) {
            std::printf("marginal: no honest time\n");
        } else if (overK < 0) {
            std::printf("%s\n", aboveS > 0 ? "solid, but ours melts: BROKEN" : "solid in both");
        } else {
            (overK >= clearOverK ? clear : flat).take(errorS, name);
            std::printf("%5.1f    %5.1f   %+5.2f\n", joint.aboveLiquidusS, aboveS, errorS);
        }
    }
    std::printf("\n");
    printWorst("peak", peak, peakBoundK, "K");
    printWorst("time above liquidus, peak 10 K or more over", clear, clearBoundS, "s");
    printWorst("time above liquidus, peak 3 to 10 K over", flat, flatBoundS, "s");
}

} // namespace

void printAccuracy(const std::vector<test::FiniteElementCase>& cases)
{
    const PredictOptions defaults;
    std::printf(
        "ACCURACY against three-dimensional finite elements\n\n"
        "Cells of %g mm and steps of %g s, the default of both. The finite elements are good to 0.05 K in "
        "core\n"
        "and joint, 0.15 K at body tops and 0.15 s in time above liquidus. Stations at every 10 s of the "
        "whole\n"
        "heat, + where ours reads too hot; peaks and times from joint curves of ours at every %g s. Bounds "
        "in\n"
        "brackets are what a one-dimensional model with its sites as branches can honestly be asked for.\n",
        defaults.cellMm, defaults.stepS, fineOutputS);
    for (const auto& one : cases) {
        std::vector<double> ms;
        for (int i = 0; i < timedRuns; ++i)
            ms.push_back(test::millisecondsOf([&] { predict(one.sheet, one.plate, one.options()); }));
        std::printf(
            "\n%s\n  %zu nodes; predict takes %.1f ms of processor time for %.0f s (median of %d runs)\n\n",
            one.name.c_str(), buildStripModel(one.sheet, one.options()).network.capacityJPerK.size(),
            test::median(ms), one.timeS.back(), timedRuns);
        printClasses(one);
        printJoints(one);
    }
}

} // namespace stripwright::figures
