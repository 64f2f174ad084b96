#include "commissioning/output_proofs.h"

#include <algorithm>
#include <cstdarg>
#include <cstdio>

namespace stripwright {

static constexpr double settleS = 15, stillWarms = 0.4;

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

} // namespace stripwright
