#pragma once

#include "analysis/limits.h"
#include "materials/materials.h"

#include <QString>

namespace stripwright {

// How figures are written for the eye: the user's decimal sign, a true minus, the unit behind. Files never
// use these.

QString figure(double value, int decimals);
QString signedFigure(double value, int decimals); ///< Always with its sign.
QString placeText(double mm);                     ///< "32.5 mm", "−10 mm": a tenth where it is not whole.
QString placeFigure(double mm);                   ///< The same without its unit.
QString clockText(double seconds);                ///< "6:05", "−0:20", "9 h 04 min": clockInWords().
QString lensText(const BenchSheet& sheet,
                 int site);             ///< "stays", "off", "comes off", "released here", "none".
QString stationText(StationId station); ///< "joint 6", "far foot 4", "plate".

QString valueText(const Limit& limit, double value); ///< "152 °C", "1.82 K/s", "64 s".
QString
marginText(const Limit& limit,
           double margin); ///< "+6.2 K"; what is missed by little "−0.02 s" or "just missed", never 0.
QString allowedText(const Limit& limit); ///< "60–90 s", "up to 85 °C".
QString spanText(const MarginRow& row);  ///< "58 · 64 · 71 s", or one value, or "not reached".
QString windowText(const Window& window, const QString& unit,
                   int decimals); ///< Empty if neither side is stated.

std::optional<double> hottestOf(const MarginRow& row); ///< Of a peak, at any contact and in warm air.

/// Whether a row keeps its limit; a habit that is missed forbids nothing.
/// Share of a limit's tolerance that its margin leaves, by which rows are ordered: "24 %".
QString shareText(const MarginRow& row);
QString orderOfLimitsText(); ///< In words; begins small, without a full stop.

enum class RowState { Kept, HabitMissed, Broken };
RowState stateOf(const MarginRow& row);
QString inWords(RowState state);

} // namespace stripwright
