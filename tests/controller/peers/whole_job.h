#pragma once

#include "commissioning/commission_plate.h"
#include "commissioning/device_search.h"
#include "demo_sheet.h"
#include "link/line_time.h"
#include "lockstep_plate.h"
#include "loop/control_loop.h"
#include "loop/tuning.h"
#include "planner/plan_sheet.h"
#include "tuning/learnt_figures.h"
#include "tuning/setpoint_heating.h"

#include <cmath>

namespace stripwright {

/// Commissioning in the time of a LockstepPlate.
class LockstepSurroundings final : public Surroundings {
public:
    explicit LockstepSurroundings(LockstepPlate& plate) : plate_(plate) {}

    std::unique_ptr<Plate> open(const PlateLink& link) override { return patient(openPlate(link)); }
    std::unique_ptr<Plate> openAgain(const PlateLink& link) override { return patient(openPlateAgain(link)); }
    std::unique_ptr<Plate> openToTurnOff(const PlateLink& link) override
    {
        return patient(stripwright::openToTurnOff(link));
    }
    double plantS() override { return plate_.timeS(); }
    double wallS() override { return plate_.timeS(); }
    void waitUntil(double untilS) override
    {
        if (untilS > plate_.timeS())
            plate_.advance(untilS - plate_.timeS());
    }
    bool stopped() override { return false; }
    void tellCandidates(const CandidateTable&) override {}
    void tellStep(const std::string&) override {}
    void tellNews(std::optional<double>, std::optional<double>) override {}
    void tellLeftOpen(Proof what, const std::string& text) override { tellProof(what, false, text); }
    void tellProof(Proof what, bool ok, const std::string& text) override
    {
        proven[static_cast<size_t>(what)] = ok;
        proofs += text + "\n";
    }

    std::array<bool, 4> proven{}; ///< By Proof.
    std::string proofs;

private:
    static std::unique_ptr<Plate> patient(std::unique_ptr<Plate> plate)
    {
        return std::make_unique<PatientPlate>(std::move(plate));
    }

    LockstepPlate& plate_;
};

inline std::vector<FoundDevice> findOn(const std::string& device)
{
    DeviceSearch search;
    search.line.serial.emplace();
    search.line.serial->device = device;
    search.line.serial->turnroundS = 0.2; // so that no busy machine hides it
    search.bauds = {115200, 9600};
    search.frames = likelyFrames();
    search.units = {1, 2, 3, 4, 5};
    std::vector<FoundDevice> found;
    search.stopped = [] { return false; };
    search.tellStep = [](const std::string&) {};
    search.tellFound = [&](const FoundDevice& one) { found.push_back(one); };
    searchDevices(search);
    return found;
}

/// What a person writes from the plate's manual, who has found it on the line; how its temperature is coded
/// the manual does not say.
inline DraftLink draftFor(const FoundDevice& found)
{
    const auto place = [](const char* number) { return nlohmann::json{{"document_number", number}}; };
    nlohmann::json draft = {{"format", "stripwright-plate-link"},
                            {"version", 1},
                            {"name", "plate with a controller of its own"},
                            {"serial",
                             {{"device", found.link.serial->device},
                              {"baud", found.link.serial->baud},
                              {"frame", "8N1"},
                              {"turnround_ms", 100}}},
                            {"unit", found.link.unit},
                            {"drive", "setpoint"},
                            {"watchdog_s", 3},
                            {"registers",
                             {{"sensor_C", place("40001")},
                              {"status", place("40002")},
                              {"counter", place("40003")},
                              {"setpoint_C", place("40004")},
                              {"watchdog_s", place("40005")}}}};
    nlohmann::json& registers = draft["registers"];
    registers["status"].update({{"type", "uint16"}, {"watchdog_tripped_mask", 2}});
    registers["counter"].update({{"type", "uint16"}});
    registers["setpoint_C"].update({{"type", "int16"}, {"scale", 0.1}});
    registers["watchdog_s"].update({{"type", "uint16"}, {"scale", 0.1}});
    return readDraftLink(draft.dump(), "draft.plate.json");
}

struct Learnt {
    PlateFit fit;
    std::string why; ///< It was broken off.
    bool heaterOff = false;
};

inline Learnt learn(LockstepPlate& peer, const PlateLink& link)
{
    PatientPlate plate(openPlate(link));
    const HeatingBounds bounds{.drive = link.drive, .periodS = usualPeriodS(link)};
    SetpointHeating heating(plate, bounds, LockstepPlate::powerW, LockstepPlate::ambientC,
                            link.watchdogProvenS > 0);
    for (const double endS = peer.timeS() + 3600; !heating.ended() && peer.timeS() < endS;) {
        peer.advance(bounds.periodS);
        heating.cycle(peer.timeS());
    }
    return {fitPlate(heating.record(), LockstepPlate::powerW, LockstepPlate::ambientC), heating.why(),
            heating.ended()};
}

/// The demonstration's sheet with that plate, as it was learnt and proven, under its dead site.
inline BenchSheet sheetOn(const PlateLink& link)
{
    BenchSheet sheet = test::shippedSheet("marram-lane-bar-7.bench.json");
    const IdentifiedPlate& known = link.identified.value();
    PlateType plate;
    plate.id = "learnt-plate";
    plate.name = link.name;
    plate.lengthMm = plate.widthMm = LockstepPlate::lengthMm;
    plate.thicknessMm = 8;
    plate.powerW = known.powerW;
    plate.heatCapacityJPerK = known.heatCapacityJPerK;
    plate.lossWPerK = known.lossWPerK;
    plate.radiatingAreaM2 = known.radiatingAreaM2;
    plate.elementLagS = known.elementLagS;
    plate.sensorLagS = known.sensorLagS;
    plate.deadTimeS = known.deadTimeS;
    plate.maxC = 300;
    plate.ownLoop = known.ownLoop;
    plate.ownLoop->cutAfterS = link.watchdogProvenS;
    sheet.plate = plate;
    sheet.cooling.fan = false;
    const size_t target = static_cast<size_t>(sheet.targets().front()) - 1;
    sheet.movePlateTo(sheet.strip.siteXMm[target] - plate.lengthMm / 2);
    return sheet;
}

/// One heat of a plan on a cold plate with the strip laid on, the hands doing as their cards say.
class LockstepHeat {
public:
    LockstepHeat(LockstepPlate& peer, const PlateLink& link, const HeatPlan& plan)
        : peer_(peer), periodS_(usualPeriodS(link)), plate_(std::make_unique<PatientPlate>(openPlate(link))),
          loop_(*plate_, plan,
                {.drive = link.drive,
                 .setpointFloorC = link.setpointFloorC,
                 .periodS = periodS_,
                 .identified = link.identified,
                 .watchdogProvenS = link.watchdogProvenS,
                 .virtualTime = true})
    {
        peer_.layStrip(plan.sheet.plateStartMm);
        for (const HandCard& card : plan.cards)
            if (card.mustConfirm)
                loop_.confirmCard(card.id);
    }

    /// Cycles until the heater was read back off after the heat, or this is true.
    void run(const std::function<bool()>& done = {})
    {
        for (const double endS = peer_.timeS() + 3600; peer_.timeS() < endS && !(done && done());) {
            const LockstepPlate::Truth& truth = peer_.advance(periodS_);
            last = loop_.cycle(peer_.timeS());
            for (int i = 0; i < last.eventCount; ++i)
                if (last.events[static_cast<size_t>(i)].severity == Severity::Trip)
                    trips += std::string(last.events[static_cast<size_t>(i)].text.data()) + "\n";
            const bool heats = last.state == RunState::Running || last.state == RunState::Holding;
            if (heats)
                judge(truth);
            else if (cycles_ > 0 && last.heater == HeaterState::OffConfirmed)
                break;
        }
    }
    /// Nobody speaks to the plate any more.
    void die() { plate_.reset(); }

    CycleRecord last;
    std::string trips;
    double worstK = 0; ///< True plate temperature against the reference.
    bool looksForWorst = false;
    /// Where silence would make the plate most warmer than it was last read; that, and profile time.
    double worstSilenceK = 0, worstSilenceAtS = 0;
    double rmsK() const { return std::sqrt(squaresK2_ / cycles_); }

private:
    void judge(const LockstepPlate::Truth& truth)
    {
        const double errorK = truth.plateC - last.referenceC;
        worstK = std::max(worstK, std::abs(errorK));
        squaresK2_ += errorK * errorK;
        ++cycles_;
        if (!looksForWorst || !last.sensorC)
            return;
        const double warmerK = truth.plateC + peer_.warmerInSilenceK() - *last.sensorC;
        if (warmerK > worstSilenceK) {
            worstSilenceK = warmerK;
            worstSilenceAtS = last.profileS;
        }
    }

    LockstepPlate& peer_;
    const double periodS_;
    std::unique_ptr<PatientPlate> plate_;
    ControlLoop loop_;
    double squaresK2_ = 0;
    int cycles_ = 0;
};

} // namespace stripwright
