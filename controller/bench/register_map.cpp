#include "bench/register_map.h"

#include <cstdio>

namespace stripwright {

static RegisterField field(RegisterTable table, int address, RegisterType type, double scale = 1)
{
    return {.table = table, .address = address, .type = type, .scale = scale};
}

static PlateLink linkByDrive(DriveKind drive)
{
    using enum RegisterTable;
    using enum RegisterType;
    PlateLink link;
    link.name = "simulated plate";
    link.host = "127.0.0.1";
    link.unit = registers::unit;
    link.drive = drive;
    link.sensor = field(Input, registers::sensor, Int16, 0.1);
    link.noSensorRaw = {registers::noSensorRaw};
    link.status = field(Input, registers::status, Uint16);
    link.sensorFaultMask = registers::sensorFaultBit;
    link.watchdogTrippedMask = registers::watchdogTrippedBit;
    link.counter = field(Input, registers::counter, Uint16);
    link.watchdogS = field(Holding, registers::watchdog, Uint16, 0.1);
    if (drive == DriveKind::Duty) {
        link.duty = field(Holding, registers::duty, Uint16, 0.0001);
    } else {
        link.setpoint = field(Holding, registers::setpoint, Int16, 0.1);
        link.duty = field(Input, registers::applied, Uint16, 0.0001);
        link.setpointFloorC = SimulatedPlate::setpointFloorC;
    }
    link.fan = field(Coil, registers::fan, Uint16);
    link.stripLifted = field(Coil, registers::stripLifted, Uint16);
    return link;
}

PlateLink linkTo(const SimulatedPlate& plate, int port)
{
    PlateLink link = linkByDrive(plate.drive());
    link.port = port;
    link.watchdogSeconds = plate.watchdogSeconds();
    int address = registers::truth;
    for (const std::string& name : plate.truthNames()) {
        link.channels.push_back({name, field(RegisterTable::Input, address, RegisterType::Float32)});
        address += 2;
    }
    return link;
}

std::string registerMapText(DriveKind drive)
{
    static const char* const tables[] = {"coil", "discrete", "input", "holding"};
    static const char* const types[] = {"int16", "uint16", "int32", "float32"};
    const PlateLink link = linkByDrive(drive);
    std::string text;
    const auto line = [&](const char* name, const RegisterField& at, const char* note) {
        const bool bit = at.table == RegisterTable::Coil;
        char row[160];
        std::snprintf(row, sizeof row, "  %-13s %-8s %-4d %-8s x %-7g %s\n", name,
                      tables[static_cast<size_t>(at.table)], at.address,
                      bit ? "bit" : types[static_cast<size_t>(at.type)], at.scale, note);
        text += row;
    };
    line("sensor_C", link.sensor, "32767: no sensor");
    line("status", *link.status, "1 sensor fault, 2 watchdog has cut the heater");
    line("counter", *link.counter, "one a sensor sample, wraps");
    line("duty", *link.duty, drive == DriveKind::Duty ? "0 to 1, written" : "applied, read only");
    if (link.setpoint)
        line("setpoint_C", *link.setpoint, "0 to 400, written; 0: off");
    line("watchdog_s", *link.watchdogS, "0.5 to 60, written");
    line("fan", *link.fan, "");
    line("strip_lifted", *link.stripLifted, "tells the simulation what the hands did");
    line("truth_...", field(RegisterTable::Input, registers::truth, RegisterType::Float32),
         "and every second address from there: see the link file");
    return text;
}

} // namespace stripwright
