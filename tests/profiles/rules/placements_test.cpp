#include "rules/placements.h"

#include "plain_strip.h"

#include <algorithm>
#include <bit>
#include <cmath>
#include <gtest/gtest.h>
#include <map>
#include <numeric>
#include <random>

namespace stripwright {
namespace {

/// A strip with sites there, some marked, and a plate and contact that cool for `edgeMm` at the edges.
BenchSheet stripWith(double lengthMm, const std::vector<double>& siteXMm, const std::vector<int>& marked,
                     double plateMm, double edgeMm)
{
    BenchSheet sheet = test::plainStrip(lengthMm, 12, 1);
    sheet.strip.siteXMm = siteXMm;
    for (int site = 1; site <= static_cast<int>(siteXMm.size()); ++site) {
        sheet.sites.push_back({site});
        if (std::find(marked.begin(), marked.end(), site) != marked.end())
            sheet.sites.back().state = SiteState::Replace;
    }
    sheet.plate.lengthMm = plateMm;
    const double ktWPerK = sheet.strip.core.conductivityWPerMK * sheet.strip.core.thicknessMm * 1e-3;
    sheet.contact.lowWPerM2K = ktWPerK / (edgeMm * edgeMm * 1e-6);
    sheet.contact.nominalWPerM2K = sheet.contact.highWPerM2K = 2 * sheet.contact.lowWPerM2K;
    return sheet;
}

std::vector<double> pitched(double firstMm, double pitchMm, int count)
{
    std::vector<double> all;
    for (int i = 0; i < count; ++i)
        all.push_back(firstMm + i * pitchMm);
    return all;
}

std::vector<std::vector<int>> groupsOf(const PlacementPlan& plan)
{
    std::vector<std::vector<int>> groups;
    for (const Placement& placement : plan.placements)
        groups.push_back(placement.sites);
    return groups;
}

int extraMeltsOf(const PlacementPlan& plan)
{
    return std::accumulate(plan.placements.begin(), plan.placements.end(), 0,
                           [](int sum, const Placement& one) { return sum + one.extraMelts; });
}

TEST(Placements, EdgeIsTheDecayLengthAtThePoorestContact)
{
    BenchSheet sheet = test::plainStrip(400, 12, 1.5, 140);
    sheet.contact.lowWPerM2K = 300;
    sheet.contact.nominalWPerM2K = 600;
    EXPECT_NEAR(placementsFor(sheet).edgeMm, 26.4575, 1e-4); // sqrt(140 * 0.0015 / 300) m
    sheet.contact.segments = {{0, 400, 300}};                // Half of the nominal, so 150 at its lowest.
    EXPECT_NEAR(placementsFor(sheet).edgeMm, 37.4166, 1e-4);
}

TEST(Placements, CentreALoneSiteThatHasNoNeighbourNear)
{
    const PlacementPlan plan = placementsFor(stripWith(420, {20, 100, 200}, {2}, 60, 10));
    ASSERT_EQ(plan.placements.size(), 1u);
    EXPECT_EQ(plan.placements[0].plateStartMm, 70);
    EXPECT_EQ(plan.placements[0].extraMelts, 0);
    EXPECT_EQ(plan.placements[0].leastEdgeDistanceMm, 30);
}

TEST(Placements, LieOffCentreWhereThatSparesAGoodJoint)
{
    // Sites 25 mm apart: a centred plate of 52 mm melts both neighbours, one moved off by over 1 mm only one.
    const BenchSheet sheet = stripWith(300, pitched(50, 25, 9), {4}, 52, 10);
    const PlacementPlan plan = placementsFor(sheet);
    ASSERT_EQ(plan.placements.size(), 1u);
    EXPECT_EQ(plan.placements[0].extraMelts, 1);
    EXPECT_GT(std::abs(plan.placements[0].plateStartMm + 26 - 125), 1);
}

TEST(Placements, AreTwoWhereTheEvenPartIsTooShortForBothSites)
{
    const std::vector<double> sites = {100, 141};
    EXPECT_EQ(placementsFor(stripWith(300, sites, {1, 2}, 60, 10)).placements.size(), 2u);
    EXPECT_EQ(placementsFor(stripWith(300, sites, {1, 2}, 61, 10)).placements.size(), 1u);
}

TEST(Placements, CountARefittedSiteAsAMeltAndADeadOneNot)
{
    // Even part 20 mm, sites 22 mm apart: a placement of 40 mm need not melt the next site, one of 80 mm
    // must.
    const PlacementPlan apart = placementsFor(stripWith(300, {120, 142}, {1, 2}, 40, 10));
    EXPECT_EQ(extraMeltsOf(apart), 0);
    // Each site is within 30 mm of the middle at best and the plate reaches 40: each placement melts both.
    const PlacementPlan both = placementsFor(stripWith(300, {120, 142}, {1, 2}, 80, 30));
    ASSERT_EQ(both.placements.size(), 2u);
    EXPECT_EQ(both.placements[0].extraMelts, 0);
    EXPECT_EQ(both.placements[1].extraMelts, 1);
}

TEST(Placements, LongerPlateThanStripNeedsOneWhateverIsMarked)
{
    for (const double edgeMm : {10.0, 200.0}) {
        const PlacementPlan plan = placementsFor(stripWith(200, pitched(5, 19, 11), {1, 4, 11}, 210, edgeMm));
        ASSERT_EQ(plan.placements.size(), 1u);
        EXPECT_TRUE(plan.hasEvenPart);
        EXPECT_LE(plan.placements[0].plateStartMm, 0);
        EXPECT_EQ(plan.placements[0].extraMelts, 8);
        EXPECT_FALSE(plan.placements[0].leastEdgeDistanceMm);
    }
}

TEST(Placements, OverhangTheStripsEndToReachItsEndSites)
{
    const PlacementPlan plan = placementsFor(stripWith(300, {2, 150, 298}, {1, 3}, 60, 15));
    ASSERT_EQ(groupsOf(plan), (std::vector<std::vector<int>>{{1}, {3}}));
    EXPECT_LE(plan.placements[0].plateStartMm, 0);
    EXPECT_GE(plan.placements[1].plateStartMm + 60, 300);
    for (const Placement& placement : plan.placements)
        EXPECT_GE(placement.leastEdgeDistanceMm, 15);
}

TEST(Placements, DoEachSiteOverTheMiddleOfAPlateThatIsAllEdge)
{
    const PlacementPlan plan = placementsFor(stripWith(300, {40, 50, 250}, {1, 2, 3}, 30, 16));
    EXPECT_FALSE(plan.hasEvenPart);
    ASSERT_EQ(plan.placements.size(), 3u);
    EXPECT_EQ(plan.placements[0].plateStartMm, 25);
    EXPECT_EQ(plan.placements[1].plateStartMm, 35);
    EXPECT_EQ(plan.placements[1].extraMelts, 1); // Site 1, refitted before.
    EXPECT_EQ(plan.placements[2].plateStartMm, 235);
}

TEST(Placements, AreNoneWhereNothingIsMarked)
{
    EXPECT_TRUE(placementsFor(stripWith(300, {40, 50}, {}, 60, 16)).placements.empty());
}

/// What a position of the plate does, by the definitions alone; a bit a site.
struct Tried {
    unsigned even = 0, melting = 0;
};

Tried tried(const BenchSheet& sheet, double startMm, double edgeMm, bool hasEvenPart)
{
    Tried here;
    const double endMm = startMm + sheet.plate.lengthMm;
    for (size_t i = 0; i < sheet.sites.size(); ++i) {
        const double x = sheet.strip.siteXMm[i];
        const bool clearOfStart = startMm <= 0 || x - startMm >= edgeMm - 1e-9;
        const bool clearOfEnd = endMm >= sheet.strip.lengthMm || endMm - x >= edgeMm - 1e-9;
        const bool even =
            hasEvenPart ? clearOfStart && clearOfEnd : std::abs(std::midpoint(startMm, endMm) - x) < 1e-9;
        const bool melts = x >= startMm - 1e-9 && x <= endMm + 1e-9;
        here.even |= unsigned(even && melts) << i;
        here.melting |= unsigned(melts) << i;
    }
    return here;
}

std::vector<double> positionsToTry(const BenchSheet& sheet, double edgeMm)
{
    const double plateMm = sheet.plate.lengthMm, stripMm = sheet.strip.lengthMm;
    std::vector<double> all = {0, stripMm - plateMm};
    for (const double x : sheet.strip.siteXMm)
        all.insert(all.end(), {x, x - plateMm, x - edgeMm, x + edgeMm - plateMm, x - plateMm / 2});
    std::sort(all.begin(), all.end());
    for (size_t i = 0, count = all.size(); i + 1 < count; ++i)
        all.push_back(std::midpoint(all[i], all[i + 1]));
    for (double start = 1 - plateMm; start <= stripMm - 1; start += 1)
        all.push_back(start);
    std::erase_if(all, [&](double start) { return start < 1 - plateMm || start > stripMm - 1; });
    std::sort(all.begin(), all.end());
    return all;
}

using Cost = std::pair<int, int>; // Placements, extra melts.

/// Cheapest way over every ordered partition of the marked sites, neighbours or not, at rising positions.
Cost bestByTrial(const BenchSheet& sheet, double edgeMm, bool hasEvenPart)
{
    unsigned marked = 0;
    for (const int site : sheet.targets())
        marked |= 1u << (site - 1);
    const unsigned good = ((1u << sheet.sites.size()) - 1) & ~marked;
    std::map<unsigned, Cost> best = {{0u, {0, 0}}}; // By the sites done so far.
    for (const double startMm : positionsToTry(sheet, edgeMm)) {
        const Tried here = tried(sheet, startMm, edgeMm, hasEvenPart);
        // Several placements at one position are never fewer, so one step a position is enough.
        const auto before = best;
        for (const auto& [done, cost] : before) {
            const unsigned open = here.even & marked & ~done;
            const int melts = std::popcount(here.melting & (good | done));
            for (unsigned group = open; group; group = (group - 1) & open) {
                const Cost now = {cost.first + 1, cost.second + melts};
                const auto [entry, isNew] = best.insert({done | group, now});
                if (!isNew)
                    entry->second = std::min(entry->second, now);
            }
        }
    }
    return best.at(marked);
}

void expectHolds(const BenchSheet& sheet, const PlacementPlan& plan)
{
    unsigned marked = 0, done = 0;
    for (const int site : sheet.targets())
        marked |= 1u << (site - 1);
    double before = -1e9;
    for (const Placement& placement : plan.placements) {
        EXPECT_GT(placement.plateStartMm, before);
        before = placement.plateStartMm;
        const Tried here = tried(sheet, placement.plateStartMm, plan.edgeMm, plan.hasEvenPart);
        unsigned group = 0;
        for (const int site : placement.sites)
            group |= 1u << (site - 1);
        EXPECT_EQ(group & ~here.even, 0u);
        EXPECT_EQ(group & done, 0u);
        EXPECT_EQ(placement.extraMelts, std::popcount(here.melting & (~marked | done)));
        done |= group;
    }
    EXPECT_EQ(done, marked);
}

TEST(Placements, AreAsFewAndMeltAsLittleAsAnyFoundByTryingAll)
{
    std::mt19937 random(20240611);
    const auto upTo = [&](int from, int to) { return std::uniform_int_distribution(from, to)(random); };
    int withSeveral = 0, withMelts = 0, withoutEvenPart = 0;
    for (int trial = 0; trial < 400; ++trial) {
        const int lengthMm = upTo(60, 300), count = upTo(3, 12);
        std::vector<double> places = pitched(0.5, 0.5, 2 * lengthMm - 2), siteXMm;
        std::sample(places.begin(), places.end(), std::back_inserter(siteXMm), count, random);
        std::vector<int> sites(static_cast<size_t>(count)), marked;
        std::iota(sites.begin(), sites.end(), 1);
        std::sample(sites.begin(), sites.end(), std::back_inserter(marked), upTo(1, 7), random);
        const BenchSheet sheet = stripWith(lengthMm, siteXMm, marked, upTo(15, 110), upTo(30, 220) * 0.1013);

        const PlacementPlan plan = placementsFor(sheet);
        SCOPED_TRACE("trial " + std::to_string(trial));
        expectHolds(sheet, plan);
        const Cost best = bestByTrial(sheet, plan.edgeMm, plan.hasEvenPart);
        EXPECT_EQ(static_cast<int>(plan.placements.size()), best.first);
        EXPECT_EQ(extraMeltsOf(plan), best.second);
        withSeveral += best.first > 1;
        withMelts += best.second > 0;
        withoutEvenPart += !plan.hasEvenPart;
    }
    // The trials are worth something only if they differ.
    EXPECT_GT(withSeveral, 100);
    EXPECT_GT(withMelts, 100);
    EXPECT_GT(withoutEvenPart, 10);
}

} // namespace
} // namespace stripwright
