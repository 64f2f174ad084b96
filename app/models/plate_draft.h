#pragma once

#include <QString>
#include <QStringList>

#include <nlohmann/json_fwd.hpp>
#include <optional>
#include <vector>

namespace stripwright {

/// Where a plate's manual says a quantity stands, and how it is coded there.
struct RegisterDraft {
    QString table = "holding";  ///< "coil", "discrete", "input" or "holding".
    std::optional<int> address; ///< From 0. None: the plate has no such quantity.
    std::optional<int> unit;    ///< Device on the line, when it is not the plate's own.
    QString coding;   ///< "int16", "uint16", "int32 CDAB", ...; empty: to be found out, for the sensor alone.
    double scale = 1; ///< Value of one count.
};

/// What the user says of a plate that is to be connected: a plate link file that may lack how the sensor's
/// reading is coded.
struct PlateDraft {
    enum class Drive { Duty, Switch, Setpoint };

    QString name;
    bool serial = false;
    QString host;
    int port = 502;
    QString device; ///< Of a serial line.
    int baud = 19200;
    QString frame = "8E1";
    int unit = 1;
    Drive drive = Drive::Duty;
    RegisterDraft sensor{.table = "input"};
    RegisterDraft heat{.coding = "uint16", .scale = 0.0001}; ///< Duty register, output or set-point.
    double offC = 0; ///< Set-point drive: written to turn the heater off.
    RegisterDraft watchdog{.coding = "uint16", .scale = 0.1};
    double watchdogS = 3;
    RegisterDraft status{.table = "input", .coding = "uint16"}, counter{.table = "input", .coding = "uint16"};
    std::optional<int> sensorFaultBit, watchdogBit; ///< Of status.
    RegisterDraft enable{.table = "coil"}, fan{.table = "coil"};
    RegisterDraft stripSensor{.table = "input", .coding = "int16", .scale = 0.1};
    bool simulated = false;                      ///< As the link says; only a simulated plate's link may.
    std::optional<double> plateMaxC, sensorMaxC; ///< None: the link says nothing of it.
    std::vector<long> noSensorRaw;               ///< Raw readings that mean no sensor.
};

bool isBit(const RegisterDraft& at); ///< Coil or discrete input.

/// What is still missing before the plate can be asked; empty: nothing.
QStringList missingIn(const PlateDraft& draft);

/// The draft as a plate link document. What missingIn() names is left out.
nlohmann::json toJson(const PlateDraft& draft);

/// Reads as much of a plate link document as a draft holds, for going on from a plate that is known.
PlateDraft draftOf(const nlohmann::json& link);

/// Devices of serial lines that this computer has; names that survive replugging come first.
QStringList serialDevices();

// Manuals count registers from 1 behind a digit that says the table: 40001 is holding register 0.

QString manualNumber(const QString& table, int address); ///< "40001"; six digits past 9999.
struct ManualNumber {
    QString table;
    int address;
};
/// Nothing if it is no such number; `why` then says what was found and expected.
std::optional<ManualNumber> readManualNumber(const QString& typed, QString& why);

} // namespace stripwright
