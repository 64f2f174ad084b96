#include "link/line_diagnosis.h"
#include "link/line_silence.h"
#include "link/modbus_plate.h"

#include <cstdio>

namespace stripwright {

static std::string called(const PlateLink& link)
{
    return "plate \"" + link.name + "\" at " + placeOf(link);
}

static void openLine(ModbusPlate& plate, const PlateLink& link, double connectTimeoutS)
{
    if (plate.openLine(connectTimeoutS))
        return;
    if (link.serial)
        throw LinkError(called(link) + " cannot be opened: " + plate.lastError());
    throw LinkError(called(link) + " cannot be reached: " + plate.lastError() +
                    ". Check that the plate is switched on, that its network cable is in, and that host and "
                    "port in the plate link file are the plate's");
}

// The layout that this plate answers to. False: there is none, and the plate's lastError() says why.
static bool readAll(ModbusPlate& plate, bool serial, double settleS)
{
    const auto tried = [&] {
        plate.line().settle(settleS);
        return plate.readBlocks();
    };
    if (tried())
        return true;
    if (plate.line().lastException()) {
        plate.layOut(false); // some devices refuse a request that touches an address they do not have
        return tried();
    }
    // One disturbed answer on a serial line is no reason to give up.
    return serial && plate.line().isOpen() && tried();
}

// A setting such as "automatic" may let a plate heat to a set-point that still stands in it.
static void writeSettings(ModbusPlate& plate, const PlateLink& link)
{
    if (link.settings.empty())
        return;
    if (!plate.heaterOff())
        throw LinkError(called(link) +
                        " could not be turned off before its settings are written: " + plate.lastError());
    if (const PlateSetting* refused = plate.writeSettings())
        throw LinkError(
            called(link) + " did not take its setting \"" + refused->name + "\": " + plate.lastError() +
            ". Set it at the plate itself and see that nothing locks it there, or correct it under "
            "\"settings\" in the plate link file");
}

std::unique_ptr<Plate> openPlate(const PlateLink& link, double connectTimeoutS, double responseTimeoutS)
{
    auto plate = std::make_unique<ModbusPlate>(link, connectTimeoutS, responseTimeoutS);
    openLine(*plate, link, connectTimeoutS);
    if (!readAll(*plate, link.serial.has_value(), 1.0)) {
        const std::string why = plate->lastError();
        const ReadBlock asked = plate->lastRead();
        const int exception = plate->line().lastException();
        const std::string advice = exception     ? adviceAfterRefusal(link, plate->line(), asked, exception)
                                   : link.serial ? (plate.reset(), adviceAfterSilence(link, asked))
                                                 : adviceWithoutAnswer(asked);
        throw LinkError(called(link) + " is connected but cannot be read: " + why + ". " + advice);
    }
    if (const std::string advice = adviceOnWordOrder(link, plate->sensorWords()); !advice.empty())
        throw LinkError(called(link) + " answers, but its temperature makes no sense: " + advice);
    try {
        writeSettings(*plate, link);
    } catch (const LinkError&) {
        plate->heaterOff(); // whatever the settings that were taken have let it do
        throw;
    }
    if (!plate->armWatchdog()) {
        if (!link.settings.empty())
            plate->heaterOff();
        char seconds[32];
        std::snprintf(seconds, sizeof seconds, "%.6g", link.watchdogSeconds);
        throw LinkError(
            called(link) + " did not take its watchdog time of " + seconds + " s: " + plate->lastError() +
            ". Without it the plate would heat on when the line breaks. Check \"watchdog_s\" under "
            "\"registers\" in the plate link file, and that the plate is not in local mode");
    }
    return plate;
}

std::unique_ptr<Plate> openPlateAgain(const PlateLink& link)
{
    constexpr double connectS = 0.5, answerS = 0.2, settleS = 0.3;
    auto plate = std::make_unique<ModbusPlate>(link, connectS, answerS);
    openLine(*plate, link, connectS);
    if (!readAll(*plate, link.serial.has_value(), settleS) || !plate->armWatchdog())
        throw LinkError(called(link) +
                        " was opened again but does not answer as before: " + plate->lastError());
    plate->lookAfterSettings();
    return plate;
}

std::unique_ptr<Plate> openToTurnOff(const PlateLink& link, double connectTimeoutS, double responseTimeoutS)
{
    auto plate = std::make_unique<ModbusPlate>(link, connectTimeoutS, responseTimeoutS);
    openLine(*plate, link, connectTimeoutS);
    return plate;
}

} // namespace stripwright
