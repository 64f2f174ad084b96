#include "tuning/typed_power.h"

#include <cstdarg>
#include <cstdio>

namespace stripwright {

// Aluminium at 25 to 200 C: 0.90 J/gK and 2.70 g/cm3, as metals handbooks give them.
static constexpr double aluminiumJPerKgK = 900, aluminiumKgPerDm3 = 2.70;
static constexpr double leastOfSolid = 0.7, mostOfSolid = 1.8;
static constexpr double lightestKg = 0.05, heaviestKg = 2.0;

[[gnu::format(printf, 1, 2)]] static std::string said(const char* format, ...)
{
    char text[400];
    va_list arguments;
    va_start(arguments, format);
    std::vsnprintf(text, sizeof text, format, arguments);
    va_end(arguments);
    return text;
}

std::string plateByPower(double powerW, double heatCapacityJPerK)
{
    const double kg = heatCapacityJPerK / aluminiumJPerKgK;
    return said(
        "%.0f W and the climb, %.2f K/s cold at full heat, make it a plate of %.0f J/K: %.2g kg or %.2g "
        "dm3 of aluminium",
        powerW, powerW / heatCapacityJPerK, heatCapacityJPerK, kg, kg / aluminiumKgPerDm3);
}

std::optional<std::string> powerQuestion(double powerW, double heatCapacityJPerK,
                                         const std::optional<PlateSize>& size)
{
    const std::string plate = plateByPower(powerW, heatCapacityJPerK);
    if (!size) {
        const double kg = heatCapacityJPerK / aluminiumJPerKgK;
        if (powerW > 0 && kg >= lightestKg && kg <= heaviestKg)
            return {};
        return plate + ". Is it, and is " + said("%.0f W", powerW) + " what its heater takes?";
    }
    const double solidJPerK =
        size->lengthMm * size->widthMm * size->thicknessMm * 1e-6 * aluminiumKgPerDm3 * aluminiumJPerKgK;
    const double share = heatCapacityJPerK / solidJPerK;
    if (powerW > 0 && share >= leastOfSolid && share <= mostOfSolid)
        return {};
    return plate + said(". One of %g x %g x %g mm holds %.0f J/K if it is of aluminium; the climb then says "
                        "%.0f W. Is %.0f W what its heater takes, and is the size right?",
                        size->lengthMm, size->widthMm, size->thicknessMm, solidJPerK, powerW / share, powerW);
}

} // namespace stripwright
