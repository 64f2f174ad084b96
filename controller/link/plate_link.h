#pragma once

#include "link/plate.h"
#include "materials/materials.h"

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
    std::optional<int> unit; ///< Device on the line, when it is not the link's own.
};

/// A register, and what is written to it to make something happen: a coil or a whole holding register.
struct CommandField {
    RegisterField field;
    int value = 1; ///< 0 to 65535; a coil 0 or 1.
};

struct ExtraChannel {
    std::string name; ///< With unit last: "truth_joint_6_C".
    RegisterField field;
};

/// A register that must stand at a value while this plate is driven: "own ramp off", "automatic".
struct PlateSetting {
    std::string name;    ///< For people.
    RegisterField field; ///< Coil or holding register.
    double value = 0;    ///< Of a coil 0 or 1.
};
constexpr int maxPlateSettings = 16;

enum class SerialFrame { F8N1, F8E1, F8O1, F8N2 };
enum class SendDirection { Adapter, Kernel, RtsHigh, RtsLow }; ///< Who turns an RS-485 line round to send.

/// A Modbus RTU line.
struct SerialLine {
    std::string device; ///< "/dev/ttyUSB0".
    int baud = 19200;   ///< One of serialBauds().
    SerialFrame frame = SerialFrame::F8E1;
    SendDirection direction = SendDirection::Adapter;
    double turnroundS = 0.05; ///< Longest time a device on the line takes to begin its answer.
};

/// Heat of one real plate as it was measured on it, and the gains worked out from that.
struct IdentifiedPlate {
    std::string measuredUtc; ///< "2026-11-25T22:00:00Z".
    double powerW = 0, heatCapacityJPerK = 0, lossWPerK = 0, radiatingAreaM2 = 0;
    double elementLagS = 0, sensorLagS = 0, deadTimeS = 0;
    double fitRmsK = 0;                                  ///< Left over between model and measurement.
    double dutyPerK = 0, integralS = 0, derivativeS = 0; ///< Gains of the loop.
    /// Standard errors as shares of the figures; none: a link of before they were kept.
    std::optional<double> capacityError, lossError, lagError;
    /// What the plate's fan adds to the linear loss while it blows, and its standard error as a share; none:
    /// it has no fan that its link switches, or cooling down was not watched long enough.
    std::optional<double> fanLossWPerK, fanLossError;
    std::optional<double> fullHeatRampCPerS; ///< Climb at full heat from the room's temperature.
    std::optional<OwnLoopFigures> ownLoop;   ///< Of a plate driven by its set-point, if it was learnt.
};

/// A plate link file (.plate.json): how one real plate is reached and read.
struct PlateLink {
    std::string name;
    bool simulated = false; ///< May be driven faster than real time.
    std::string host;       ///< Modbus TCP; empty when `serial` is there.
    int port = 502;
    std::optional<SerialLine> serial;
    int unit = 1; ///< Device that holds every quantity that names no other.
    DriveKind drive = DriveKind::Duty;
    RegisterField sensor;
    /// The one that `drive` names is present. A duty that is a coil, or a holding register that is `switched`
    /// between 0 and 1, is on or off for whole control periods.
    std::optional<RegisterField> duty, setpoint;
    bool switched = false;
    /// Switched duty: it stays on and off at least so long. A duty of 0 ends its heat at once all the same.
    double leastOnS = 0;
    std::optional<double> ownRampCPerS; ///< As OwnLoopFigures::rampCPerS; of a ramp that cannot be off.
    double readingEveryS = 0; ///< Fresh readings come only so often, 0 to 5; 0: as often as it is asked.
    /// Written once when the plate is opened, where they do not stand already, and read back; then read in
    /// turn, one request a cycle. From the first heat to heater off one that reads otherwise is a foreign
    /// write.
    std::vector<PlateSetting> settings;
    std::optional<RegisterField> status, counter, watchdogS;
    std::optional<RegisterField> fan, stripLifted; ///< Coil, or a holding register written 0 or 1; no scale.
    std::optional<RegisterField> enable;           ///< Output that lets the heater have power at all; as fan.
    std::optional<RegisterField> stripSensor;      ///< Thermocouple on the strip.
    int sensorFaultMask = 0, watchdogTrippedMask = 0, stripSensorFaultMask = 0; ///< Bits of status.
    /// Clears the watchdog bit; written once before a heat, while the heater is read back off, if it is set.
    std::optional<CommandField> clearWatchdog;
    std::vector<long> noSensorRaw;             ///< Raw sensor values that mean "no sensor".
    double sensorMinC = -40, sensorMaxC = 450; ///< Outside: sensor fault.
    /// Highest temperature anybody may heat this plate to, at most sensorMaxC; none: sensorMaxC.
    std::optional<double> plateMaxC;
    double setpointFloorC = 0;  ///< Written as "off" in set-point mode.
    double watchdogSeconds = 3; ///< Written to watchdogS where that exists.
    std::vector<ExtraChannel> channels;
    double watchdogProvenS =
        0; ///< Silence after which the plate was found cut; 0: never tried, or left open.
    std::optional<IdentifiedPlate> identified;
};

bool isSwitched(const PlateLink& link); ///< Driven by a duty that can only be on or off.

/// Shortest watchdog time with which this plate may be driven: it is spoken to once a reading.
double leastWatchdogS(const PlateLink& link);

const std::vector<int>& serialBauds(); ///< 1200 to 115200.

/// Where the link leads, for people and for the lock: "127.0.0.1 port 502", "/dev/ttyUSB0 at 9600 8E1".
std::string placeOf(const PlateLink& link);

/// Throws BadInput with every problem of the file.
PlateLink readPlateLink(const std::string& text, const std::string& fileName);
std::string toJsonText(const PlateLink& link);

/// Opens the plate, writes its settings and its watchdog and reads them back. Throws LinkError with what was
/// seen and what to try: if it does not answer within `connectTimeoutS`, if it refuses, if a setting does not
/// read back as written, if its temperature makes sense only in another word order. Finding that out takes up
/// to 3 s more on a serial line. `responseTimeoutS` bounds each whole answer over TCP; on a serial line,
/// where baud and turn-round do that, how long one call waits for silence.
struct LinkError : std::runtime_error {
    using std::runtime_error::runtime_error;
};
std::unique_ptr<Plate> openPlate(const PlateLink& link, double connectTimeoutS = 1.5,
                                 double responseTimeoutS = 0.2);

/// As openPlate(), for a plate that was open before, by somebody who may not stand still for long: gives up
/// after about a second, without working out what to try. It leaves the heat as it is, and the settings,
/// which are looked after.
std::unique_ptr<Plate> openPlateAgain(const PlateLink& link);

/// Opens no more than the line, for turning the heater off whatever else is wrong with the plate: asks
/// nothing, refuses nothing that it reads. Throws LinkError if there is no line.
std::unique_ptr<Plate> openToTurnOff(const PlateLink& link, double connectTimeoutS = 1.5,
                                     double responseTimeoutS = 0.2);

} // namespace stripwright
