#include "bench/plate_trace.h"

#include "bench/plate_server.h"

#include <cmath>
#include <cstdio>
#include <stdexcept>

namespace stripwright {

static std::optional<StationId> nearestLens(const BenchSheet& sheet)
{
    double nearestMm = INFINITY;
    std::optional<StationId> lens;
    for (const int target : sheet.targets())
        for (size_t i = 0; i < sheet.sites.size(); ++i) {
            const int site = static_cast<int>(i) + 1;
            const double mm =
                std::abs(sheet.strip.siteXMm[i] - sheet.strip.siteXMm[static_cast<size_t>(target) - 1]);
            if (sheet.lensStaysOn(site) && mm < nearestMm) {
                nearestMm = mm;
                lens = {StationKind::Lens, site};
            }
        }
    return lens;
}

PlateTrace::PlateTrace(const std::string& file, const SimulatedPlate& plate, const RegisterDevice& device,
                       const BenchSheet& sheet)
    : plate_(plate), device_(device), out_(file, std::ios::trunc), lens_(nearestLens(sheet))
{
    if (const std::vector<int> targets = sheet.targets(); !targets.empty())
        joint_ = jointOf(targets.front());
    out_ << "wall_s,plant_s,duty,heat,plate_C,joint_C,lens_C,shown_C,event\n" << std::flush;
    if (!out_)
        throw std::runtime_error(file + ": cannot be written; check the folder and its free space");
}

void PlateTrace::write(const std::string& event)
{
    const auto cell = [](double value) {
        char text[40] = "";
        if (std::isfinite(value))
            std::snprintf(text, sizeof text, "%.3f", value);
        return std::string(text) + ",";
    };
    const auto stationC = [&](const std::optional<StationId>& station) {
        return station ? plate_.stationC(*station) : NAN;
    };
    const double commanded =
        plate_.drive() == DriveKind::Duty ? plate_.dutyCommand() : plate_.shown().duty.value_or(0);
    out_ << cell(lineClockS()) << cell(plate_.timeS()) << cell(commanded) << cell(plate_.dutyApplied())
         << cell(stationC(StationId{StationKind::Plate})) << cell(stationC(joint_)) << cell(stationC(lens_))
         << cell(plate_.shown().sensorC) << event << "\n"
         << std::flush;
}

void PlateTrace::follow()
{
    const double nowS = plate_.timeS();
    // In the order given; one that is to come later holds back those behind it.
    while (faultsSaid_ < plate_.faults().size() && plate_.faults()[faultsSaid_].fromS <= nowS + 1e-9)
        write("fault " + faultNames()[static_cast<size_t>(plate_.faults()[faultsSaid_++].fault)]);
    if (const auto driven = device_.lastDriven(); driven && framesHeat_ != (*driven > 0)) {
        framesHeat_ = *driven > 0;
        write(*framesHeat_ ? "on frame" : "off frame");
    }
    if (plate_.shown().watchdogTripped != tripped_) {
        tripped_ = !tripped_;
        if (tripped_)
            write("watchdog");
    }
    if ((plate_.dutyApplied() > 0) != heats_) {
        heats_ = !heats_;
        write(heats_ ? "heat on" : "heat off");
    }
    if (nowS >= nextS_ - 1e-9) {
        nextS_ = nowS + SimulatedPlate::sampleS;
        write("");
    }
}

} // namespace stripwright
