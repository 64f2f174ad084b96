#include "rows.h"

namespace stripwright::faults {

using enum Answer;
using enum Clock;

namespace {

constexpr std::array<Answer, 5> endsHeat{NoStart, Off, Off, Off, Warn};
constexpr std::array<Answer, 5> endsHeatOnceSeen{GoOn, Off, Off, Off, GoOn};
constexpr std::array<Answer, 5> mustGoOn{GoOn, GoOn, GoOn, GoOn, GoOn};
constexpr std::array<Answer, 5> allOff{Off, Off, Off, Off, Off};
constexpr std::array<Answer, 5> warns{Warn, Warn, Warn, Warn, Warn};
constexpr std::array<Answer, 5> onlyIdle{NoStart, None, None, None, None};

std::vector<Row> lineRows()
{
    constexpr auto line = Kind::Line;
    constexpr auto fault = Act::PlateFault;
    return {
        {"silent", "silent", fault, line, endsHeat, 1.0, Wall},
        {"late-answer", "late-answer=0.5", fault, line, mustGoOn, 1.0, Wall},
        {"bit-errors-1", "bit-errors=0.01", fault, line, mustGoOn, 10, Wall},
        {"bit-errors-10", "bit-errors=0.1", fault, line, {GoOn, GoOn, GoOn, GoOn, GoOn}, 10, Wall},
        {"bit-errors-60",
         "bit-errors=0.6",
         fault,
         line,
         {NoStart, Off, Off, Off, GoOn},
         1.5,
         Wall,
         0,
         false,
         true,
         "serial line only"},
        {"junk-bytes", "junk-bytes@0..1", fault, line, mustGoOn, 5, Wall, 0, false, true, "serial line only"},
        {"trickle", "trickle", fault, line, endsHeat, 1.0, Wall},
        {"exceptions-02", "exceptions=02", fault, line, endsHeat, 0.6, Wall},
        {"exceptions-04", "exceptions=04", fault, line, endsHeat, 0.6, Wall},
        {"exceptions-06", "exceptions=06", fault, line, endsHeat, 1.0, Wall},
        {"exceptions-0B", "exceptions=0B", fault, line, endsHeat, 0.6, Wall},
        {"unplugged", "unplugged", fault, line, endsHeat, 3.0, Wall, 0, false, true, "the plate cuts"},
        {"wrong-unit", "wrong-unit", fault, line, endsHeat, 1.0, Wall},
        {"write-ignored",
         "write-ignored",
         fault,
         line,
         {NoStart, AskedOff, AskedOff, AskedOff, GoOn},
         0.6,
         Wall},
        {"foreign-master",
         "foreign-master",
         fault,
         line,
         {Warn, AskedOff, AskedOff, AskedOff, Warn},
         2.5,
         Plant,
         0,
         false,
         true,
         "at the third write"},
        {"reboot", "reboot=2", fault, line, {GoOn, Off, Off, Off, GoOn}, 2.6, Plant},
        {"counter-stuck", "counter-stuck", fault, line, {MustStop, Off, Off, Off, GoOn}, 3, Plant},
        {"wrong-word-order", "", Act::WrongWordOrder, line, onlyIdle, 6, Wall},
    };
}

std::vector<Row> plateRows()
{
    constexpr auto plate = Kind::Plate;
    constexpr auto fault = Act::PlateFault;
    return {
        {"sensor-open", "sensor-open", fault, plate, endsHeat, 0.5, Plant},
        {"sensor-short", "sensor-short", fault, plate, endsHeatOnceSeen, 3, Plant},
        {"sensor-stuck", "sensor-stuck", fault, plate, endsHeatOnceSeen, 20, Plant, 6},
        {"sensor-detached", "sensor-detached", fault, plate, endsHeatOnceSeen, 5, Plant},
        {"sensor-offset", "", Act::NotInjected, plate, mustGoOn, 0, Plant, 0, false, true,
         "5 K: not detectable with one sensor: caution"},
        {"spike", "spike=50", fault, plate, mustGoOn, 10, Plant},
        {"cold-board", "cold-board=2.2", fault, plate, mustGoOn, 20, Plant},
        {"draught", "draught=20", fault, plate, mustGoOn, 60, Plant},
        {"strip-sensor-open", "strip-sensor-open", fault, plate, mustGoOn, 10, Plant, 0, true},
        {"heater-open",
         "heater-open",
         fault,
         plate,
         {MustStop, AskedOff, AskedOff, AskedOff, None},
         15,
         Plant,
         0,
         false,
         true,
         "",
         CountsFrom::MuchTold},
        {"half-power", "half-power", fault, plate, {None, OffOrGoOn, GoOn, OffOrGoOn, None}, 15},
        {"mains-low", "mains=0.8", fault, plate, {None, GoOn, GoOn, OffOrGoOn, None}, 30},
        {"mains-high", "mains=1.1", fault, plate, {None, GoOn, GoOn, GoOn, None}, 30},
        {"relay-welded",
         "relay-welded",
         fault,
         plate,
         {AskedOff, AskedOff, AskedOff, AskedOff, AskedOff},
         15,
         Plant,
         20,
         false,
         true,
         "",
         CountsFrom::MoreThanTold},
        {"relay-welded-enable",
         "relay-welded",
         fault,
         plate,
         {MustStop, Off, Off, Off, Off},
         15,
         Plant,
         20,
         true,
         true,
         "",
         CountsFrom::MoreThanTold},
        // Zero still cuts it: the loop may well hold it. Above its limit heat goes off, as in every row.
        {"runaway", "over-temperature", fault, plate, {None, OffOrGoOn, OffOrGoOn, OffOrGoOn, GoOn}, 20},
    };
}

std::vector<Row> processRows()
{
    constexpr auto process = Kind::Process;
    const Row rows[] = {
        {"worker-killed", "", Act::KillWorker, process, allOff, 0.5, Wall},
        {"worker-stopped", "", Act::StopWorker, process, allOff, 1.5, Wall},
        {"guardian-killed", "", Act::KillGuardian, process, {Warn, Off, Off, OffOrGoOn, Warn}, 7, Wall},
        {"guardian-stopped", "", Act::StopGuardian, process, mustGoOn, 5, Wall},
        {"front-killed", "", Act::KillFront, process, {GoOn, OffOrGoOn, OffOrGoOn, OffOrGoOn, GoOn}, 2, Wall},
        {"front-stopped", "", Act::StopFront, process, mustGoOn, 5, Wall},
        {"window-killed", "", Act::WindowGone, process, {None, Off, Off, OffOrGoOn, GoOn}, 31, Wall},
        {"window-stopped", "", Act::WindowSilent, process, {None, Off, Off, OffOrGoOn, GoOn}, 31, Wall},
    };
    std::vector<Row> all;
    for (Row row : rows) {
        row.watchdog = false; // nobody but the guardian is left to end it
        all.push_back(row);
    }
    all.push_back(
        {"all-killed", "", Act::KillEverything, process, allOff, 3, Wall, 0, false, true, "the plate cuts"});
    all.push_back({"cpu-starved",
                   "",
                   Act::BusyProcessor,
                   process,
                   {GoOn, OffOrGoOn, OffOrGoOn, OffOrGoOn, GoOn},
                   6,
                   Wall});
    all.push_back({"second-controller", "", Act::SecondController, process, mustGoOn, 0.5, Wall});
    all.push_back({"wall-clock-jump", "", Act::WallClockJump, process, mustGoOn, 5, Wall});
    all.push_back({"suspend", "", Act::Suspend, process, {GoOn, Off, Off, Off, GoOn}, 0.3, Wall});
    return all;
}

std::vector<Row> otherRows()
{
    constexpr auto disk = Kind::Disk;
    constexpr auto message = Kind::Message;
    constexpr std::array<Answer, 5> diskFails{NoStart, Off, Warn, Warn, Warn};
    constexpr std::array<Answer, 5> stops{GoOn, Off, Off, Off, GoOn};
    return {
        {"disk-full", "", Act::DiskFull, disk, diskFails, 3, Wall},
        {"disk-error", "", Act::DiskError, disk, diskFails, 3, Wall},
        {"slow-fsync", "", Act::SlowSync, disk, {GoOn, OffOrGoOn, GoOn, GoOn, GoOn}, 8, Wall},
        {"runs-locked", "", Act::RunsLocked, disk, {NoStart, OffOrGoOn, Warn, Warn, Warn}, 8, Wall},
        {"runs-corrupt", "", Act::RunsCorrupt, disk, onlyIdle, 6, Wall},
        {"bad-recipe", "", Act::BadRecipe, message, {NoStart, GoOn, GoOn, GoOn, GoOn}, 2, Wall},
        {"garbage", "", Act::Garbage, message, mustGoOn, 5, Wall},
        {"flood", "", Act::Flood, message, mustGoOn, 5, Wall},
        {"operator-stop", "", Act::OperatorStop, message, stops, 0.3, Wall},
        {"operator-stop-bad-line", "bit-errors=0.6", Act::OperatorStop, message, stops, 0.3, Wall},
    };
}

} // namespace

const std::vector<Row>& allRows()
{
    static const std::vector<Row> all = [] {
        std::vector<Row> rows = lineRows();
        for (const auto& more : {plateRows(), processRows(), otherRows()})
            rows.insert(rows.end(), more.begin(), more.end());
        return rows;
    }();
    return all;
}

} // namespace stripwright::faults
