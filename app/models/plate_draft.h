#pragma once

#include <nlohmann/json.hpp>

#include <QString>
#include <QStringList>

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

/// A register that must stand at a value while the plate is driven.
struct SettingDraft {
    QString name;
    RegisterDraft at{.coding = "uint16"};
    double value = 0;
    nlohmann::json kept{}; ///< As in PlateDraft.
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
    double leastOnS = 0;                                     ///< Of an output: on, and off, at least so long.
    double offC = 0; ///< Set-point drive: written to turn the heater off.
    /// Set-point drive: where the plate tells what it gives.
    RegisterDraft toldDuty{.table = "input", .coding = "uint16", .scale = 0.0001};
    RegisterDraft watchdog{.coding = "uint16", .scale = 0.1};
    double watchdogS = 3;
    RegisterDraft status{.table = "input", .coding = "uint16"}, counter{.table = "input", .coding = "uint16"};
    int sensorFaultMask = 0, watchdogMask = 0, stripFaultMask = 0; ///< Bits of status; 0: none.
    RegisterDraft clearWatchdog;
    int clearValue = 1;
    RegisterDraft enable{.table = "coil"}, fan{.table = "coil"};
    RegisterDraft stripSensor{.table = "input", .coding = "int16", .scale = 0.1};
    /// Set-point drive: a ramp of its own that cannot be switched off; none: it has none, or it is off.
    std::optional<double> ownRampCPerS;
    double readingEveryS = 0;        ///< 0: as often as it is asked.
    std::optional<double> plateMaxC; ///< None: the link says nothing of it.
    std::vector<SettingDraft> settings;
    /// The document it was read from: what the draft says nothing of stays as it stands there.
    nlohmann::json kept{};
};

bool isBit(const RegisterDraft& at); ///< Coil or discrete input.

/// What is still missing before the plate can be asked; empty: nothing.
QStringList missingIn(const PlateDraft& draft);

/// Every coding a register can have, as RegisterDraft names it.
QStringList registerCodings();

// A manual numbers bits from 0; a link file adds up their weights.

QString bitsText(int mask); ///< "0, 3"; empty: none.
/// Nothing if these are no bits of 0 to 15; `why` then says what was found and expected. Empty text: none, 0.
std::optional<int> readBits(const QString& typed, QString& why);

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
