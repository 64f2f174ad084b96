#pragma once

#include "dice.h"

#include "materials/bench_sheet.h"

namespace stripwright::figures {

/// How long a pair of hands takes with one heat's sites.
struct DrawnHands {
    double firstS = 0;
    std::vector<double> eachS; ///< In order of work; some are late with their set-down.
};

/// How one bench differs from its sheet, whatever heat of the job is run on it.
struct DrawnBench {
    double contactPlace = 0;       ///< Of the mean contact in its range: 0 low, 1 high, by ratios.
    double bowResistance = 0;      ///< Of the contact's own, added where the gap is widest.
    bool arched = false;           ///< Widest gap in the middle of the plate, else at its edges.
    std::uint64_t patternSeed = 0; ///< Of the contact from place to place, and of the hands.
    double corePlace = 0;          ///< Of the core's conductivity in its range.
    double films = 1, roomRiseK = 0, plateLosses = 1;
};

/// Contact anywhere in its range, and by places of 15 mm a fifth about that, never out of the range; core
/// conductivity in its range, films a fifth, room 5 K and the plate's losses a tenth either way.
DrawnBench drawBench(Dice& dice);

/// The strip and plate that are really there when this sheet's heat is run.
BenchSheet truthOf(const BenchSheet& sheet, const DrawnBench& bench);

/// Lognormal about the sheet's own times, a quarter either way; one site in ten 3 to 10 s later still.
DrawnHands drawHands(const BenchSheet& sheet, const DrawnBench& bench);

} // namespace stripwright::figures
