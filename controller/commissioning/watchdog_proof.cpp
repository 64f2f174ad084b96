#include "commissioning/watchdog_proof.h"

#include <algorithm>
#include <cmath>
#include <cstdarg>
#include <cstdio>

namespace stripwright {

static constexpr double settleS = 15, arrivesMoreS = 10;
static constexpr double silenceShare = 0.1, silenceMoreS = 1, mostSilentRiseK = 20;
// Of the heats that are compared:
static constexpr double beforeS = 0.6, silenceTimes = 3, silenceTimesMoreS = 2, longestSilenceS = 40;
static constexpr double aimedRiseK = 2.5, mostRiseK = 12, leastRiseK = 0.3;
static constexpr double mostShareIfCut = 0.7; // of the other rise, or the two cannot be told apart
static constexpr double noises = 3, unsureAtBest = 0.08;
static constexpr double asBefore = 0.5;        // of the rise that the sensor's step leads to expect
static constexpr double farFromSetpoint = 0.6; // nearer to it the plate's own loop gives less heat anyway

[[gnu::format(printf, 1, 2)]] static std::string said(const char* format, ...)
{
    char text[400];
    va_list arguments;
    va_start(arguments, format);
    std::vsnprintf(text, sizeof text, format, arguments);
    va_end(arguments);
    return text;
}

namespace {

/// One heat with a silence in it.
struct SilentHeat {
    double silentS = 0; ///< Since the last request before it.
    double fromS = 0;   ///< Of the heat.
    std::string cutShown;
};

class WatchdogTrial {
public:
    WatchdogTrial(WatchedProbe& probe, const PlateLink& link, CandidateTable& table, const KnownHeat& heat,
                  Surroundings& around)
        : probe_(probe), link_(link), table_(table), heat_(heat), around_(around)
    {
    }

    WatchdogVerdict run();

private:
    bool coil() const { return isSwitched(link_); }
    const CandidateRow& sensor() const { return table_.rows()[table_.sensible().front()]; }
    /// Silent is the line, not the coil: what is switched by whole periods is left on.
    double duty() const { return coil() ? 1 : smallDuty; }
    double risesKPerS() const { return heat_.dutyS > 0 ? heat_.riseK / heat_.dutyS * duty() : 0; }
    double cutBy() const { return link_.watchdogSeconds * (1 + silenceShare) + silenceMoreS; }

    bool settle(double forS);
    WatchedProbe::Heat left() const { return {.duty = duty(), .setpointC = setpointC_}; }
    double longSettleS() const { return std::max(settleS, heat_.arrivalS); }
    std::optional<SilentHeat> silentHeat(double settlesS, double beforeSilenceS, double silentS);
    std::string cutShown(const PlateReading& before, const PlateReading& after) const;
    bool outputStaysAtZero(const PlateReading& before, const PlateReading& after);
    std::optional<double> riseAfterHeat();
    std::optional<double> riseWithoutSilence(double forS);
    WatchdogVerdict compare();
    WatchdogVerdict judge(const SilentHeat& silent, double heatedS, double silentK, double steadyK);
    WatchdogVerdict cut(double silentS, const std::string& how);
    WatchdogVerdict heatsOn(const std::string& seen);
    WatchdogVerdict open(const std::string& why);

    WatchedProbe& probe_;
    const PlateLink& link_;
    CandidateTable& table_;
    const KnownHeat heat_;
    Surroundings& around_;
    double setpointC_ = 0;
};

bool WatchdogTrial::settle(double forS)
{
    if (!probe_.hold({}, forS))
        return false;
    table_.restAgain();
    setpointC_ = sensor().readsC + setpointAboveK;
    return true;
}

std::optional<SilentHeat> WatchdogTrial::silentHeat(double settlesS, double beforeSilenceS, double silentS)
{
    if (!settle(settlesS))
        return {};
    SilentHeat done;
    done.fromS = around_.plantS();
    WatchedProbe::Heat small = left();
    small.duty = smallDuty;
    if (!probe_.hold(small, beforeSilenceS))
        return {};
    do { // a duty that reads 0 afterwards says something only if it was read back above 0
        if (!probe_.hold(left(), WatchedProbe::cycleS))
            return {};
    } while (!probe_.reading() || !probe_.heatConfirmed());
    const PlateReading before = *probe_.reading();
    const auto silence = probe_.goSilent(silentS);
    if (!silence)
        return {};
    table_.take(sensorWordsOf(silence->after)); // it has gone on while nobody looked
    done.silentS = silence->lastedS;
    done.cutShown = cutShown(before, silence->after);
    if (done.cutShown.empty() && outputStaysAtZero(before, silence->after))
        done.cutShown = "its output stays at 0 although its set-point stands";
    return probe_.why().empty() ? std::optional(done) : std::nullopt;
}

// What stood before the silence is no news of it.
std::string WatchdogTrial::cutShown(const PlateReading& before, const PlateReading& after) const
{
    if (after.watchdogTripped && !before.watchdogTripped)
        return "its status says so";
    const bool noDuty = after.duty && *after.duty == 0;
    if (link_.drive == DriveKind::Duty && noDuty)
        return "its duty reads 0";
    if (link_.enable && after.enabled == false)
        return "its enable output reads off";
    if (link_.drive == DriveKind::Setpoint && after.setpointC && *after.setpointC <= link_.setpointFloorC)
        return "its set-point reads " + said("%g", *after.setpointC);
    return {};
}

// A loop that has come to its set-point gives none either, where it works by a ramp nobody sees to which, and
// one that switches its heater now and then none.
bool WatchdogTrial::outputStaysAtZero(const PlateReading& before, const PlateReading& after)
{
    constexpr double wellBelowK = 3, looksS = 3;
    const auto wantsHeat = [&](const PlateReading& reading) {
        return reading.setpointC && *reading.setpointC > setpointC_ - 1 &&
               sensor().readsC < setpointC_ - wellBelowK;
    };
    const auto givesNone = [](const PlateReading& reading) { return reading.duty && *reading.duty == 0; };
    if (link_.drive != DriveKind::Setpoint || link_.ownRampCPerS || !(before.duty.value_or(0) > 0) || !wantsHeat(after) ||
        !givesNone(after))
        return false;
    bool stays = true;
    WatchedProbe::Heat asItStands = left();
    asItStands.asItIs = true;
    probe_.hold(asItStands, looksS, [&] {
        stays = stays && probe_.reading() && givesNone(*probe_.reading()) && wantsHeat(*probe_.reading());
        return !stays;
    });
    return stays;
}

std::optional<double> WatchdogTrial::riseAfterHeat()
{
    if (!probe_.hold({}, std::max(heat_.arrivalS - shortHeatS, 0.0) + arrivesMoreS))
        return {};
    return sensor().movedK;
}

std::optional<double> WatchdogTrial::riseWithoutSilence(double forS)
{
    if (!settle(longSettleS()) || !probe_.hold(left(), forS))
        return {};
    return riseAfterHeat();
}

WatchdogVerdict WatchdogTrial::run()
{
    if (!link_.watchdogS) {
        const std::string text =
            "none is named, so none was tried: take it that this plate goes on heating when this computer "
            "dies "
            "or the line breaks, and that only a cut-out in its supply or the mains plug stops it";
        around_.tellStep("WARNING: no watchdog. " + text);
        around_.tellLeftOpen(Proof::Watchdog, text);
        return {.leftOpen = text};
    }
    const double silenceS = cutBy();
    if (link_.drive == DriveKind::Duty && risesKPerS() * silenceS > mostSilentRiseK)
        return {.refusal =
                    said("the watchdog was not tried: in %.1f s of silence this plate may get warmer by %.0f "
                         "K; make \"watchdog_s\" shorter, now %g",
                         silenceS, risesKPerS() * silenceS, link_.watchdogSeconds)};
    around_.tellStep(said("watchdog: a little heat, then %.1f s of silence", silenceS));
    const auto silent = silentHeat(settleS, shortHeatS, silenceS);
    if (!silent)
        return {};
    if (!silent->cutShown.empty())
        return cut(silent->silentS, silent->cutShown);
    probe_.plate().heaterOff();
    return compare();
}

WatchdogVerdict WatchdogTrial::compare()
{
    const double shortestS = (beforeS + cutBy()) / mostShareIfCut - beforeS;
    double silentS = silenceTimes * link_.watchdogSeconds + silenceTimesMoreS;
    if (risesKPerS() > 0)
        silentS = std::min(std::max(silentS, aimedRiseK / risesKPerS() - beforeS),
                           mostRiseK / risesKPerS() - beforeS);
    silentS = std::min(silentS, longestSilenceS);
    if (silentS < shortestS)
        return open(said("it does not show whether its heater is cut, and a silence of %.0f s, in which its "
                         "temperature would show it, is too long under this heat; make \"watchdog_s\" "
                         "shorter, now %g",
                         shortestS, link_.watchdogSeconds));
    around_.tellStep(
        said("it does not show whether its heater is cut, so its temperature is to tell: a little "
             "heat with %.1f s of silence in it, then the same without",
             silentS));
    const auto silent = silentHeat(longSettleS(), beforeS, silentS);
    if (!silent)
        return {};
    if (!silent->cutShown.empty())
        return cut(silent->silentS, silent->cutShown);
    probe_.plate().heaterOff();
    const double heatedS = around_.plantS() - silent->fromS;
    const auto silentK = riseAfterHeat();
    if (!silentK)
        return {};
    around_.tellStep(said("the same heat for %.1f s, without silence", heatedS));
    const auto steadyK = riseWithoutSilence(heatedS);
    if (!steadyK)
        return {};
    return judge(*silent, heatedS, *silentK, *steadyK);
}

WatchdogVerdict WatchdogTrial::judge(const SilentHeat& silent, double heatedS, double silentK, double steadyK)
{
    const std::string seen = said("with %.1f s of silence it warmed by %.2f K, with the same heat and no "
                                  "silence by %.2f K",
                                  silent.silentS, silentK, steadyK);
    const double expectedK = risesKPerS() * heatedS;
    if (link_.drive == DriveKind::Duty && expectedK > 0 && steadyK < asBefore * expectedK)
        return open(seen + said(", though %.2f K were to be expected: it may have cut its heater and keep it "
                                "cut until it is enabled again",
                                expectedK));
    const double noiseK = sensor().noiseK;
    if (!(steadyK > leastRiseK && steadyK > noises * noiseK))
        return open(seen + ": too little to tell anything");
    const double share = silentK / steadyK;
    const double unsure = unsureAtBest + noises * std::sqrt(2.0) * noiseK / steadyK;
    const double ifCut = (beforeS + cutBy()) / heatedS;
    const bool canBeTold = ifCut + unsure < 1 - unsure;
    if (canBeTold && share < ifCut + unsure)
        return cut(silent.silentS, seen);
    const bool ownLoopHoldsBack =
        link_.drive == DriveKind::Setpoint && !(steadyK < farFromSetpoint * setpointAboveK);
    if (canBeTold && share > 1 - unsure && !ownLoopHoldsBack)
        return heatsOn(said("after %.1f s of silence the heater was not cut: ", silent.silentS) + seen);
    return open(seen + ": that tells neither that its heater was cut in time nor that it was not");
}

WatchdogVerdict WatchdogTrial::cut(double silentS, const std::string& how)
{
    const bool off = probe_.plate().heaterOff();
    around_.tellProof(Proof::Watchdog, true, said("found cut after %.1f s of silence: ", silentS) + how);
    return {.provenS = silentS,
            .refusal = off ? "" : "heater off could not be read back after the watchdog had cut it"};
}

WatchdogVerdict WatchdogTrial::heatsOn(const std::string& seen)
{
    around_.tellProof(Proof::Watchdog, false, seen);
    return {.refusal = seen + said("; although its watchdog time reads %g s, this plate goes on heating when "
                                   "this computer dies or the line breaks. Check address and scale of "
                                   "\"watchdog_s\" and whether the watchdog is switched on at the plate",
                                   link_.watchdogSeconds)};
}

WatchdogVerdict WatchdogTrial::open(const std::string& why)
{
    const std::string text =
        why + ". What would show it: a status bit (\"watchdog_tripped_mask\"), or a register that reads what "
              "drives the heater. Until it is proven take it that this plate goes on heating when this "
              "computer dies or the line breaks";
    around_.tellLeftOpen(Proof::Watchdog, text);
    return {.leftOpen = text};
}

} // namespace

WatchdogVerdict proveWatchdog(WatchedProbe& probe, const PlateLink& link, CandidateTable& table,
                              const KnownHeat& heat, Surroundings& around)
{
    return WatchdogTrial(probe, link, table, heat, around).run();
}

} // namespace stripwright
