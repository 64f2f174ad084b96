#include "materials/drying_bake.h"

#include <algorithm>

namespace stripwright {

namespace {

struct Hours {
    double saturated, briefly; // floor life exceeded by more, or by at most 72 h
};

struct BakeRow {
    const char* level;
    std::array<Hours, 3> at; // as bakeTemperaturesC
};

constexpr double brieflyOverH = 72;
constexpr double dayH = 24;

// IPC/JEDEC J-STD-033, user bake, bodies up to 1.4 mm; 2a of the later revisions, which bake it longer.
constexpr BakeRow rows[] = {
    {"2", {{{5, 3}, {17, 11}, {8 * dayH, 5 * dayH}}}},
    {"2a", {{{7, 5}, {23, 13}, {9 * dayH, 7 * dayH}}}},
    {"3", {{{9, 7}, {33, 23}, {13 * dayH, 9 * dayH}}}},
    {"4", {{{11, 7}, {37, 23}, {15 * dayH, 9 * dayH}}}},
    {"5", {{{12, 7}, {41, 24}, {17 * dayH, 10 * dayH}}}},
    {"5a", {{{16, 10}, {54, 24}, {22 * dayH, 10 * dayH}}}},
};

} // namespace

bool isBakeTemperature(double temperatureC)
{
    return std::find(bakeTemperaturesC.begin(), bakeTemperaturesC.end(), temperatureC) !=
           bakeTemperaturesC.end();
}

std::optional<double> bakeHours(const LedPackage& led, double temperatureC,
                                const std::optional<double>& overFloorLifeH)
{
    const auto column = std::find(bakeTemperaturesC.begin(), bakeTemperaturesC.end(), temperatureC);
    if (led.heightMm > bakeTableMaxBodyMm || column == bakeTemperaturesC.end())
        return {};
    const std::string level = led.moistureLevel.empty() ? "5a" : led.moistureLevel;
    for (const BakeRow& row : rows)
        if (row.level == level) {
            const Hours& hours = row.at[static_cast<size_t>(column - bakeTemperaturesC.begin())];
            return overFloorLifeH && *overFloorLifeH <= brieflyOverH ? hours.briefly : hours.saturated;
        }
    return {};
}

} // namespace stripwright
