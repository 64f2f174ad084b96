#include "random_boards.h"

#include "planner/plan_sheet.h"

#include <nlohmann/json.hpp>

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <numbers>

namespace stripwright::figures {

Dice::Dice(std::uint64_t seed) : state_(seed * 0x9e3779b97f4a7c15u + 1)
{
    for (int i = 0; i < 8; ++i)
        between(0, 1);
}

// SplitMix64 (Steele, Lea, Flood, OOPSLA 2014).
double Dice::between(double low, double high)
{
    std::uint64_t z = state_ += 0x9e3779b97f4a7c15u;
    z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9u;
    z = (z ^ (z >> 27)) * 0x94d049bb133111ebu;
    z ^= z >> 31;
    return low + (high - low) * static_cast<double>(z >> 11) * 0x1p-53;
}

double Dice::normal()
{
    const double radius = std::sqrt(-2 * std::log(1 - between(0, 1)));
    return radius * std::cos(2 * std::numbers::pi * between(0, 1));
}

namespace {

struct Job {
    const char *strip, *plate, *contact, *paste;
};

// Every strip type of the shelf, each kind of contact, hot alloys and cool ones, small plates and large.
constexpr Job jobs[] = {
    {"growbar-300-10", "bench-plate-100", "resting", "sn42bi57.6ag0.4-no-clean"},
    {"growbar-420-12", "bench-plate-100", "clamped-flat", "sac305-no-clean"},
    {"growbar-560-20", "bench-plate-120", "polyimide-film", "sac305-no-clean"},
    {"growbar-600-15", "bench-plate-200", "clamped-flat", "sn42bi57.6ag0.4-no-clean"},
    {"growbar-900-18", "bench-plate-200", "resting", "sac305-no-clean"},
    {"growbar-1200-24", "bench-plate-120", "graphite-foil", "sac305-no-clean"},
};

BenchSheet sheetOf(const Shelf& shelf, const Job& job, HeatKind heat)
{
    BenchSheet sheet;
    sheet.title = job.strip;
    sheet.heat = heat;
    sheet.paste = *findById(shelf.pastes, job.paste);
    sheet.oldAlloy = sheet.paste.alloy;
    sheet.strip = *findById(shelf.strips, job.strip);
    sheet.plate = *findById(shelf.plates, job.plate);
    sheet.contact = *findById(shelf.contacts, job.contact);
    sheet.air = stillAir(sheet.strip.widthMm, 23);
    const size_t middle = sheet.strip.siteXMm.size() / 2;
    sheet.plateStartMm = std::round(sheet.strip.siteXMm[middle] - sheet.plate.lengthMm / 2);
    for (size_t i = 0; i < sheet.strip.siteXMm.size(); ++i) {
        SiteOnBench site;
        site.site = static_cast<int>(i) + 1;
        const double fromMiddleMm = std::abs(sheet.strip.siteXMm[i] - sheet.strip.siteXMm[middle]);
        if (fromMiddleMm < sheet.plate.lengthMm / 2 + 130)
            site.lens = LensState::Off;
        if (i + 1 >= middle && i <= middle + 1 && fromMiddleMm < sheet.plate.lengthMm / 2 - 10)
            site.state = SiteState::Replace;
        sheet.sites.push_back(site);
    }
    sheet.stripSensorSite = static_cast<int>(middle) + 1;
    return readBenchSheet(toJson(sheet), "made here", "", {});
}

} // namespace

std::vector<HeatPlan> plansOf(const Shelf& shelf, HeatKind heat)
{
    std::vector<HeatPlan> plans;
    for (const Job& job : jobs)
        plans.push_back(planSheet(sheetOf(shelf, job, heat)));
    return plans;
}

Board randomBoard(const HeatPlan& plan, std::uint64_t seed, int number, Seating seating)
{
    constexpr double share95 = 1.6449;
    Dice dice(seed * 1000003 + static_cast<std::uint64_t>(number));
    Board board;
    board.truth = plan.sheet;
    const ContactCondition& contact = plan.sheet.contact;
    const double z = dice.normal();
    const double side =
        z < 0 ? contact.nominalWPerM2K / contact.lowWPerM2K : contact.highWPerM2K / contact.nominalWPerM2K;
    board.contactFactor = std::pow(side, z / share95);
    if (seating == Seating::Unseated)
        board.contactFactor = dice.between(0.1, 0.3) * contact.lowWPerM2K / contact.nominalWPerM2K;

    // Waves of some 15 mm, a fifth high: a strip is flat to tens of micrometres, and each of them counts.
    constexpr double waveMm = 15, waveSd = 0.2;
    const double fromMm = std::max(0.0, plan.sheet.plateStartMm);
    const double toMm = std::min(plan.sheet.plateEndMm(), plan.sheet.strip.lengthMm);
    for (double atMm = fromMm; atMm < toMm - 1; atMm += waveMm)
        board.truth.contact.segments.push_back(
            {atMm, std::min(toMm, atMm + waveMm),
             contact.nominalWPerM2K * board.contactFactor * std::exp(waveSd * dice.normal())});
    Air& air = board.truth.air;
    const double film = std::exp(air.filmRangeShare * dice.normal());
    for (double* each : {&air.filmTopWPerM2K, &air.filmUndersideWPerM2K, &air.filmSideWPerM2K})
        *each *= film;
    air.ambientC += air.ambientRangeK / share95 * dice.normal();
    board.power = 1 + 0.05 * dice.normal();
    board.losses = std::exp(0.1 * dice.normal());
    board.plateOffsetK = 2 * dice.normal();
    board.plateShare = 0.01 * dice.normal();
    board.gradientPerMm = 0.003 / 30 * dice.normal();
    board.sensorOffsetK = 1.5 * dice.normal();
    board.sensorShare = -0.005 + 0.01 * dice.normal();
    board.noiseSeed = static_cast<std::uint64_t>(dice.between(0, 1e9));
    return board;
}

} // namespace stripwright::figures
