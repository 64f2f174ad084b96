#include "materials/bow_contact.h"

#include <cmath>
#include <cstdio>

namespace stripwright {

namespace {

constexpr double mm = 1e-3, zeroCelsiusK = 273.15, stefanBoltzmannWPerM2K4 = 5.670374419e-8;
constexpr double roughnessMm = 0.02; // Faces of a drawn strip and a used plate, together; own estimate.

double airWPerMK(double meanC)
{
    return 0.0262 + 6.75e-5 * (meanC + zeroCelsiusK - 300);
}

double radiationWPerM2K(double meanC)
{
    constexpr double strip = 0.1, plate = 0.3;
    return 4 * stefanBoltzmannWPerM2K4 * std::pow(meanC + zeroCelsiusK, 3) / (1 / strip + 1 / plate - 1);
}

} // namespace

double evenGapWPerM2K(double gapMm, double meanC)
{
    return airWPerMK(meanC) / (gapMm * mm) + radiationWPerM2K(meanC);
}

double archGasWPerM2K(double bowMm, double meanC)
{
    const double widestMm = bowMm + roughnessMm;
    return airWPerMK(meanC) * std::atanh(std::sqrt(bowMm / widestMm)) / (std::sqrt(bowMm * widestMm) * mm);
}

double rockerGasWPerM2K(double bowMm, double meanC)
{
    return airWPerMK(meanC) * std::atan(std::sqrt(bowMm / roughnessMm)) /
           (std::sqrt(bowMm * roughnessMm) * mm);
}

ContactCondition bowedContact(double bowMm)
{
    constexpr double coolC = 130, midC = 180, hotC = 230;
    char figure[16];
    std::snprintf(figure, sizeof figure, "%.3g", bowMm);
    ContactCondition contact;
    contact.id = std::string("bowed-") + figure + "mm-measured";
    contact.name = std::string("Bowed, measured ") + figure + " mm";
    contact.lowWPerM2K = evenGapWPerM2K(bowMm + roughnessMm, coolC);
    contact.nominalWPerM2K = archGasWPerM2K(bowMm, midC) + radiationWPerM2K(midC);
    contact.bare = true;
    contact.highWPerM2K = rockerGasWPerM2K(bowMm, hotC) + radiationWPerM2K(hotC);
    contact.source =
        "own calculation from the measured bow: conductivity of air over the gap (gas "
        "conductivity chart, undated) and radiation; low: even gap of bow and roughness at 130 °C, nominal: "
        "mean of an arch at 180 °C, high: mean of a rocker at 230 °C, 20 µm of roughness";
    return contact;
}

} // namespace stripwright
