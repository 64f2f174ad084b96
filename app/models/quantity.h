#pragma once

#include <QString>

#include <optional>

namespace stripwright {

/// A number as typed, with the user's or the plain decimal sign, with or without `unit` ("217", "217,5 °C";
/// "423 F" where the unit is °C). Nothing if it cannot be read or lies outside min to max, which may be
/// infinite; `why` then says
/// what was found and expected.
std::optional<double> readQuantity(const QString& text, const QString& unit, double min, double max,
                                   QString& why);

QString shortFigure(double value); ///< As many decimals as it needs, at most three.

} // namespace stripwright
