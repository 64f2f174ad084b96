#include "rules/placements.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numeric>

namespace stripwright {

namespace {

double poorestContactWPerM2K(const ContactCondition& contact)
{
    double poorest = contact.lowWPerM2K;
    for (const ContactSegment& segment : contact.segments)
        poorest = std::min(poorest, segment.conductanceWPerM2K * contact.lowWPerM2K / contact.nominalWPerM2K);
    return poorest;
}

double edgeOfPlateMm(const BenchSheet& sheet)
{
    const Core& core = sheet.strip.core;
    return 1e3 * std::sqrt(core.conductivityWPerMK * core.thicknessMm * 1e-3 /
                           poorestContactWPerM2K(sheet.contact));
}

std::optional<double> edgeDistanceAt(const BenchSheet& sheet, double startMm, double xMm)
{
    std::optional<double> nearest;
    const double endMm = startMm + sheet.plate.lengthMm;
    if (startMm > 0)
        nearest = xMm - startMm;
    if (endMm < sheet.strip.lengthMm)
        nearest = std::min(nearest.value_or(std::numeric_limits<double>::infinity()), endMm - xMm);
    return nearest;
}

/// Marked sites [first, last] done together, by their place among the marked ones.
struct Group {
    size_t first, last;
};

/// A position of the plate with what melts over it.
struct Position {
    double startMm;
    size_t goodMelting;              ///< Good sites over the plate.
    size_t firstMarked, afterMarked; ///< Marked sites over the plate.

    size_t extraMelts(const Group& group) const
    {
        const size_t doneBefore = std::min(afterMarked, group.first);
        return goodMelting + (doneBefore > firstMarked ? doneBefore - firstMarked : 0);
    }
};

class PlacementSearch {
public:
    explicit PlacementSearch(const BenchSheet& sheet)
        : sheet_(sheet), lengthMm_(sheet.plate.lengthMm), stripMm_(sheet.strip.lengthMm),
          edgeMm_(edgeOfPlateMm(sheet)), hasEvenPart_(lengthMm_ >= 2 * edgeMm_ || lengthMm_ >= stripMm_)
    {
        for (const SiteOnBench& site : sheet.sites) {
            const double x = sheet.strip.siteXMm[static_cast<size_t>(site.site - 1)];
            if (site.state == SiteState::Replace) {
                markedX_.push_back(x);
                marked_.push_back(site.site);
            } else if (site.state == SiteState::Good) {
                goodX_.push_back(x);
            }
        }
        // What melts changes only where an edge of the plate passes a site; between two such positions one
        // stands for all, and lies farthest from both.
        std::vector<double> changes;
        for (const double x : sheet.strip.siteXMm) {
            changes.push_back(x);
            changes.push_back(x - lengthMm_);
        }
        std::sort(changes.begin(), changes.end());
        for (size_t i = 0; i < changes.size(); ++i) {
            positions_.push_back(at(changes[i]));
            if (i + 1 < changes.size() && changes[i + 1] > changes[i])
                positions_.push_back(at(std::midpoint(changes[i], changes[i + 1])));
        }
    }

    // Groups of neighbours are enough: moving the plate on moves both ends of its even part on or leaves
    // them. So if each marked site is done at the last position that has it even, which adds no melt, the
    // position rises with the site. What a group melts depends on it alone, so best beginnings can be added
    // to. In a plan with the fewest placements positions rise by themselves: two neighbouring groups whose
    // positions did not could share either one.
    PlacementPlan plan() const
    {
        struct Best {
            size_t placements = 0, extraMelts = 0, groupStart = 0;
            Position position{};
        };
        std::vector<Best> upTo(marked_.size() + 1);
        for (size_t last = 0; last < marked_.size(); ++last) {
            Best& best = upTo[last + 1];
            best.placements = marked_.size() + 1;
            for (size_t first = last + 1; first-- > 0;) {
                const Best& before = upTo[first];
                if (before.placements + 1 > best.placements)
                    continue;
                const auto position = bestPosition({first, last});
                if (!position)
                    break;
                const size_t melts = before.extraMelts + position->extraMelts({first, last});
                if (before.placements + 1 < best.placements || melts < best.extraMelts)
                    best = {before.placements + 1, melts, first, *position};
            }
        }
        PlacementPlan plan{{}, edgeMm_, hasEvenPart_};
        for (size_t end = marked_.size(); end > 0; end = upTo[end].groupStart)
            plan.placements.push_back(placement({upTo[end].groupStart, end - 1}, upTo[end].position));
        std::reverse(plan.placements.begin(), plan.placements.end());
        return plan;
    }

private:
    Position at(double startMm) const
    {
        const double from = startMm, to = startMm + lengthMm_;
        const auto before = [&](const std::vector<double>& xs, double x) {
            return static_cast<size_t>(std::lower_bound(xs.begin(), xs.end(), x) - xs.begin());
        };
        const auto upTo = [&](const std::vector<double>& xs, double x) {
            return static_cast<size_t>(std::upper_bound(xs.begin(), xs.end(), x) - xs.begin());
        };
        return {startMm, upTo(goodX_, to) - before(goodX_, from), before(markedX_, from), upTo(markedX_, to)};
    }

    double middleMm(const Group& group) const
    {
        return std::midpoint(markedX_[group.first], markedX_[group.last]) - lengthMm_ / 2;
    }

    /// Lowest and highest start of the plate that has the group even; none if the first is the greater.
    std::pair<double, double> startsOf(const Group& group) const
    {
        if (!hasEvenPart_)
            return group.first == group.last ? std::pair{middleMm(group), middleMm(group)}
                                             : std::pair{1.0, 0.0};
        // At least 1 mm under the strip, as a sheet must have it.
        return {std::max(1 - lengthMm_,
                         std::min(stripMm_ - lengthMm_, markedX_[group.last] + edgeMm_ - lengthMm_)),
                std::min(stripMm_ - 1, std::max(0.0, markedX_[group.first] - edgeMm_))};
    }

    double leastEdgeDistanceMm(const Group& group, double startMm) const
    {
        double least = std::numeric_limits<double>::infinity();
        for (const size_t end : {group.first, group.last})
            least = std::min(least, edgeDistanceAt(sheet_, startMm, markedX_[end]).value_or(least));
        return least;
    }

    std::optional<Position> bestPosition(const Group& group) const
    {
        const auto [lowest, highest] = startsOf(group);
        if (lowest > highest)
            return {};
        std::optional<Position> best;
        double bestDistanceMm = 0;
        const auto consider = [&](const Position& position) {
            const size_t melts = position.extraMelts(group);
            if (best && melts > best->extraMelts(group))
                return;
            const double distanceMm = leastEdgeDistanceMm(group, position.startMm);
            if (best && melts == best->extraMelts(group) && distanceMm <= bestDistanceMm)
                return;
            best = position;
            bestDistanceMm = distanceMm;
        };
        consider(at(std::clamp(middleMm(group), lowest, highest)));
        consider(at(lowest));
        consider(at(highest));
        auto position = std::lower_bound(positions_.begin(), positions_.end(), lowest,
                                         [](const Position& one, double x) { return one.startMm < x; });
        for (; position != positions_.end() && position->startMm <= highest; ++position)
            consider(*position);
        return best;
    }

    Placement placement(const Group& group, Position position) const
    {
        // The hands set the plate by a scale: a round figure is better if it does as well.
        const auto [lowest, highest] = startsOf(group);
        for (const double stepsPerMm : {10.0, 2.0}) {
            const Position round = at(std::round(position.startMm * stepsPerMm) / stepsPerMm);
            if (round.startMm >= lowest && round.startMm <= highest &&
                round.extraMelts(group) <= position.extraMelts(group))
                position = round;
        }
        Placement placement{.plateStartMm = position.startMm};
        placement.sites.assign(marked_.begin() + static_cast<long>(group.first),
                               marked_.begin() + static_cast<long>(group.last) + 1);
        placement.extraMelts = static_cast<int>(position.extraMelts(group));
        if (const double distance = leastEdgeDistanceMm(group, position.startMm); std::isfinite(distance))
            placement.leastEdgeDistanceMm = distance;
        return placement;
    }

    const BenchSheet& sheet_;
    double lengthMm_, stripMm_, edgeMm_;
    bool hasEvenPart_;
    std::vector<double> goodX_, markedX_;
    std::vector<int> marked_;
    std::vector<Position> positions_; ///< By rising start.
};

} // namespace

PlacementPlan placementsFor(const BenchSheet& sheet)
{
    return PlacementSearch(sheet).plan();
}

std::optional<double> edgeDistanceMm(const BenchSheet& sheet, int site)
{
    return edgeDistanceAt(sheet, sheet.plateStartMm, sheet.strip.siteXMm[static_cast<size_t>(site - 1)]);
}

} // namespace stripwright
