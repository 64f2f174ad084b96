#include "dwell_bound.h"
#include "random_sheets.h"

#include "planner/heat_kinds.h"
#include "planner/plan_sheet.h"
#include "rules/hands.h"
#include "search/plate_reference.h"

#include <algorithm>
#include <atomic>
#include <chrono>
#include <cmath>
#include <cstdio>
#include <cstring>
#include <future>
#include <set>

using namespace stripwright;
using Eigen::Index;
using Eigen::VectorXd;

namespace {

constexpr double boundSteps[] = {0.02, 0.05, 0.1}; ///< Over the best found.

struct Found {
    int number = 0;
    BenchSheet sheet;
    HeatPlan plan;
    std::set<std::string> givenUp; ///< Limits of parts that the plan breaks: they do not count in either.
    bool counts(const Limit& limit) const { return !limit.habit && !givenUp.count(limit.id); }
    double planned = 0; ///< Worst margin of the plan.
    double replayed =
        0; ///< Same for the nearest curve that the plate's heater can drive, by the whole model.
    bool endsLiquid = false; ///< The plan's curves end before a target is solid: its own margins are not all.
    double best = 0;         ///< Worst margin of the best power found, by the whole heat model.
    double program = 0;      ///< The same by superposition: what the last linear program promised.
    std::optional<double> bound;   ///< No power reaches this, by the relaxation; none of those tried: absent.
    bool boundContradicts = false; ///< The relaxation calls out of reach what was reached.
    std::string bestStart;
    std::array<double, 3> byStart{};
    JudgedPower judged;
    double planS = 0, searchS = 0, boundS = 0;
    /// Room of more than half a window on every side is spent on habits, by a plan not by the programs.
    static double enough(double margin) { return std::min(margin, 0.99); }
    double gap() const { return enough(best) - enough(planned); }
};

const MarginRow* worstRow(const Found& found, const std::vector<MarginRow>& rows)
{
    const MarginRow* worst = nullptr;
    for (const MarginRow& row : rows)
        if (found.counts(row.limit) && (!worst || row.normalisedMargin < worst->normalisedMargin))
            worst = &row;
    return worst;
}

double at(const std::vector<double>& valueC, double seconds, double beforeC)
{
    if (seconds <= 0)
        return beforeC;
    const auto i = static_cast<size_t>(seconds);
    if (i + 1 >= valueC.size())
        return valueC.back();
    return std::lerp(valueC[i], valueC[i + 1], seconds - static_cast<double>(i));
}

/// A joint curve as its paste is drawn: ramp, soak, ramp, top at heater-off.
VectorXd pasteCurve(const BenchSheet& sheet, const PowerGrid& grid, double soakShare, double rampShare)
{
    const Paste& paste = sheet.paste;
    const PlateType& plate = sheet.plate;
    const double ambientC = sheet.air.ambientC;
    const double lowC = paste.soakBandC.min.value_or(0.7 * paste.alloy.solidusC);
    const double highC = paste.soakBandC.max.value_or(paste.alloy.solidusC);
    const double soakS =
        std::lerp(paste.soakTimeS.min.value_or(0), paste.soakTimeS.max.value_or(90), soakShare);
    const double peakC = (paste.peakC.min.value_or(paste.alloy.liquidusC + 15) +
                          paste.peakC.max.value_or(paste.alloy.liquidusC + 35)) /
                         2;
    const double ramp = std::min(rampShare * paste.rampCPerS.max.value_or(2),
                                 0.6 * plannedPowerShare * plate.powerW / plate.heatCapacityJPerK);
    const auto hands = handWorkOf(sheet);
    const double topS = hands ? hands->needS() : 4;
    const double rampS[] = {(lowC - ambientC) / ramp, std::max(soakS, 1.0), (peakC - highC) / ramp, topS};
    const double levelC[] = {ambientC, lowC, highC, peakC, peakC};
    VectorXd wantedC(grid.samples());
    for (Index n = 0; n < grid.samples(); ++n) {
        double toGoS = grid.offS() - static_cast<double>(n) * PowerGrid::gridS;
        int leg = 3;
        while (leg >= 0 && toGoS > rampS[leg])
            toGoS -= rampS[leg--];
        wantedC[n] =
            leg < 0 ? ambientC : std::lerp(levelC[leg + 1], levelC[leg], std::max(0.0, toGoS) / rampS[leg]);
    }
    return wantedC;
}

double seconds(std::chrono::steady_clock::time_point from)
{
    return std::chrono::duration<double>(std::chrono::steady_clock::now() - from).count();
}

constexpr struct {
    HeatKind heat;
    SwapWay way;
    const char* name;
} kinds[] = {{HeatKind::Fit, SwapWay::SolderLeft, "fit"},
             {HeatKind::Swap, SwapWay::SolderLeft, "swap, solder left"},
             {HeatKind::Remove, SwapWay::SolderLeft, "remove"},
             {HeatKind::Swap, SwapWay::WarmedLed, "swap, warmed LED"},
             {HeatKind::Release, SwapWay::SolderLeft, "release"},
             {HeatKind::Swap, SwapWay::ChargeLaidCold, "swap, charge laid cold"},
             {HeatKind::Swap, SwapWay::TinnedLed, "swap, tinned LED"}};

/// Kinds by turns. A bake takes hours, which pieces of 4 s do not hold; two heats are a removal and a fit.
BenchSheet sheetOf(const Shelf& shelf, std::uint64_t seed, int number)
{
    BenchSheet sheet = randomSheet(shelf, seed, number);
    const auto& kind = kinds[static_cast<size_t>(number - 1) % std::size(kinds)];
    sheet.heat = kind.heat;
    sheet.way = kind.way;
    for (SiteOnBench& site : sheet.sites)
        if (site.state == SiteState::Replace && kind.heat == HeatKind::Release)
            site.lens = LensState::On;
    // What a rule refuses has no plan to compare: no lens to release, a strip too short to warm an LED on.
    if (sheet.targets().empty() || !rulesOf(sheet.heat).refusals(sheet).empty()) {
        sheet.heat = number % 2 ? HeatKind::Swap : HeatKind::Remove;
        sheet.way = SwapWay::SolderLeft;
    }
    return sheet;
}

const char* nameOf(const BenchSheet& sheet)
{
    for (const auto& kind : kinds)
        if (kind.heat == sheet.heat && kind.way == sheet.way)
            return kind.name;
    return "";
}

Found search(const BenchSheet& drawn, int number)
{
    Found found;
    found.number = number;
    found.sheet = drawn;
    const BenchSheet& sheet = found.sheet;
    auto clock = std::chrono::steady_clock::now();
    found.plan = planSheet(found.sheet);
    found.planS = seconds(clock);
    clock = std::chrono::steady_clock::now();
    for (const MarginRow& row : found.plan.margins)
        if (!row.limit.habit && row.margin < 0 && row.limit.protects)
            found.givenUp.insert(row.limit.id);
    found.planned = worstRow(found, found.plan.margins)->normalisedMargin;
    for (const PlanCurve& curve : found.plan.curves)
        for (int target : sheet.targets())
            if (curve.station == jointOf(target))
                for (const auto* valueC : {&curve.lowC, &curve.nominalC, &curve.highC})
                    found.endsLiquid = found.endsLiquid || valueC->back() > sheet.paste.countLiquidusC;

    // Without a fan heater-off is only the last moment of power: leave room behind the plan's.
    const double roomS = sheet.cooling.fan ? 0 : 32;
    PowerGrid grid;
    grid.pieces = std::clamp(
        static_cast<int>(std::ceil((found.plan.heaterOffS + 60 + roomS) / PowerGrid::pieceS)), 90, 170);
    const double aboutC = 0.75 * sheet.paste.alloy.liquidusC + 0.25 * sheet.air.ambientC;
    const PowerResponse response(sheet, grid, aboutC);
    const auto counts = [&](const Limit& limit) { return found.counts(limit); };
    const auto near = [&](const Limit& limit) {
        for (const MarginRow& row : found.plan.margins)
            if (row.limit.station == limit.station && row.normalisedMargin < 1.3)
                return true;
        return false;
    };
    MarginSearch search(sheet, grid, response, found.plan.hands, counts, near);

    VectorXd plateC(grid.samples());
    const double lateS = grid.offS() - roomS - found.plan.heaterOffS;
    for (Index n = 0; n < grid.samples(); ++n)
        plateC[n] =
            at(found.plan.plateC, static_cast<double>(n) * PowerGrid::gridS - lateS, sheet.air.ambientC);
    const int site = sheet.targets().front();
    const VectorXd shortC = pasteCurve(sheet, grid, 0.3, 0.75), longC = pasteCurve(sheet, grid, 0.7, 0.5);
    const std::pair<const char*, std::function<VectorXd()>> starts[] = {
        {"plan", [&] { return search.powerForPlate(plateC); }},
        {"short soak", [&] { return search.powerForJoint(site, shortC); }},
        {"long soak", [&] { return search.powerForJoint(site, longC); }}};
    found.best = -1e9;
    const size_t tried = meltsJoints(sheet.heat) ? std::size(starts) : 1;
    for (size_t i = 0; i < tried; ++i) {
        search.correctBy(search.judge(starts[i].second()));
        const VectorXd start = starts[i].second();
        if (i == 0)
            found.replayed = search.judge(start).worst;
        const JudgedPower judged = search.climb(start);
        found.byStart[i] = judged.worst;
        if (judged.worst <= found.best)
            continue;
        found.best = judged.worst;
        found.bestStart = starts[i].first;
        search.correctBy(judged);
        found.program = search.linearWorst(judged.power);
        found.judged = judged;
    }
    if (found.endsLiquid)
        found.planned = found.replayed;
    found.searchS = seconds(clock);
    clock = std::chrono::steady_clock::now();
    search.correctBy(found.judged);
    for (const double over : boundSteps)
        if (!found.bound &&
            outOfReach(search, grid, sheet.cooling.fan, found.judged.power, found.best + over))
            found.bound = found.best + over;
    // What was found must not be out of reach: two hundredths for what superposition has over the whole
    // model.
    found.boundContradicts = outOfReach(search, grid, sheet.cooling.fan, found.judged.power,
                                        std::min(found.best, found.program) - 0.02);
    found.boundS = seconds(clock);
    return found;
}

void printDistribution(const char* what, std::vector<double> values)
{
    if (values.empty())
        return;
    std::sort(values.begin(), values.end());
    const auto share = [&](double q) {
        return values[static_cast<size_t>(q * static_cast<double>(values.size() - 1))];
    };
    const auto over = std::count_if(values.begin(), values.end(), [](double gap) { return gap > 0.05; });
    std::printf("%-52s %4zu  min %6.3f  median %6.3f  90 %% %6.3f  max %6.3f  over 0.05: %ld\n", what,
                values.size(), values.front(), share(0.5), share(0.9), values.back(),
                static_cast<long>(over));
}

void printCurve(const char* who, const std::vector<double>& timeS, const std::vector<double>& plateC,
                const std::vector<double>& jointC, const BenchSheet& sheet, double offS)
{
    const Curve joint{timeS, jointC};
    const double liquidusC = sheet.paste.countLiquidusC;
    const auto soak = sheet.paste.soakBandC.min && sheet.paste.soakBandC.max
                          ? soakTimeS(joint, *sheet.paste.soakBandC.min, *sheet.paste.soakBandC.max)
                          : std::nullopt;
    std::printf("    %-5s off %4.0f s; joint nominal: ramp %.2f K/s, soak %.0f s, over liquidus %.0f s, peak "
                "%.1f at %.0f s; plate by "
                "time to off:",
                who, offS, steepestCPerS(joint, slopeWindowS, 1), soak.value_or(-1),
                timeAboveS(joint, liquidusC), peakOf(joint)->valueC, peakOf(joint)->atS);
    for (int before : {240, 180, 150, 120, 100, 80, 60, 40, 20, 0, -20, -40, -80})
        std::printf(" %d:%.0f", -before, at(plateC, offS - before, sheet.air.ambientC));
    std::printf("\n");
}

void printSheet(const Found& found)
{
    const BenchSheet& sheet = found.sheet;
    const MarginRow& planned = *worstRow(found, found.plan.margins);
    const MarginRow& best = *worstRow(found, found.judged.answer.margins);
    std::printf("sheet %d: %s, %s, %s%s, contact %.0f/%.0f/%.0f, %zu targets%s%s\n", found.number,
                sheet.paste.id.c_str(), sheet.plate.id.c_str(), sheet.strip.id.c_str(),
                sheet.cooling.fan ? ", fan" : "", sheet.contact.lowWPerM2K, sheet.contact.nominalWPerM2K,
                sheet.contact.highWPerM2K, sheet.targets().size(),
                (std::string(", ") + nameOf(sheet)).c_str(), found.givenUp.empty() ? "" : ", parts given up");
    std::printf("    planned %.3f (%s), best %.3f (%s) from %s; by start %.3f %.3f %.3f\n", found.planned,
                planned.limit.id.c_str(), found.best, best.limit.id.c_str(), found.bestStart.c_str(),
                found.byStart[0], found.byStart[1], found.byStart[2]);
    const StationId joint = jointOf(sheet.targets().front());
    for (const PlanCurve& curve : found.plan.curves)
        if (curve.station == joint)
            printCurve("plan", found.plan.timeS, found.plan.plateC, curve.nominalC, sheet,
                       found.plan.heaterOffS);
    const PredictedHeat& whole = found.judged.answer;
    Index last = found.judged.power.size();
    while (last > 1 && found.judged.power[last - 1] <= 1e-9)
        --last;
    Index first = 0;
    while (first + 1 < found.judged.power.size() && found.judged.power[first] <= 1e-9)
        ++first;
    printCurve("best", whole.predictions[1].timeS, whole.reference.plateC,
               whole.predictions[1].find(joint)->valueC, sheet,
               static_cast<double>(last - first) * PowerGrid::pieceS);
    std::printf("    margins under %.2f of the plan:", found.planned + 0.1);
    for (const MarginRow& row : found.plan.margins)
        if (row.normalisedMargin < found.planned + 0.1 && (row.limit.habit || found.counts(row.limit)))
            std::printf(" %s%s %.3f", row.limit.id.c_str(), row.limit.habit ? " (habit)" : "",
                        row.normalisedMargin);
    std::printf("\n    of the best:");
    for (const MarginRow& row : found.judged.answer.margins)
        if (row.normalisedMargin < found.best + 0.1 && (row.limit.habit || found.counts(row.limit)))
            std::printf(" %s%s %.3f", row.limit.id.c_str(), row.limit.habit ? " (habit)" : "",
                        row.normalisedMargin);
    std::printf("\n");
}

} // namespace

int main(int argc, char** argv)
{
    int sheets = 120, worst = 10, only = 0;
    std::uint64_t seed = 1;
    for (int i = 1; i + 1 < argc; i += 2) {
        if (std::strcmp(argv[i], "--sheets") == 0)
            sheets = std::atoi(argv[i + 1]);
        else if (std::strcmp(argv[i], "--seed") == 0)
            seed = std::strtoull(argv[i + 1], nullptr, 10);
        else if (std::strcmp(argv[i], "--worst") == 0)
            worst = std::atoi(argv[i + 1]);
        else if (std::strcmp(argv[i], "--only") == 0)
            only = std::atoi(argv[i + 1]);
    }
    const std::array<std::filesystem::path, 1> folders = {SHELF_DIR};
    const Shelf shelf = readShelf(folders);
    std::vector<Found> all(static_cast<size_t>(sheets));
    std::atomic<int> next = only ? only - 1 : 0;
    const int end = only ? only : sheets;
    const auto work = [&] {
        for (int i = next++; i < end; i = next++) {
            all[static_cast<size_t>(only ? 0 : i)] = search(sheetOf(shelf, seed, i + 1), i + 1);
            const Found& found = all[static_cast<size_t>(only ? 0 : i)];
            std::fprintf(
                stderr,
                "%d, %s: planned %.3f%s, replayed %.3f, best %.3f (%s), program %.3f, %s%s; plan %.2f s, "
                "search %.1f s, bound %.1f s\n",
                i + 1, nameOf(found.sheet), found.planned, found.endsLiquid ? " (ends liquid)" : "",
                found.replayed, found.best, found.bestStart.c_str(), found.program,
                found.bound ? ("never " + std::to_string(*found.bound).substr(0, 6)).c_str() : "no bound",
                found.boundContradicts ? " (CONTRADICTED)" : "", found.planS, found.searchS, found.boundS);
        }
    };
    auto second = std::async(std::launch::async, work);
    work();
    second.get();
    if (only)
        all.resize(1);

    std::vector<double> gaps[2], replayed[2], bounds[2];
    for (const Found& found : all) {
        const bool reachable = found.best >= 0;
        gaps[reachable].push_back(found.gap());
        replayed[reachable].push_back(Found::enough(found.best) - Found::enough(found.replayed));
        if (found.bound)
            bounds[reachable].push_back(Found::enough(*found.bound) - Found::enough(found.planned));
    }
    std::printf(
        "%zu sheets, seed %llu; of a margin no more than 0.99 counts, beyond which a plan goes by habits\n\n",
        all.size(), static_cast<unsigned long long>(seed));
    for (const bool reachable : {true, false}) {
        std::printf("%s\n", reachable ? "sheets of which some power keeps every limit that counts"
                                      : "sheets of which none found does");
        printDistribution("best by programs - planned", gaps[reachable]);
        printDistribution("the same, the plan's plate curve driven by power", replayed[reachable]);
        printDistribution("relaxation's bound, where one was found, - planned", bounds[reachable]);
    }
    std::printf("best by programs - planned, by kind of heat\n");
    for (const auto& kind : kinds) {
        std::vector<double> ofKind;
        for (const Found& found : all)
            if (found.sheet.heat == kind.heat && found.sheet.way == kind.way)
                ofKind.push_back(found.gap());
        printDistribution(kind.name, ofKind);
    }
    std::sort(all.begin(), all.end(), [](const Found& a, const Found& b) { return a.gap() > b.gap(); });
    for (int i = 0; i < std::min(worst, static_cast<int>(all.size())); ++i)
        printSheet(all[static_cast<size_t>(i)]);
    return 0;
}
