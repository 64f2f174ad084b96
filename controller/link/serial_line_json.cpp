#include "link/plate_link_json.h"

#include <algorithm>
#include <cmath>

namespace stripwright {

using nlohmann::json;

static const std::vector<std::string> frameNames = {"8N1", "8E1", "8O1", "8N2"};
static const std::vector<std::string> directionNames = {"adapter", "kernel", "rts-high", "rts-low"};

// A slower device would hold up a control cycle for longer than the guardian waits.
static constexpr double longestTurnroundMs = 200;

const std::string& nameOf(SerialFrame frame)
{
    return frameNames[static_cast<size_t>(frame)];
}

const std::vector<int>& serialBauds()
{
    static const std::vector<int> bauds = {1200, 2400, 4800, 9600, 19200, 38400, 57600, 115200};
    return bauds;
}

SerialLine readSerialLine(Fields fields)
{
    SerialLine serial;
    serial.device = fields.text("device");
    const int baud = fields.integerOr("baud", serial.baud, 0, 10'000'000);
    if (std::find(serialBauds().begin(), serialBauds().end(), baud) != serialBauds().end()) {
        serial.baud = baud;
    } else {
        std::vector<std::string> names;
        for (int known : serialBauds())
            names.push_back(std::to_string(known));
        fields.report("baud", std::to_string(baud), oneOf(names));
    }
    serial.frame =
        static_cast<SerialFrame>(fields.choice("frame", frameNames, static_cast<int>(serial.frame)));
    serial.direction = static_cast<SendDirection>(
        fields.choice("direction", directionNames, static_cast<int>(serial.direction)));
    serial.turnroundS =
        fields.numberOr("turnround_ms", serial.turnroundS * 1000, within(0, longestTurnroundMs)) / 1000;
    fields.finish();
    return serial;
}

json toJson(const SerialLine& serial)
{
    return {{"device", serial.device},
            {"baud", serial.baud},
            {"frame", nameOf(serial.frame)},
            {"direction", directionNames[static_cast<size_t>(serial.direction)]},
            {"turnround_ms", std::round(serial.turnroundS * 1e6) / 1e3}};
}

} // namespace stripwright
