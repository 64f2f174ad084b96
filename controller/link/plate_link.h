#pragma once

#include "link/plate.h"

#include <memory>
#include <stdexcept>
#include <vector>

namespace stripwright {

enum class RegisterTable { Coil, Discrete, Input, Holding };
enum class RegisterType { Int16, Uint16, Int32, Float32 };
enum class WordOrder { ABCD, CDAB, BADC, DCBA };
enum class DriveKind {
    Duty,
    Setpoint
}; ///< Duty written by us, or a set-point written to a plate with its own loop.

/// Where one quantity stands and how its raw value becomes a number: value = raw * scale + offset.
struct RegisterField {
    RegisterTable table = RegisterTable::Input;
    int address = 0; ///< 0-based, 0 to 65535.
    RegisterType type = RegisterType::Int16;
    WordOrder order = WordOrder::ABCD;
    double scale = 1, offset = 0;
};

struct ExtraChannel {
    std::string name; ///< With unit last: "truth_joint_6_C".
    RegisterField field;
};

/// A plate link file (.plate.json): how one real plate is reached and read.
struct PlateLink {
    std::string name;
    std::string host; ///< Modbus TCP.
    int port = 502;
    int unit = 1;
    DriveKind drive = DriveKind::Duty;
    RegisterField sensor;
    std::optional<RegisterField> duty, setpoint; ///< The one that `drive` names is present.
    std::optional<RegisterField> status, counter, watchdogS;
    std::optional<RegisterField> fan, stripLifted; ///< Coil, or a holding register written 0 or 1; no scale.
    int sensorFaultMask = 0, watchdogTrippedMask = 0; ///< Bits of status.
    std::vector<long> noSensorRaw;                    ///< Raw sensor values that mean "no sensor".
    double sensorMinC = -40, sensorMaxC = 450;        ///< Outside: sensor fault.
    double setpointFloorC = 0;                        ///< Written as "off" in set-point mode.
    double watchdogSeconds = 3;                       ///< Written to watchdogS where that exists.
    std::vector<ExtraChannel> channels;
};

/// Throws BadInput with every problem of the file.
PlateLink readPlateLink(const std::string& text, const std::string& fileName);
std::string toJsonText(const PlateLink& link);

/// Opens the plate, writes its watchdog and reads it back. Throws LinkError with what to check if it does not
/// answer within `connectTimeoutS`.
struct LinkError : std::runtime_error {
    using std::runtime_error::runtime_error;
};
std::unique_ptr<Plate> openPlate(const PlateLink& link, double connectTimeoutS = 1.5,
                                 double responseTimeoutS = 0.2);

} // namespace stripwright
