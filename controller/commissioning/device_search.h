#pragma once

#include "link/plate_link.h"

#include <cstdint>
#include <functional>
#include <vector>

namespace stripwright {

struct FoundDevice {
    PlateLink link;   ///< Only its line and unit.
    std::string says; ///< "answers", or "refuses (02 illegal data address)".
    /// Up to 8 registers side by side, from 0 on, or, where nothing stands there, from the first of some
    /// likely places that answers; none: it refuses them all.
    struct Registers {
        int from = 0;
        std::vector<std::uint16_t> words;
    };
    Registers input, holding; ///< Readings stand in the one, set-points mostly in the other.
};

struct DeviceSearch {
    PlateLink line;         ///< Host and port, or serial device, baud and frame.
    std::vector<int> bauds; ///< Serial lines, in this order; for each one every frame.
    std::vector<SerialFrame> frames;
    std::vector<int> units;
    double longestS = 600;
    double tcpAnswerS = 0.3; ///< Waited for each unit.
    std::function<bool()> stopped;
    std::function<void(const std::string&)> tellStep;
    std::function<void(const FoundDevice&)> tellFound;
};

struct DeviceSearchResult {
    int found = 0;
    std::vector<std::string> refusals; ///< Why nothing was found, and what else came.
};

/// Asks unit after unit for registers, by reads alone. Any valid answer is a device, a refusal too, but not a
/// gateway's word that nobody is behind it. On a serial line the first baud and frame with a device end the
/// search. Bounded by `longestS`.
DeviceSearchResult searchDevices(const DeviceSearch& search);

/// Units worth asking over TCP: 1 to 247, and 255 and 0, which devices without a number of their own take.
std::vector<int> tcpUnits();
/// Likely settings of a serial line first.
std::vector<int> likelyBauds();
std::vector<SerialFrame> likelyFrames();

} // namespace stripwright
