#pragma once

#include "thermal/predict.h"

#include <array>
#include <string>

namespace stripwright {

/// One way in which strip and room may be, out of the ranges a sheet states.
struct Scenario {
    ContactLevel contact = ContactLevel::Nominal;
    double filmFactor = 1;
    double ambientRiseK = 0;
};

/// Low, nominal and high contact in the air of the sheet; then what heats a part to protect the most: high
/// contact, thinnest film, warmest room. Of a plate curve that is held whatever the room does, temperatures
/// rise with the room's, fall with the films, and away from the plate rise with the contact.
inline std::array<Scenario, 4> scenariosOf(const BenchSheet& sheet)
{
    return {{{ContactLevel::Low},
             {ContactLevel::Nominal},
             {ContactLevel::High},
             {ContactLevel::High, 1 - sheet.air.filmRangeShare, sheet.air.ambientRangeK}}};
}

constexpr size_t scenarioCount = 4, nominalScenario = 1, highScenario = 2, warmAirScenario = 3;

} // namespace stripwright
