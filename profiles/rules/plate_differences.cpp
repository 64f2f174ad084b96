#include "rules/plate_differences.h"

#include "thermal/heat_network.h"

#include <algorithm>
#include <cmath>
#include <cstdarg>
#include <cstdio>

namespace stripwright {

[[gnu::format(printf, 1, 2)]] static std::string text(const char* format, ...)
{
    char line[400];
    va_list values;
    va_start(values, format);
    std::vsnprintf(line, sizeof line, format, values);
    va_end(values);
    return line;
}

// A feed-forward that is off by less is made good by the loop without a word.
static constexpr double leastShare = 0.05;
static constexpr double lossAtC = 150;

static double lossW(const PlateType& plate, double ambientC)
{
    return plate.lossWPerK * (lossAtC - ambientC) +
           plate.radiatingAreaM2 * stefanBoltzmannWPerM2K4 *
               (std::pow(lossAtC + 273.15, 4) - std::pow(ambientC + 273.15, 4));
}

static double lagsS(const PlateType& plate)
{
    return plate.elementLagS + plate.sensorLagS + plate.deadTimeS;
}

namespace {

class Differences {
public:
    explicit Differences(const std::string& plannedId) : id_(plannedId) {}

    /// Two figures of one kind; `share`: by how much they may differ without a word.
    void figure(const char* what, const char* unit, double planned, double found, double share, int decimals,
                double leastApart = 0)
    {
        if (std::abs(found - planned) <= std::max(share * std::abs(planned), leastApart))
            return;
        const std::string by = planned > 0 ? text(" (%+.0f %%)", 100 * (found / planned - 1)) : std::string();
        say(what, text("%.*f %s", decimals, planned, unit), text("%.*f %s", decimals, found, unit) + by);
    }
    void say(const std::string& what, const std::string& planned, const std::string& found)
    {
        const bool named = list_.empty() && !id_.empty(); // once is enough
        list_.push_back(what + ": planned" + (named ? " for " + id_ : "") + ": " + planned +
                        "; this plate: " + found);
    }
    std::vector<std::string> list() && { return std::move(list_); }

private:
    std::string id_;
    std::vector<std::string> list_;
};

} // namespace

static void ownLoops(Differences& differences, const PlateType& planned, const ConnectedPlate& plate)
{
    constexpr double mostFactor = 1.5; // of gain and integral time: more is another way to follow
    const OwnLoopFigures* const learnt =
        plate.learnt && plate.learnt->ownLoop ? &*plate.learnt->ownLoop : nullptr;
    if (planned.ownLoop && !plate.bySetpoint)
        return differences.say("own loop", "driven by its set-point", "its heater does as it is told");
    if (!planned.ownLoop && plate.bySetpoint)
        return differences.say("own loop", "a heater that does as it is told",
                               learnt ? "driven by its set-point, its loop was learnt: plan for it"
                                      : "driven by its set-point, its loop was not learnt");
    if (!planned.ownLoop || !learnt)
        return;
    const auto apart = [](double a, double b) { return std::max(a / b, b / a) > mostFactor; };
    if (apart(planned.ownLoop->gainPerK, learnt->gainPerK))
        differences.say("gain of its own loop", text("%.3f of full heat a K", planned.ownLoop->gainPerK),
                        text("%.3f", learnt->gainPerK));
    if (apart(planned.ownLoop->integralS, learnt->integralS))
        differences.say("integral time of its own loop", text("%.0f s", planned.ownLoop->integralS),
                        text("%.0f s", learnt->integralS));
    if (const auto there = learnt->rampCPerS; there != planned.ownLoop->rampCPerS)
        differences.say("ramp of its own",
                        planned.ownLoop->rampCPerS ? text("%.2f C/s", *planned.ownLoop->rampCPerS) : "none",
                        there ? text("%.2f C/s", *there) : "none");
    differences.figure("most heat its own loop gives", "%", 100 * planned.ownLoop->mostDuty,
                       100 * learnt->mostDuty, leastShare, 0);
}

// A plan that counts on the plate's cutting itself must find one that was seen to.
static void watchdogs(Differences& differences, const PlateType& planned, const ConnectedPlate& plate)
{
    const std::optional<double> cut = planned.ownLoop ? planned.ownLoop->cutAfterS : std::nullopt;
    if (cut && !(plate.watchdogProvenS > 0))
        differences.say("watchdog", text("cuts its heater after %.1f s of silence", *cut),
                        plate.hasWatchdog ? "never proven" : "it has none");
    else if (cut && plate.watchdogProvenS > 1.5 * *cut)
        differences.say("watchdog", text("cuts its heater after %.1f s of silence", *cut),
                        text("after %.1f s", plate.watchdogProvenS));
}

std::vector<std::string> plateDifferences(const PlateType& planned, const ConnectedPlate& plate,
                                          double ambientC, bool fan)
{
    Differences differences(planned.id);
    if (plate.learnt) {
        const PlateType& learnt = *plate.learnt;
        const double capacityShare = std::max(leastShare, 2 * plate.capacityError.value_or(0));
        differences.figure("heat capacity", "J/K", planned.heatCapacityJPerK, learnt.heatCapacityJPerK,
                           capacityShare, 0);
        differences.figure("power", "W", planned.powerW, learnt.powerW, leastShare, 0);
        // The plan keeps its limits anywhere in the range of its own losses.
        differences.figure("loss at 150 °C", "W", lossW(planned, ambientC), lossW(learnt, ambientC),
                           std::max(planned.lossRangeShare, 2 * plate.lossError.value_or(0)), 0);
        constexpr double lagShare = 0.2, lagApartS = 1;
        differences.figure("lags together", "s", lagsS(planned), lagsS(learnt),
                           std::max(lagShare, 2 * plate.lagError.value_or(0)), 1, lagApartS);
        constexpr double fanShare = 0.2;
        if (plate.fanLearnt && planned.fanLossWPerK > 0)
            differences.figure("fan", "W/K", planned.fanLossWPerK, learnt.fanLossWPerK, fanShare, 2);
    }
    if (fan && planned.fanLossWPerK > 0 && plate.switchesFan && plate.learnt && !plate.fanLearnt)
        differences.say("fan", text("%.2f W/K", planned.fanLossWPerK), "never learnt");
    ownLoops(differences, planned, plate);
    watchdogs(differences, planned, plate);
    return std::move(differences).list();
}

} // namespace stripwright
