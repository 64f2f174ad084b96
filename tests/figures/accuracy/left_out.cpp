#include "heat.h"

#include <cmath>
#include <cstdio>

namespace stripwright::figures {

namespace {

constexpr double mattersK = 0.7; ///< What a joint over the plate may honestly be off.

bool radiates(const BenchSheet& sheet)
{
    return sheet.strip.emissivityTop > 0 || sheet.strip.emissivityUnderside > 0 ||
           sheet.strip.emissivitySide > 0;
}

bool capacityRises(const BenchSheet& sheet)
{
    return sheet.strip.core.heatCapacitySlopeJPerKgK2 != 0;
}

void withoutRadiation(BenchSheet& sheet)
{
    sheet.strip.emissivityTop = sheet.strip.emissivityUnderside = sheet.strip.emissivitySide = 0;
}

void withRadiationAsFilm(BenchSheet& sheet)
{
    const double perEmissivity = 4 * stefanBoltzmannWPerM2K4 * std::pow(sheet.air.ambientC + zeroCelsiusK, 3);
    sheet.air.filmTopWPerM2K += sheet.strip.emissivityTop * perEmissivity;
    sheet.air.filmUndersideWPerM2K += sheet.strip.emissivityUnderside * perEmissivity;
    sheet.air.filmSideWPerM2K += sheet.strip.emissivitySide * perEmissivity;
    withoutRadiation(sheet);
}

void withoutCapacityRise(BenchSheet& sheet)
{
    sheet.strip.core.heatCapacitySlopeJPerKgK2 = 0;
}

struct LeftOut {
    const char* name;
    bool (*isInSheet)(const BenchSheet&);
    void (*leaveOut)(BenchSheet&);
};
constexpr LeftOut each[] = {
    {"radiation left out", radiates, withoutRadiation},
    {"radiation as a film, linearised once about ambient", radiates, withRadiationAsFilm},
    {"rise of aluminium's heat capacity left out", capacityRises, withoutCapacityRise}};

/// Stations that are told apart.
struct Group {
    const char* name;
    bool (*counts)(const Station&, const BenchSheet&);
};

bool jointOverPlate(const Station& station, const BenchSheet& sheet)
{
    return isJoint(station) && isOverPlate(station, sheet);
}

bool jointBeyond(const Station& station, const BenchSheet& sheet)
{
    return isJoint(station) && !isOverPlate(station, sheet);
}

bool glueOrLens(const Station& station, const BenchSheet&)
{
    return station.kind == StationKind::Glue || station.kind == StationKind::Lens;
}

bool anyOf(const Station&, const BenchSheet&)
{
    return true;
}

constexpr Group groups[] = {{"joints over the plate", jointOverPlate},
                            {"joints beyond it", jointBeyond},
                            {"glue and lenses", glueOrLens},
                            {"any station", anyOf}};

/// Groups of heats on one side of mattersK, in words.
struct Side {
    std::string text;
    void add(const std::string& what, double differenceK)
    {
        char number[16];
        std::snprintf(number, sizeof number, " %.1f K", std::abs(differenceK));
        text += (text.empty() ? "" : "; ") + what + number;
    }
    const char* orNothing() const { return text.empty() ? "nothing" : text.c_str(); }
};

void print(const LeftOut& one, const std::vector<Heat>& heats)
{
    std::printf("\n%s\n", one.name);
    Side matters, doesNot;
    for (const Heat& heat : heats) {
        if (!one.isInSheet(heat.sheet)) {
            std::printf("  %s: the sheet has none to leave out\n", heat.name.c_str());
            continue;
        }
        std::printf("  %s, %.0f s\n", heat.name.c_str(), heat.plate.timeS.back());
        BenchSheet coarse = heat.sheet;
        one.leaveOut(coarse);
        const Prediction whole = predict(heat.sheet, heat.plate, heat.options);
        const Prediction less = predict(coarse, heat.plate, heat.options);
        for (const Group& group : groups) {
            const Apart most = mostApart(
                less, whole, [&](const Station& station) { return group.counts(station, heat.sheet); });
            if (most.station.name.empty())
                continue;
            std::printf("    %-22s %+7.2f K at %3.0f s, %s\n", group.name, most.differenceK, most.atS,
                        placeOf(most.station, heat.sheet).c_str());
            if (group.counts != anyOf)
                (std::abs(most.differenceK) > mattersK ? matters : doesNot)
                    .add(heat.shortName + ", " + group.name, most.differenceK);
        }
    }
    std::printf("  matters:  %s\n  does not: %s\n", matters.orNothing(), doesNot.orNothing());
}

} // namespace

void printLeftOut(const std::vector<Heat>& heats)
{
    std::printf("\n\nLEFT OUT: what a coarser model costs on the same plate curve, at the default grid\n\n");
    std::printf(
        "Greatest difference at any %g s; + where the coarser model reads too hot. It matters over %g K,\n"
        "the bound of a joint over the plate. Heat capacity without its rise keeps its value at %g C;\n"
        "radiation as a film is 4 emissivity sigma Ta^3 on every face that radiates.\n",
        PredictOptions().outputStepS, mattersK, capacityStatedAtC);
    for (const LeftOut& one : each)
        print(one, heats);
}

} // namespace stripwright::figures
