#pragma once

#include "link/modbus_line.h"
#include "link/plate.h"

namespace stripwright {

/// A plate as its link file describes it, on one line, of one or several devices.
class ModbusPlate final : public Plate {
public:
    /// Throws LinkError if the host has no address; opens nothing.
    ModbusPlate(const PlateLink& link, double connectTimeoutS, double responseTimeoutS);

    bool openLine(double timeoutS);
    ModbusLine& line() { return line_; }
    /// Plans the reads of a cycle; `bridgeGaps` as for planReadBlocks.
    void layOut(bool bridgeGaps);
    bool readBlocks();
    const ReadBlock& lastRead() const { return lastRead_; } ///< Tried last, failed or not.
    /// Those that do not stand yet are written. None: all do; else the one that does not, and lastError().
    const PlateSetting* writeSettings();
    /// They were written when the plate was opened before: from now on one that does not stand is a foreign
    /// write.
    void lookAfterSettings() { settingsStood_ = true; }
    bool armWatchdog();
    const std::uint16_t* sensorWords() const { return wordsAt(link_.sensor); } ///< As last read.

    std::optional<PlateReading> read() override;
    bool setDuty(double duty) override;
    bool setSetpointC(double setpointC) override;
    bool hasEnable() const override { return link_.enable.has_value(); }
    bool setEnable(bool on) override;
    bool heaterOff() override;
    bool canClearWatchdog() const override { return link_.clearWatchdog.has_value(); }
    bool clearWatchdog() override;
    bool hasFan() const override { return link_.fan.has_value(); }
    bool setFan(bool on) override;
    bool setStripLifted(bool lifted) override;
    std::string lastError() const override { return error_; }
    bool refusesToBeRead() const override { return line_.lastException() != 0; }
    bool silent() const override { return silent_; }
    double failedShare() const override { return line_.failedShare(); }
    double readingEveryS() const override { return link_.readingEveryS; }
    std::optional<double> highestC() const override { return link_.plateMaxC.value_or(link_.sensorMaxC); }

private:
    struct Block : ReadBlock {
        std::vector<std::uint16_t> words;
        bool wasRead = false;
        bool holds(const RegisterField& field) const;
        const std::uint16_t* at(const RegisterField& field) const;
    };
    /// What a driven output was last written, and whether it was read back so.
    struct Confirmed {
        bool written = false, known = false;
        bool overTripped = false; // the watchdog bit stood set already
        std::uint16_t words[2] = {};
    };
    using Urgency = ModbusLine::Urgency;

    bool lineOpen();
    bool lineOpenForOff();
    bool ready();
    bool readOneOfTheSettings();
    bool readAgainIfDamaged();
    void noteForeignSettings(PlateReading& reading);
    const std::uint16_t* wordsAt(const RegisterField& field) const;
    bool writeChecked(const RegisterField& field, const std::uint16_t* words, Urgency urgency);
    bool writeValue(const char* what, const RegisterField& field, double value, Urgency urgency);
    bool writeDriven(const char* what, const RegisterField& field, double value, Confirmed& confirmed,
                     Urgency urgency);
    bool writeSwitch(const std::optional<RegisterField>& field, bool on, Urgency urgency);
    double otherThanStands(double duty) const;
    bool writeDuty(double duty, Urgency urgency);
    bool switchesOn(double duty) const;
    bool switchDuty(double duty, Urgency urgency);
    bool floorSetpoint();
    bool dutyOff();
    bool hasSetpointToFloor() const;
    bool toldToHeat() const;
    std::optional<bool> standsAsWritten(const std::optional<RegisterField>& field,
                                        const Confirmed& output) const;
    void noteForeign(const RegisterField& field, const Confirmed& confirmed, const char* what,
                     PlateReading& reading);
    bool sensorIsFaulty(const RegisterField& field, int faultMask, std::int64_t status) const;
    bool refuse(std::string why);
    bool lineFailed();

    PlateLink link_; // every field with its unit
    ModbusLine line_;
    double responseTimeoutS_, retryForS_;
    std::vector<RegisterField> fields_; // read every cycle
    std::vector<Block> blocks_, settingBlocks_;
    ReadBlock lastRead_;
    bool settingsStood_ = false; // when they were written: from then on they are looked after
    size_t nextSetting_ = 0;
    const Block* lastSetting_ = nullptr; // read in this cycle
    bool heatAsked_ = false; // since heater off: whoever sets something else meanwhile changes the heat
    bool armed_ = false;     // the watchdog time stands, as far as we know
    Confirmed duty_, setpoint_;
    // Switched duty, in control periods: what was asked for less what was given, how long the output stands
    // as it does, and how long it must.
    double owedDuty_ = 0;
    int leastPeriods_ = 1, stoodPeriods_ = 1;
    bool switchedOn_ = false;
    double lastOpeningS_ = 0, lastFailedOpeningS_ = 0;
    double lastReadS_ = 0; // with its watchdog set
    bool silent_ = false;  // after the last call
    bool tripped_ = false; // the watchdog bit, as last read
    std::string error_;
};

} // namespace stripwright
