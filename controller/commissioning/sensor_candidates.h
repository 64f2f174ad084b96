#pragma once

#include "commissioning/draft_link.h"

#include <array>
#include <cstdint>

namespace stripwright {

using SensorWords = std::array<std::uint16_t, 2>; ///< As on the line; the second is 0 if only one is read.

/// How many registers from the sensor's address on the plate gives in one answer.
struct SensorWidths {
    bool one = true, two = true;
};

/// Every way to read the sensor's registers that the draft leaves open: type, order and scale (1, 0.1, 0.01,
/// 1/16, 1/256; float32 1 and 0.1). Left out is what cannot hold 250 °C (or `sensor_max_C`, if lower), and
/// what reads like another one from 0 °C up to there with `words` around it: of those stays the one that
/// holds the draft's values for "no sensor", then int16, uint16, int32, float32, then ABCD first.
std::vector<RegisterField> sensorCandidates(const DraftLink& draft, const SensorWords& words,
                                            const SensorWidths& widths = {});

/// "int16 x 0.1", "float32 CDAB x 1", "int32 DCBA x 1/16".
std::string inWords(const RegisterField& meaning);

/// Whether two candidates have the same raw value and scales less than three times apart: they move together
/// so closely that no heat tells one from the other.
bool moveAlike(const RegisterField& a, const RegisterField& b);

} // namespace stripwright
