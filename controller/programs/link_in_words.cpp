#include "programs/link_in_words.h"

#include <cstdio>

namespace stripwright {

static std::string figure(double value)
{
    char text[32];
    std::snprintf(text, sizeof text, "%.3g", value);
    return text;
}

std::string linkInWords(const PlateLink& link)
{
    std::string words = "plate link of \"" + link.name + "\" at " + placeOf(link) + ", unit " +
                        std::to_string(link.unit) + ", driven by " +
                        (link.drive == DriveKind::Duty ? "duty" : "its set-point") +
                        (link.simulated ? ", simulated" : "");
    words += link.watchdogProvenS > 0 ? "; watchdog proven to cut the heater after " +
                                            figure(link.watchdogProvenS) + " s of silence"
             : link.watchdogS ? "; watchdog never proven"
                              : "; no watchdog named";
    return words + (link.identified
                        ? "; heat learnt " + link.identified->measuredUtc.substr(0, sizeof "2026-11-25" - 1)
                        : "; heat not learnt");
}

std::vector<std::string> warningsOf(const PlateLink& link)
{
    std::vector<std::string> warnings;
    if (link.drive == DriveKind::Setpoint && !link.duty && !(link.identified && link.identified->ownLoop))
        warnings.push_back(
            "this plate is driven by its set-point and does not tell what its own loop gives: no plan runs "
            "on it before \"stripwright tune\" has learnt that loop");
    if (!(link.watchdogProvenS > 0) && !link.simulated)
        warnings.push_back(
            link.watchdogS
                ? "nobody has seen this plate cut its heater when the line falls silent: \"stripwright "
                  "connect\" proves it"
                : "no \"watchdog_s\" under \"registers\": nobody can prove that this plate cuts its heater "
                  "when the line falls silent");
    if (!link.plateMaxC)
        warnings.push_back("no \"plate_max_C\": plans may go up to what its sensor can show, " +
                           figure(link.sensorMaxC) + " C");
    return warnings;
}

} // namespace stripwright
