#pragma once

#include <optional>
#include <string>
#include <vector>

namespace stripwright {

// What the controller process can do, one program each. They talk on standard output, complain on standard
// error and return the exit code: 0 ok, 1 heater off not confirmed or internal failure, 2 usage, 3 bad input,
// 5 plate not reachable or in use, 6 stopped by the operator, 7 stopped by a limit or refused, 8 cannot
// write.

struct DriveOptions {
    std::string plate, runs, socket;
    double speed = 1;
};
int drive(const DriveOptions& options); ///< Serves windows and terminals, run by run.

struct TuneOptions {
    std::string plate; ///< Plate link file.
    std::string out;   ///< Link file to write; empty: the one that was read.
    double powerW = 0; ///< Of the heater.
    double topC = 180;
    double ambientC = 23, plateMaxC = 300;
    double speed = 1;
    bool relay = false, json = false;
    bool plateIsBare = false;  ///< Said beforehand; else it is asked for on the terminal.
    bool powerIsRight = false; ///< Said beforehand; else it is asked for where the climb makes it doubtful.
    std::string shelf;         ///< Folder of the user's own shelf entries; empty: nothing is put there.
    std::string size;          ///< Of the plate, "100x100x8" in mm; empty: asked for, or as it stands there.
};
int tune(const TuneOptions& options);

struct ConnectOptions {
    std::string draft;            ///< Plate link file whose sensor may lack its type, order and scale.
    std::string out;              ///< Link file to write; empty: the draft.
    std::optional<double> plateC; ///< Of the cold plate, by a thermometer.
    double speed = 1;
    bool coldOnly = false, json = false, plateIsBare = false;
};
int connectPlate(const ConnectOptions& options); ///< Finds out how a plate is read, and proves it.

struct FindOptions {
    std::string line; ///< HOST[:PORT] or a serial device.
    std::optional<int> baud;
    std::string frame; ///< Empty: every one.
    std::string units; ///< "FIRST-LAST"; empty: all over TCP, 1 to 10 on a serial line.
    bool json = false;
};
int findDevices(const FindOptions& options); ///< Reads only.

/// Says of each plate link file what is wrong with it, or what it is and what will be refused later. Opens no
/// line.
int checkLinks(const std::vector<std::string>& files);

} // namespace stripwright
