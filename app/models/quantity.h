#pragma once

#include <QString>

#include <optional>

namespace stripwright {

/// Of a unit of °C: a temperature in °F is converted. What one count is worth is none, and °F refused there.
enum class Fahrenheit { Converted, Refused };

/// A number as typed, with the user's or the plain decimal sign, with or without `unit` ("217", "217,5 °C";
/// "423 F" where the unit is °C). Nothing if it cannot be read or lies outside min to max, which may be
/// infinite; `why` then says
/// what was found and expected.
std::optional<double> readQuantity(const QString& text, const QString& unit, double min, double max,
                                   QString& why, Fahrenheit fahrenheit = Fahrenheit::Converted);

QString shortFigure(double value); ///< As many decimals as it needs, at most three.

} // namespace stripwright
