#pragma once

#include "materials/bench_sheet.h"
#include "materials/json_fields.h"

namespace stripwright {

/// The demo sheet with the figures of a known plate: 700 J/K, 900 W, 1.2 W/K, 4 s element, 2.5 s sensor, 1 s
/// dead time.
inline BenchSheet testSheet()
{
    const std::filesystem::path folders[] = {SHELF_DIR};
    const std::string file = SHELF_DIR "/marram-lane-bar-7.bench.json";
    BenchSheet sheet = readBenchSheet(readTextFile(file), file, readShelf(folders));
    sheet.plate.heatCapacityJPerK = 700;
    sheet.plate.powerW = 900;
    sheet.plate.lossWPerK = 1.2;
    sheet.plate.radiatingAreaM2 = 0.054;
    sheet.plate.fanLossWPerK = 3;
    sheet.plate.elementLagS = 4;
    sheet.plate.sensorLagS = 2.5;
    sheet.plate.deadTimeS = 1;
    sheet.air.ambientC = 25;
    return sheet;
}

} // namespace stripwright
