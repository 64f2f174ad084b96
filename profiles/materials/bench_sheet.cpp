#include "materials/bench_sheet.h"

#include "materials/free_convection.h"

#include <algorithm>

namespace stripwright {

bool solders(HeatKind heat)
{
    return heat == HeatKind::Swap || heat == HeatKind::Fit;
}

bool meltsJoints(HeatKind heat)
{
    return solders(heat) || heat == HeatKind::Remove;
}

Hands handsOf(Hands::Pace pace)
{
    switch (pace) {
    case Hands::Pace::Quick:
        return {pace, 5, 3, 8};
    case Hands::Pace::Careful:
        return {pace, 5, 8, 25};
    case Hands::Pace::Usual:
    case Hands::Pace::Measured:
        break;
    }
    return {.pace = pace};
}

bool BenchSheet::spareIsClear() const
{
    return !spareMm || (*spareMm <= strip.lengthMm &&
                        (*spareMm <= plateStartMm - spareClearMm || *spareMm >= plateEndMm() + spareClearMm));
}

void BenchSheet::movePlateTo(double startMm)
{
    plateStartMm = startMm;
    if (!spareIsClear())
        spareMm.reset();
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

bool BenchSheet::isTarget(int site) const
{
    const std::vector<int> all = targets();
    return std::find(all.begin(), all.end(), site) != all.end();
}

bool BenchSheet::overridden(const std::string& name) const
{
    return std::find(overrides.begin(), overrides.end(), name) != overrides.end();
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
    constexpr double surfaceC = 150, airC = 25;
    constexpr double sideWPerM2K = 10; // Own estimate: a vertical face of 1 mm lies between both.
    const FreeConvection film = freeConvection(stripWidthMm, surfaceC, airC);
    return {.ambientC = ambientC,
            .filmTopWPerM2K = film.upWPerM2K,
            .filmUndersideWPerM2K = film.downWPerM2K,
            .filmSideWPerM2K = sideWPerM2K};
}

} // namespace stripwright
