#include "materials/bench_sheet.h"

#include <algorithm>
#include <cmath>
#include <iterator>

namespace stripwright {

bool solders(HeatKind heat)
{
    return heat == HeatKind::Swap || heat == HeatKind::Fit;
}

bool meltsJoints(HeatKind heat)
{
    return solders(heat) || heat == HeatKind::Remove;
}

bool BenchSheet::lensIsThere(int site) const
{
    return lensStaysOn(site) || lensToRelease(site);
}

bool BenchSheet::lensToRelease(int site) const
{
    if (heat != HeatKind::Release || !strip.lens || site < 1 || site > static_cast<int>(sites.size()))
        return false;
    const SiteOnBench& here = sites[static_cast<size_t>(site - 1)];
    return here.lens == LensState::Release ||
           (here.state == SiteState::Replace && here.lens == LensState::On);
}

bool BenchSheet::lensStaysOn(int site) const
{
    if (!strip.lens || site < 1 || site > static_cast<int>(sites.size()))
        return false;
    const SiteOnBench& here = sites[static_cast<size_t>(site - 1)];
    return here.lens == LensState::On && here.state == SiteState::Good;
}

std::vector<int> BenchSheet::targets() const
{
    std::vector<int> marked;
    for (const SiteOnBench& site : sites)
        if (heat == HeatKind::Release ? lensToRelease(site.site) : site.state == SiteState::Replace)
            marked.push_back(site.site);
    return marked;
}

Air stillAir(double stripWidthMm, double ambientC)
{
    struct Row {
        double widthMm, up, down;
    };
    // Natural convection in W/m²K at a surface of 150 °C in air of 25 °C, film properties, L = width / 2.
    static constexpr Row rows[] = {{10, 18, 8}, {15, 16, 8}, {20, 15, 7}, {30, 13, 6}};
    constexpr double sideWPerM2K = 10; // Own estimate: a vertical face of 1 mm lies between both.
    const double width = std::clamp(stripWidthMm, rows[0].widthMm, std::rbegin(rows)->widthMm);
    const Row* upper = std::find_if(std::begin(rows) + 1, std::end(rows) - 1,
                                    [&](const Row& row) { return width <= row.widthMm; });
    const Row* lower = upper - 1;
    const double share = (width - lower->widthMm) / (upper->widthMm - lower->widthMm);
    return {.ambientC = ambientC,
            .filmTopWPerM2K = std::lerp(lower->up, upper->up, share),
            .filmUndersideWPerM2K = std::lerp(lower->down, upper->down, share),
            .filmSideWPerM2K = sideWPerM2K};
}

} // namespace stripwright
