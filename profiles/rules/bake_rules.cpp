#include "rules/bake_rules.h"

#include "materials/drying_bake.h"
#include "rules/wording.h"

#include <algorithm>

namespace stripwright {

double bakeTemperatureC(const BenchSheet& sheet)
{
    return sheet.bake.temperatureC.value_or(bakeTemperaturesC.front());
}

std::vector<std::string> bakeRefusals(const BenchSheet& sheet)
{
    const LedPackage& led = sheet.strip.led;
    if (led.moistureLevel == "1")
        return {"The LED, " + led.name + ", is moisture level 1: it needs no bake."};
    if (led.moistureLevel == "6")
        return {"The LED, " + led.name +
                ", is moisture level 6: bake it as the label on its bag says; no table gives its time."};
    if (led.heightMm > bakeTableMaxBodyMm)
        return {"The LED body is thicker than the 1.4 mm the bake table goes to: bake it as its data sheet "
                "says."};
    return {};
}

std::vector<std::string> bakeWarnings(const BenchSheet& sheet)
{
    std::vector<std::string> warnings;
    if (sheet.strip.led.moistureLevel.empty())
        warnings.push_back("The LED's moisture level is not stated: baked as level 5a, the slowest to dry. "
                           "Its bag or data sheet gives it (moisture_level).");
    else if (sheet.strip.led.habit.of("moisture_level"))
        warnings.push_back(
            "The LED's moisture level, " + sheet.strip.led.moistureLevel +
            ", is trade habit: its bag or data sheet gives the true one, and with it the time.");
    if (!sheet.bake.overFloorLifeH)
        warnings.push_back("How long the LEDs were past their floor life is not stated: taken as soaked "
                           "through.");
    else if (*sheet.bake.overFloorLifeH == 0)
        warnings.push_back("The floor life was not exceeded: no bake is needed.");
    return warnings;
}

std::optional<std::string> dryFirstWarning(const BenchSheet& sheet, std::span<const Prediction> predictions)
{
    constexpr double dryAboveC = 200;
    if (sheet.heat == HeatKind::Bake || sheet.strip.led.moistureLevel == "1")
        return {};
    std::vector<int> sites;
    double hottestC = 0;
    for (int site = 1; site <= static_cast<int>(sheet.strip.siteXMm.size()); ++site) {
        double peakC = 0;
        for (const Prediction& prediction : predictions)
            if (const StationCurve* body = prediction.find(StationId{StationKind::Body, site}))
                peakC = std::max(peakC, *std::max_element(body->valueC.begin(), body->valueC.end()));
        hottestC = std::max(hottestC, peakC);
        if (peakC > dryAboveC)
            sites.push_back(site);
    }
    if (sites.empty())
        return {};
    return "LED bodies go above 200 °C (up to " + rounded(hottestC) + " °C) at " + sitesInWords(sites) +
           ": bake them dry first, moisture in them may crack them" +
           (sheet.strip.led.moistureLevel.empty() ? "; their moisture level is not stated." : ".");
}

} // namespace stripwright
