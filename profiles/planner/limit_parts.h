#pragma once

#include "analysis/limits.h"
#include "materials/bench_sheet.h"

#include <initializer_list>

namespace stripwright {

// What the limits of several kinds of heat are made of.

/// One side of a limit; without a value there is none.
struct Side {
    std::optional<double> value;
    bool habit = false;
};

/// About one site's joint, body, glue, ...; id "joint_6/peak".
Limit limitAt(StationKind kind, int site, const char* id, const char* what, Metric metric, double levelC = 0);

/// Sides of one standing make one limit; a sourced side and a habit make one each, the habit's id marked.
void addWindow(std::vector<Limit>& limits, const Limit& limit, Side min, Side max);
void addWindow(std::vector<Limit>& limits, const Limit& limit, const Window& window, bool allHabit);

/// Several caps on one value: the lowest sourced one is the limit, and a habit counts only if it is lower
/// still.
void addCaps(std::vector<Limit>& limits, const Limit& limit, std::initializer_list<Side> caps);

/// An LED body that is there: highest temperature, time near it and above 217 °C. `kind` Body or NewLed.
void addBodyCaps(std::vector<Limit>& limits, StationKind kind, const LedPackage& led, int site,
                 bool protects);

/// Rates of an LED body; `asked` of those alone that reach 150 °C.
void addBodyRates(std::vector<Limit>& limits, const LedPackage& led, int site, bool protects);

void addDielectricCaps(std::vector<Limit>& limits, const StripType& strip, int site);

/// Every LED that stays and is no target, every lens that stays, the plate, and what lies between plate and
/// strip.
void addKeptParts(std::vector<Limit>& limits, const BenchSheet& sheet);
/// The same without the rates of a heat that melts joints.
void addKeptPartsOfSolidHeat(std::vector<Limit>& limits, const BenchSheet& sheet);

/// The old joint of a site melts.
void addOldAlloyNeed(std::vector<Limit>& limits, const BenchSheet& sheet, int site);

/// Liquid time of a heat that is not by a paste's window: fluxes and intermetallics, trade habit.
void addLiquidTotal(std::vector<Limit>& limits, const BenchSheet& sheet, int site);

constexpr double bodyRiseCPerS = 3;      ///< IPC/JEDEC J-STD-020D Table 5-2, average ramp-up rate.
constexpr double bodyFallCPerS = 6;      ///< Same table, ramp-down rate.
constexpr double wettingSuperheatK = 15; ///< Usual least superheat for wetting; trade habit.

} // namespace stripwright
