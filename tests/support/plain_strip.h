#pragma once

#include "materials/bench_sheet.h"

namespace stripwright::test {

/// A bare strip on a plate, without sites, films or radiation: each test adds what it is about.
inline BenchSheet plainStrip(double lengthMm, double widthMm, double thicknessMm,
                             double conductivityWPerMK = 138)
{
    BenchSheet sheet;
    sheet.strip.lengthMm = lengthMm;
    sheet.strip.widthMm = widthMm;
    sheet.strip.core = {.alloy = "5052",
                        .thicknessMm = thicknessMm,
                        .conductivityWPerMK = conductivityWPerMK,
                        .densityKgPerM3 = 2680,
                        .heatCapacityJPerKgK = 880};
    // A dielectric and copper without weight: the closed forms know only the core.
    sheet.strip.dielectric = {1e-6, 1, 1e-6, 260};
    sheet.strip.copper = {1e-6, 1e-6, 1e-6, false};
    sheet.contact.lowWPerM2K = sheet.contact.nominalWPerM2K = sheet.contact.highWPerM2K = 500;
    sheet.air = {25, 0, 0, 0};
    sheet.plate.lengthMm = sheet.plate.widthMm = 60;
    sheet.plateStartMm = (lengthMm - sheet.plate.lengthMm) / 2;
    return sheet;
}

} // namespace stripwright::test
