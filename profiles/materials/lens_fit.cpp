#include "materials/lens_fit.h"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <numbers>

namespace stripwright {

namespace {

constexpr double roundingMm = 1e-9;

std::string mmText(double value)
{
    char text[32];
    std::snprintf(text, sizeof text, "%.2f", value);
    std::string figure = text;
    figure.resize(figure.find_last_not_of('0') + 1);
    if (figure.ends_with('.'))
        figure.pop_back();
    return figure + " mm";
}

double besideFootCircleMm(const Lens& lens)
{
    return lens.footDiameterMm + 2 * footEdgeMarginMm;
}

bool landsAt(const StripType& strip, double x, double rotationDeg)
{
    const Lens& lens = *strip.lens;
    const double keepMm = besideFootCircleMm(lens) / 2 - roundingMm;
    for (int foot = 0; foot < lens.footCount; ++foot) {
        const double angle = (rotationDeg + 360.0 * foot / lens.footCount) * std::numbers::pi / 180;
        const double along = x + lens.footCircleMm / 2 * std::cos(angle);
        const double across = lens.footCircleMm / 2 * std::sin(angle);
        if (std::abs(across) + keepMm > strip.widthMm / 2 || along < keepMm ||
            along + keepMm > strip.lengthMm)
            return false;
    }
    return true;
}

} // namespace

double widthAtAnyRotationMm(const Lens& lens)
{
    return lens.footCircleMm + besideFootCircleMm(lens);
}

double widthAtBestRotationMm(const Lens& lens)
{
    const int m = lens.footCount % 2 == 0 ? lens.footCount : 2 * lens.footCount;
    return lens.footCircleMm * std::cos(std::numbers::pi / m) + besideFootCircleMm(lens);
}

double leastFootCircleMm(const Lens& lens, const LedPackage& led)
{
    const double diagonalMm =
        std::max(std::hypot(led.lengthMm, led.widthMm), std::hypot(led.padLengthMm, led.padWidthMm));
    return diagonalMm + 2 * footToLedMm + lens.footDiameterMm;
}

std::optional<Rotations> rotationsThatLand(const StripType& strip, int site)
{
    constexpr int perDegree = 4;
    const int feet = strip.lens->footCount, turn = 360 * perDegree; // One turn of the grid is 360 / feet.
    const double x = strip.siteXMm.at(static_cast<size_t>(site - 1)), stepDeg = 1.0 / perDegree / feet;
    std::vector<bool> lands(turn);
    for (int i = 0; i < turn; ++i)
        lands[i] = landsAt(strip, x, i * stepDeg);
    if (std::find(lands.begin(), lands.end(), false) == lands.end())
        return Rotations{0, 180.0 / feet};
    std::optional<Rotations> widest;
    for (int start = 0; start < turn; ++start) {
        if (!lands[start] || lands[(start + turn - 1) % turn])
            continue;
        int last = start;
        while (lands[(last + 1) % turn])
            ++last;
        double middleDeg = (start + last) / 2.0 * stepDeg;
        if (middleDeg > 180.0 / feet)
            middleDeg -= 360.0 / feet;
        const Rotations range{middleDeg, (last - start) / 2.0 * stepDeg};
        if (!widest || range.halfWidthDeg > widest->halfWidthDeg + stepDeg / 4 ||
            (range.halfWidthDeg > widest->halfWidthDeg - stepDeg / 4 &&
             std::abs(range.middleDeg) < std::abs(widest->middleDeg)))
            widest = range;
    }
    return widest;
}

std::vector<std::string> lensMisfits(const StripType& strip)
{
    std::vector<std::string> misfits;
    if (!strip.lens)
        return misfits;
    const Lens& lens = *strip.lens;
    const std::string feet = "Feet on a circle of " + mmText(lens.footCircleMm);
    if (const double leastMm = leastFootCircleMm(lens, strip.led); lens.footCircleMm < leastMm - roundingMm)
        misfits.push_back(feet + " stand on the LED or too near it: they need a circle of " +
                          mmText(leastMm) + ".");
    if (widthAtBestRotationMm(lens) > strip.widthMm + roundingMm) {
        misfits.push_back(feet + " need a strip of " + mmText(widthAtAnyRotationMm(lens)) + " (" +
                          mmText(widthAtBestRotationMm(lens)) + " at the best rotation); this one is " +
                          mmText(strip.widthMm) + " wide.");
        return misfits;
    }
    const double roomMm = widthAtAnyRotationMm(lens) / 2;
    for (size_t i = 0; i < strip.siteXMm.size(); ++i) {
        const double toEndMm = std::min(strip.siteXMm[i], strip.lengthMm - strip.siteXMm[i]);
        if (toEndMm >= roomMm || rotationsThatLand(strip, static_cast<int>(i) + 1))
            continue;
        misfits.push_back(feet + " land at no rotation at site " + std::to_string(i + 1) + ", " +
                          mmText(toEndMm) + " from the strip's end; " + mmText(roomMm) +
                          " is enough for every rotation.");
        break; // Sites beside it are wrong with it.
    }
    return misfits;
}

} // namespace stripwright
