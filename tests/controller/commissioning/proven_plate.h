#pragma once

#include "bench/simulated_plate.h"
#include "commissioning/commission_plate.h"
#include "link/register_codec.h"
#include "test_sheet.h"

#include <cmath>
#include <functional>
#include <gtest/gtest.h>

namespace stripwright {

/// A bare simulated plate in virtual time whose sensor's registers mean what a test says, with the faults
/// that matter when it is connected, and who listens to what is said.
class ProvenPlate final : public Surroundings {
public:
    RegisterField truth; ///< How its sensor has to be read.
    /// Instead of that: what stands in the two registers at a temperature and time.
    std::function<SensorWords(double sensorC, double plantS)> words;
    bool watchdogDead = false;     ///< Its time can be written, and it never cuts.
    bool saysCut = true;           ///< By its status bit.
    bool forgetsDutyOnCut = false; ///< Its duty then reads 0.
    bool latchesCut = false;       ///< The bit then stays set until it is cleared.
    bool bitStands = false;        ///< By now; set it for one that stood before.
    bool clearDoesNothing = false;
    bool cutEndsWithTalk = false; ///< As that of a relay module that heats on once its line is heard again.
    bool hidesDuty = false;       ///< It does not say how much heat it gives.
    bool staysCut = false;        ///< Nothing makes it heat again.
    double restsS =
        0; ///< After the silence its loop says for so long that it gives nothing, as one that switches.
    bool offIgnored = false; ///< "Heater off" is not read back.
    std::optional<double> lineDiesAtS, stopAtS, comesLateAtS;
    bool comesBack = true;   ///< After the silence.
    bool opensInFull = true; ///< Then; else there is a line to it and no more.
    double wallSPerPlantS = 1;

    std::vector<std::string> steps, proofs;
    double mostDuty = 0, hottestC = 0, lastStepAtS = 0;
    SimulatedPlate plate;

    explicit ProvenPlate(SimulatedPlateOptions options = {}) : plate(testSheet(), bare(options))
    {
        truth.scale = 0.1;
    }

    std::unique_ptr<Plate> open(const PlateLink& link) override
    {
        watchdogSet_ = link.watchdogS.has_value();
        clears_ = link.clearWatchdog.has_value();
        return std::make_unique<Line>(*this);
    }
    std::unique_ptr<Plate> openAgain(const PlateLink& link) override
    {
        if (++openedAgain == 1)
            openedAgainAtS = plate.timeS();
        auto line = openToTurnOff(link);
        if (const double duty = plate.dutyCommand(); cutEndsWithTalk && duty > 0)
            plate.setDuty(0), plate.setDuty(duty);
        if (!opensInFull)
            throw LinkError("cannot be read");
        return line;
    }
    std::unique_ptr<Plate> openToTurnOff(const PlateLink& link) override
    {
        if (!comesBack)
            throw LinkError("no connection");
        return open(link);
    }
    double plantS() override { return plate.timeS(); }
    double wallS() override { return wallSPerPlantS * plate.timeS() + (lateTold_ ? 2 : 0); }
    void waitUntil(double untilS) override
    {
        while (plate.timeS() < untilS - 1e-9) {
            if (watchdogDead || !watchdogSet_)
                plate.read(); // feeds its watchdog
            plate.advance(SimulatedPlate::stepS);
            mostDuty = std::max(mostDuty, plate.dutyApplied());
            hottestC = std::max(hottestC, plate.truthC("truth_plate_C"));
        }
        lateTold_ = lateTold_ || (comesLateAtS && plate.timeS() >= *comesLateAtS);
    }
    bool stopped() override { return stopAtS && plate.timeS() >= *stopAtS; }
    void tellCandidates(const CandidateTable& table) override { sensibleSeen = table.sensible().size(); }
    void tellStep(const std::string& text) override
    {
        steps.push_back(text);
        lastStepAtS = plate.timeS();
    }
    void tellNews(std::optional<double>, std::optional<double> duty) override
    {
        mostDutyTold = std::max(mostDutyTold, duty);
    }
    void tellProof(Proof what, bool ok, const std::string& text) override
    {
        static const char* const names[] = {"write", "sensor", "enable", "watchdog"};
        proofs.push_back(std::string(names[static_cast<size_t>(what)]) + (ok ? " ok: " : " not: ") + text);
    }
    void tellLeftOpen(Proof what, const std::string& text) override
    {
        EXPECT_EQ(what, Proof::Watchdog);
        proofs.push_back("watchdog open: " + text);
    }
    std::optional<double> mostDutyTold;
    size_t sensibleSeen = 0;
    int openedAgain = 0;               ///< In full.
    double openedAgainAtS = -INFINITY; ///< The first time.
    int clearings = 0;

private:
    /// The plate through a probing link: raw words as channels.
    class Line final : public Plate {
    public:
        explicit Line(ProvenPlate& whole) : whole_(whole) {}

        std::optional<PlateReading> read() override
        {
            if (dead())
                return {};
            PlateReading reading = *whole_.plate.read();
            const bool cut = reading.watchdogTripped;
            SensorWords words{};
            if (whole_.words)
                words = whole_.words(reading.sensorC, whole_.plate.timeS());
            else
                encodeValue(reading.sensorC, whole_.truth, words.data());
            reading.extraCount = 2;
            reading.extraC[0] = words[0];
            reading.extraC[1] = words[1];
            whole_.bitStands = whole_.bitStands || (cut && whole_.latchesCut);
            reading.watchdogTripped = whole_.saysCut && (cut || whole_.bitStands);
            if (cut && whole_.staysCut && !whole_.plate.has(Fault::HeaterOpen))
                whole_.plate.addFault({Fault::HeaterOpen});
            if (whole_.hidesDuty)
                reading.duty.reset();
            if ((cut && whole_.forgetsDutyOnCut) ||
                whole_.plate.timeS() < whole_.openedAgainAtS + whole_.restsS)
                reading.duty = 0;
            return reading;
        }
        bool setDuty(double duty) override { return !dead() && whole_.plate.setDuty(duty); }
        bool setSetpointC(double setpointC) override
        {
            return !dead() && whole_.plate.setSetpointC(setpointC);
        }
        bool hasEnable() const override { return whole_.plate.hasEnable(); }
        bool setEnable(bool on) override { return !dead() && whole_.plate.setEnable(on); }
        bool heaterOff() override { return !dead() && whole_.plate.heaterOff() && !whole_.offIgnored; }
        bool canClearWatchdog() const override { return whole_.clears_; }
        bool clearWatchdog() override
        {
            EXPECT_EQ(whole_.plate.dutyCommand(), 0) << "the heater is off first";
            ++whole_.clearings;
            whole_.bitStands = whole_.bitStands && whole_.clearDoesNothing;
            return true;
        }
        bool setFan(bool) override { return true; }
        bool setStripLifted(bool) override { return true; }
        std::string lastError() const override { return dead() ? "no answer in time" : "refused"; }

    private:
        bool dead() const { return whole_.lineDiesAtS && whole_.plate.timeS() >= *whole_.lineDiesAtS; }
        ProvenPlate& whole_;
    };

    static SimulatedPlateOptions bare(SimulatedPlateOptions options)
    {
        options.bare = true;
        return options;
    }

    bool watchdogSet_ = true, lateTold_ = false, clears_ = false;
};

/// A draft that knows where everything stands, and nothing about what the sensor's registers mean.
inline CommissioningJob bareJob(const SimulatedPlate& plate)
{
    CommissioningJob job;
    PlateLink& link = job.draft.link;
    link.name = "bench-plate-100";
    link.host = "192.0.2.7";
    link.drive = plate.drive();
    link.duty.emplace(
        RegisterField{.table = RegisterTable::Holding, .type = RegisterType::Uint16, .scale = 0.001});
    link.setpoint.emplace(RegisterField{.table = RegisterTable::Holding, .address = 1, .scale = 0.1});
    link.watchdogS.emplace(RegisterField{.table = RegisterTable::Holding, .address = 2, .scale = 0.1});
    link.status.emplace(RegisterField{.address = 8, .type = RegisterType::Uint16});
    link.watchdogTrippedMask = 2;
    if (plate.hasEnable())
        link.enable.emplace(RegisterField{.table = RegisterTable::Coil, .type = RegisterType::Uint16});
    job.plateC = 24;
    return job;
}

} // namespace stripwright
