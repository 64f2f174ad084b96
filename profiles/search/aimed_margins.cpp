#include "search/aimed_margins.h"

#include "search/heat_aim.h"
#include "search/limit_rows.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>

namespace stripwright {

namespace {

AimKind kindOf(const Limit& limit)
{
    return limit.habit ? AimKind::Habit : limit.protects ? AimKind::Part : AimKind::Job;
}

// Where a limit can be broken first. The whole model looks at every scenario; this only steers.
std::vector<size_t> decidingScenarios(const BenchSheet& sheet, const Limit& limit)
{
    if (limit.protects && hottestParts(sheet) != hottestJoints)
        return {hottestJoints, hottestParts(sheet)};
    if (limit.protects)
        return {hottestJoints};
    if (limit.metric == Metric::LiquidForHands || limit.metric == Metric::Wetting)
        return {coldest};
    if (aboutNewLed(limit) || limit.metric == Metric::SpentBefore || limit.metric == Metric::Shock)
        return {hottestJoints};
    if (limit.metric == Metric::Peak && !limit.min)
        return {hottestJoints};
    if (limit.metric == Metric::Peak && !limit.max)
        return {coldest};
    // A stop about a level may cross it at a contact between.
    if (limit.metric == Metric::TimeAbove || limit.metric == Metric::SoakTime)
        return {coldest, asStated, hottestJoints};
    return {coldest, hottestJoints};
}

/// The station whose curve the limit's is made of.
StationId sourceOf(const Limit& limit)
{
    return aboutNewLed(limit) ? jointOf(limit.station.site) : limit.station;
}

} // namespace

std::vector<Level> AimedMargins::clearOf(const Aim& aim)
{
    return aim.kind == AimKind::Job ? jumpLevels(aim.limit) : std::vector<Level>();
}

bool AimedMargins::ofSlopes(const Aim& aim)
{
    return aim.kind == AimKind::Job && isSteepest(aim.limit) && aim.limit.max;
}

AimedMargins::AimedMargins(const HeatTask& task, double stepS, double endS, double typicalC,
                           const std::optional<StripDraw>& draw)
    : task_(task), sheet_(task.sheet), stepS_(stepS), endS_(endS), typicalC_(typicalC),
      drawIsGiven_(draw.has_value()), draw_(draw ? *draw : roughDraw(sheet_))
{
    for (long i = 0; i <= std::lround(endS / stepS); ++i)
        timeS_.push_back(static_cast<double>(i) * stepS);
}

void AimedMargins::learn(const PredictedHeat& answer)
{
    if (response_.columns().empty()) {
        std::vector<Column> columns;
        std::set<std::pair<size_t, StationId>> known;
        const auto need = [&](size_t scenario, StationId station) {
            if (station.kind != StationKind::Plate && known.insert({scenario, station}).second)
                columns.push_back({scenario, station});
        };
        for (const Limit& limit : task_.limits)
            for (size_t scenario : decidingScenarios(sheet_, limit))
                need(scenario, sourceOf(limit));
        if (task_.hands)
            for (const int site : task_.hands->sites)
                need(coldest, jointOf(site));
        response_ = UnitResponse(sheet_, std::move(columns), stepS_, endS_, typicalC_, task_.spares);
        if (!drawIsGiven_)
            draw_ = response_.draw();
        if (task_.hands)
            for (const int site : task_.hands->sites)
                handJoints_.push_back(watch(Column{coldest, jointOf(site)}));
    }
    watch(answer);
    correctBy(answer);
}

void AimedMargins::watch(const Limit& limit)
{
    const bool known =
        std::any_of(aims_.begin(), aims_.end(), [&](const Aim& aim) { return aim.limit.id == limit.id; });
    if (known)
        return;
    Aim aim{limit, kindOf(limit), {}};
    if (limit.station.kind != StationKind::Plate)
        for (size_t scenario : decidingScenarios(sheet_, limit))
            aim.curves.push_back(watch(Column{scenario, sourceOf(limit)}));
    if (task_.hands) {
        const std::vector<int>& sites = task_.hands->sites;
        aim.ofHands =
            static_cast<size_t>(std::find(sites.begin(), sites.end(), limit.station.site) - sites.begin());
    }
    aims_.push_back(std::move(aim));
}

size_t AimedMargins::watch(const Column& wanted)
{
    const std::vector<Column>& columns = response_.columns();
    const auto column =
        static_cast<size_t>(std::find(columns.begin(), columns.end(), wanted) - columns.begin());
    const auto found = std::find(watched_.begin(), watched_.end(), column);
    if (found == watched_.end())
        watched_.push_back(column);
    return static_cast<size_t>(std::find(watched_.begin(), watched_.end(), column) - watched_.begin());
}

void AimedMargins::watch(const PredictedHeat& answer)
{
    constexpr double nearWorst = 0.5, farInside = 2.0;
    constexpr size_t mostOfAGroup = 2;
    struct Near {
        double margin;
        const Limit* limit;
    };
    std::map<std::string, std::vector<Near>> groups; // like limits of all sites, each side by itself
    for (const MarginRow& row : answer.margins) {
        const Limit& limit = row.limit;
        if (givenUp_.count(limit.id))
            continue;
        double lowest = std::numeric_limits<double>::infinity(), highest = -lowest;
        for (const auto& value : {row.low, row.nominal, row.high})
            if (value) {
                lowest = std::min(lowest, *value);
                highest = std::max(highest, *value);
            }
        const std::string group = limit.id.substr(limit.id.find('/')) + (limit.protects ? " of a part" : "");
        const bool measured = lowest <= highest;
        if (limit.min)
            groups[group + " least"].push_back(
                {measured ? (lowest - *limit.min) / limit.halfWindow() : row.normalisedMargin, &limit});
        if (limit.max)
            groups[group + " most"].push_back(
                {measured ? (*limit.max - highest) / limit.halfWindow() : row.normalisedMargin, &limit});
    }
    for (auto& [name, group] : groups) {
        std::sort(group.begin(), group.end(),
                  [](const Near& a, const Near& b) { return a.margin < b.margin; });
        for (size_t i = 0; i < std::min(group.size(), mostOfAGroup); ++i)
            if (group[i].margin <= (group[i].limit->protects ? farInside : group[0].margin + nearWorst))
                watch(*group[i].limit);
    }
}

void AimedMargins::giveUpParts(const PredictedHeat& answer, double below)
{
    for (const MarginRow& row : answer.margins)
        if (lensSiteOf(row.limit) > 0 && !row.limit.habit && row.normalisedMargin < below)
            givenUp_.insert(row.limit.id);
    for (Aim& aim : aims_)
        if (givenUp_.count(aim.limit.id))
            aim.kind = AimKind::GivenUp;
}

AimedMargins::WatchedCurves AimedMargins::superpose(const PlateReference& reference) const
{
    WatchedCurves curves{
        reference.plateC, reference.bendsS,
        response_.curves(reference.plateC, reference.heaterOffS, sheet_.air.ambientC, watched_)};
    addResidue(reference.heaterOffS, reference.plateC.size(), curves.stationsC);
    return curves;
}

std::optional<HandTimes> AimedMargins::handsOf(const WatchedCurves& curves) const
{
    if (!task_.hands)
        return {};
    const size_t samples = curves.plateC.size();
    std::vector<Curve> joints;
    for (const size_t one : handJoints_)
        joints.push_back({{timeS_.data(), samples}, {&curves.stationsC[one * samples], samples}});
    return handTimesOf(*task_.hands, joints);
}

std::vector<AimedMargin> AimedMargins::of(const WatchedCurves& curves) const
{
    const size_t samples = curves.plateC.size();
    const std::span<const double> timeS(timeS_.data(), samples);
    const auto curveOf = [&](size_t one) {
        return Curve{timeS, {&curves.stationsC[one * samples], samples}};
    };

    const auto hands = handsOf(curves);
    std::vector<AimedMargin> margins;
    const auto addSides = [&](const Aim& aim, Curve curve, const SiteWork* work = nullptr) {
        const SideMargins sides = sideMargins(aim.limit, curve, work);
        for (const auto& side : {sides.overMin, sides.underMax})
            if (side)
                margins.push_back({aim.kind, *side});
    };
    for (const Aim& aim : aims_) {
        if (aim.curves.empty())
            addSides(aim, {timeS, curves.plateC});
        for (size_t one : aim.curves) {
            if (!aim.limit.needsHands() && !aboutNewLed(aim.limit)) {
                addSides(aim, curveOf(one));
                continue;
            }
            const SiteWork work{.sureFromS = hands->sureFromS,
                                .doneS = hands->doneS[aim.ofHands],
                                .lastDoneS = hands->doneS.back(),
                                .startC = startC_[response_.columns()[watched_[one]].scenario][aim.ofHands],
                                .body = task_.hands->body};
            if (aboutNewLed(aim.limit))
                addSides(aim, newLedCurve(curveOf(one), work));
            else
                addSides(aim, curveOf(one), &work);
        }
    }
    constexpr double nothingAsked = 1, passed = -1; // where the limit is about an earlier part of the curve
    for (const Aim& aim : aims_) {
        const auto endOf = [&](size_t one) {
            return aim.limit.untilReachesC
                       ? firstRiseThrough(curveOf(one), *aim.limit.untilReachesC).value_or(timeS.back())
                       : timeS.back();
        };
        if (ofSlopes(aim))
            for (size_t one : aim.curves)
                for (double bendS : curves.bendsS)
                    for (double fromS : {bendS - slopeWindowS, bendS})
                        margins.push_back({AimKind::Slope, fromS + slopeWindowS <= endOf(one)
                                                               ? slopeMargin(aim.limit, curveOf(one), fromS)
                                                               : nothingAsked});
        for (const Level& level : clearOf(aim))
            for (size_t one : aim.curves)
                for (double bendS : curves.bendsS)
                    margins.push_back({AimKind::Clear,
                                       bendS <= endOf(one) ? clearance(curveOf(one), bendS, level) : passed});
    }
    return margins;
}

std::vector<AimedMargin> AimedMargins::marginsOf(const PredictedHeat& answer) const
{
    std::vector<AimedMargin> margins;
    for (const Aim& aim : aims_) {
        const auto row = std::find_if(answer.margins.begin(), answer.margins.end(),
                                      [&](const MarginRow& one) { return one.limit.id == aim.limit.id; });
        constexpr double nothingAsked = 1; // of a part that stays too cold for the limit
        margins.push_back({aim.kind, row == answer.margins.end() ? nothingAsked : row->normalisedMargin});
    }
    return margins;
}

double AimedMargins::merit(const Merit& merit, const PredictedHeat& answer) const
{
    return merit.of(marginsOf(answer));
}

double AimedMargins::worst(const PredictedHeat& answer) const
{
    double worst = 1;
    for (const auto& [kind, margin] : marginsOf(answer))
        if (kind == AimKind::Job || kind == AimKind::Part)
            worst = std::min(worst, margin);
    return worst;
}

// Residue of the whole model over superposition, kept by time from heater-off: that is where fan, lift
// and the fourth power of radiation make themselves felt, and what moves when a curve is stretched.
void AimedMargins::addResidue(double heaterOffS, size_t samples, std::vector<double>& stationsC) const
{
    const double shift = (heaterOffS - residueOffS_) / stepS_;
    const double last = static_cast<double>(residueSamples_ - 1);
    for (size_t i = 0; i < samples; ++i) {
        const double place = std::clamp(static_cast<double>(i) - shift, 0.0, last);
        const size_t before = std::min(static_cast<size_t>(place), residueSamples_ - 2);
        const double share = place - static_cast<double>(before);
        for (size_t one = 0; one < watched_.size(); ++one) {
            const double* residue = &residue_[one * residueSamples_ + before];
            stationsC[one * samples + i] += residue[0] + share * (residue[1] - residue[0]);
        }
    }
}

void AimedMargins::correctBy(const PredictedHeat& answer)
{
    const auto every = static_cast<size_t>(std::lround(stepS_ / answer.reference.stepS));
    std::vector<double> plateC;
    for (size_t i = 0; i < answer.reference.plateC.size(); i += every)
        plateC.push_back(answer.reference.plateC[i]);
    const std::vector<double> superposedC =
        response_.curves(plateC, answer.reference.heaterOffS, sheet_.air.ambientC, watched_);
    startC_.assign(answer.predictions.size(), {});
    for (size_t scenario = 0; task_.hands && scenario < startC_.size(); ++scenario)
        for (const int site : task_.hands->sites)
            startC_[scenario].push_back(siteWorkOf(answer, task_, site, scenario)->startC);
    residueSamples_ = plateC.size();
    residueOffS_ = answer.reference.heaterOffS;
    residue_.assign(superposedC.size(), 0);
    for (size_t one = 0; one < watched_.size(); ++one) {
        const Column& of = response_.columns()[watched_[one]];
        const std::vector<double>& whole = answer.predictions[of.scenario].find(of.station)->valueC;
        for (size_t i = 0; i < residueSamples_; ++i) {
            const size_t k = one * residueSamples_ + i;
            residue_[k] = whole[i * every] - superposedC[k];
        }
    }
}

} // namespace stripwright
