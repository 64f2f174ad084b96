#pragma once

#include "materials/bench_sheet.h"

namespace stripwright {

// What a joint of this heat is of, and where it melts. An old alloy that is unknown is taken for the worst of
// those in use.

double oldMeltsC(const BenchSheet& sheet); ///< Every old joint is fully liquid from here.
double allMeltsC(const BenchSheet& sheet); ///< And what was laid against it in the cold.
/// Where the solder that this heat is about begins to melt, and is all liquid: a Fit's paste, else the old
/// joints and their charge.
struct MeltRange {
    double solidusC = 0, liquidusC = 0;
};
MeltRange meltRangeOf(const BenchSheet& sheet);
double
newMeltsC(const BenchSheet& sheet); ///< Liquidus of the joint that is made; of a Remove heat the old one's.
double oldShare(
    const BenchSheet& sheet); ///< Of the joint that is made, by mass: 1 on the solder left, 0.5 on a tinned
                              ///< LED or with a charge, own estimates; residueOnWickedPad in a Fit.

/// What the joint that is made is mostly of; for its heat and conductivity. An unknown old alloy: as the
/// paste's.
const Alloy& solderOf(const BenchSheet& sheet);

/// How long solder must stay liquid under an LED that was set down on it [s]. `spreadS`: until area and angle
/// settle, measured on laser-heated paste dots (journal, effects of heating time on wettability and
/// spreadability of paste solders on Cu, 2006): 1.5 s Sn-Pb, 2.5 s Sn-Ag-Cu. Bismuth wets more slowly than
/// that (journal, wettability of Sn-Zn, Sn-Ag-Cu and Sn-Bi-Cu alloys on copper, 2012): 2.5 s at the very
/// least; `slowSpreadS` is trade habit. `planS`: what a plan leaves; trade habit.
struct Wetting {
    double spreadS = 2.5, planS = 10;
    std::optional<double> slowSpreadS;
};
Wetting wettingOf(const BenchSheet& sheet);

/// Life of flux laid on cold, from the first melt on [s]; after a trade rework column (paste flux, July
/// 2017): 30 to 45 s with lead, 60 to 90 s without. Trade habit.
double fluxLifeS(const BenchSheet& sheet);

/// Longest time a pad should stay liquid in one heat [s]: the flux's upper figure above; warned of beyond
/// liquidWarnS.
constexpr double mostLiquidS = 90, liquidWarnS = 120;

/// Joints of the strip's old solder may move from here on [°C]: its alloy's movableAboveC. Unknown solder:
/// 96, where traces of bismuth and lead melt, in a heat in which hands work on the strip; 138, where tin and
/// bismuth melt, in a bake.
double staysSolidBelowC(const BenchSheet& sheet);

/// Plans of heats without melting keep joints this far below it: what a heater's lag and the live estimate
/// still add.
constexpr double solidRoomK = 5;

} // namespace stripwright
