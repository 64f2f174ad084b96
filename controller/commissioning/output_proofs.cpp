#include "commissioning/output_proofs.h"

#include <algorithm>
#include <cstdarg>
#include <cstdio>

namespace stripwright {

static constexpr double settleS = 15, stillWarms = 0.4;
static constexpr double silenceShare = 0.1, silenceMoreS = 1, mostSilentRiseK = 20;
static constexpr double looksOnS = 20, lastS = 8, stillRises = 0.25, leastRiseK = 0.3, noises = 3;

[[gnu::format(printf, 1, 2)]] static std::string said(const char* format, ...)
{
    char text[400];
    va_list arguments;
    va_start(arguments, format);
    std::vsnprintf(text, sizeof text, format, arguments);
    va_end(arguments);
    return text;
}

static const CandidateRow& sensorOf(const CandidateTable& table)
{
    return table.rows()[table.sensible().front()];
}

// By how much the plate gets warmer under that heat, once it has settled; none: stopped.
static std::optional<double> riseUnder(WatchedProbe& probe, CandidateTable& table, WatchedProbe::Heat heat,
                                       double arrivalS)
{
    if (!probe.hold({}, settleS))
        return {};
    table.restAgain();
    heat.setpointC = sensorOf(table).readsC + setpointAboveK;
    if (!probe.hold(heat, shortHeatS) || !probe.hold({}, std::max(arrivalS - shortHeatS, 2.0)))
        return {};
    return sensorOf(table).movedK;
}

std::string proveEnable(WatchedProbe& probe, const PlateLink& link, CandidateTable& table,
                        const KnownHeat& heat, Surroundings& around)
{
    if (!link.enable)
        return {};
    around.tellStep("enable output on, no heat asked for: nothing may get warmer");
    const auto unaskedK = riseUnder(probe, table, {.enableAlone = true}, heat.arrivalS);
    if (!unaskedK)
        return {};
    if (*unaskedK >= stillWarms * heat.riseK) {
        around.tellProof(Proof::Enable, false,
                         said("without any heat asked for it warmed by %.2f K", *unaskedK));
        return said(
            "with the enable output on and no heat asked for the plate warmed by %.2f K, with a little "
            "heat by %.2f K: a relay sticks, or the heat register is not the one that heats",
            *unaskedK, heat.riseK);
    }
    around.tellStep("enable output off, the same heat again: nothing may get warmer");
    const auto disabledK = riseUnder(probe, table, {.duty = smallDuty, .enable = false}, heat.arrivalS);
    if (!disabledK)
        return {};
    const bool ok = *disabledK < stillWarms * heat.riseK;
    const std::string text =
        ok ? said("with it off the plate moved by %.2f K, with it on by %.2f K", *disabledK, heat.riseK)
           : said("with it off the plate still warmed by %.2f K, with it on by %.2f K", *disabledK,
                  heat.riseK);
    around.tellProof(Proof::Enable, ok, text);
    return ok ? std::string()
              : "the enable output does not take the heat away: " + text +
                    ". It could not stop a relay that sticks: check its register and its wiring, or leave "
                    "\"enable\" out of the plate link file";
}

// How the plate shows at once that it has cut its heater; empty: it does not show.
static std::string cutShown(const PlateLink& link, const PlateReading& after, double setpointC)
{
    if (after.watchdogTripped)
        return "its status says so";
    if (link.drive == DriveKind::Duty && after.duty && *after.duty == 0)
        return "its duty reads 0";
    if (link.drive == DriveKind::Setpoint && after.setpointC && *after.setpointC <= link.setpointFloorC)
        return "its set-point reads " + said("%g", *after.setpointC);
    const bool wantsHeat = after.setpointC && *after.setpointC > setpointC - 1;
    if (link.drive == DriveKind::Setpoint && wantsHeat && after.duty && *after.duty == 0)
        return "its output reads 0 although its set-point stands";
    return {};
}

std::string proveWatchdog(WatchedProbe& probe, const PlateLink& link, CandidateTable& table,
                          const KnownHeat& heat, Surroundings& around, double& provenS)
{
    provenS = 0;
    if (!link.watchdogS) {
        const std::string text =
            "none is named: when this computer dies or the line breaks, this plate goes on heating, and only "
            "a cut-out in its supply or the mains plug stops it";
        around.tellStep("WARNING: no watchdog. " + text);
        around.tellProof(Proof::Watchdog, false, text);
        return {};
    }
    // Silent is the line, not the coil: what is switched by whole periods is left on.
    const bool coil = link.drive == DriveKind::Duty && link.duty->table == RegisterTable::Coil;
    const double duty = coil ? 1 : smallDuty;
    const double silenceS = link.watchdogSeconds * (1 + silenceShare) + silenceMoreS;
    const double silentRiseK = heat.dutyS > 0 ? heat.riseK / heat.dutyS * duty * silenceS : 0;
    if (link.drive == DriveKind::Duty && silentRiseK > mostSilentRiseK)
        return said("the watchdog was not tried: in %.1f s of silence this plate may get warmer by %.0f K; "
                    "make \"watchdog_s\" shorter, now %g",
                    silenceS, silentRiseK, link.watchdogSeconds);

    around.tellStep(said("watchdog: a little heat, then %.1f s of silence", silenceS));
    if (!probe.hold({}, settleS))
        return {};
    table.restAgain();
    const double setpointC = sensorOf(table).readsC + setpointAboveK;
    const WatchedProbe::Heat small{.duty = smallDuty, .setpointC = setpointC};
    WatchedProbe::Heat left = small;
    left.duty = duty;
    const double fromS = around.plantS();
    if (!probe.hold(small, shortHeatS) || !probe.hold(left, WatchedProbe::cycleS))
        return {};
    const auto silence = probe.goSilent(silenceS);
    if (!silence)
        return {};

    std::string how = cutShown(link, silence->after, setpointC);
    bool cut = !how.empty();
    if (!cut && !coil) {
        around.tellStep("it does not show whether its heater is cut: looking whether it still gets warmer");
        double halfwayK = 0;
        const double backS = around.plantS();
        const auto look = [&] {
            if (around.plantS() < backS + looksOnS - lastS)
                halfwayK = sensorOf(table).movedK;
            return false;
        };
        left.asItIs = true;
        if (!probe.hold(left, looksOnS, look))
            return {};
        const CandidateRow& sensor = sensorOf(table);
        const double meanKPerS = sensor.movedK / (around.plantS() - fromS);
        cut = sensor.movedK > leastRiseK && sensor.movedK > noises * sensor.noiseK &&
              (sensor.movedK - halfwayK) / lastS < stillRises * meanKPerS;
        how = "it no longer gets warmer";
    }
    const bool off = probe.plate().heaterOff();
    if (cut) {
        provenS = silence->lastedS;
        around.tellProof(Proof::Watchdog, true, said("found cut after %.1f s of silence: ", provenS) + how);
        return off ? std::string() : "heater off could not be read back after the watchdog had cut it";
    }
    const std::string text = said("after %.1f s of silence the heater was not cut", silence->lastedS);
    around.tellProof(Proof::Watchdog, false, text);
    return text +
           said(", although its watchdog time reads %g s: when this computer dies or the line breaks, "
                "this plate goes on heating. Check address and scale of \"watchdog_s\" and whether the "
                "watchdog is switched on at the plate",
                link.watchdogSeconds);
}

} // namespace stripwright
