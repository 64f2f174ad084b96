#include "live/remaining_path.h"

#include "planner/heat_kinds.h"
#include "rules/hands.h"
#include "rules/joint_solder.h"
#include "search/plate_reference.h"

#include <algorithm>
#include <cmath>
#include <limits>

namespace stripwright {

namespace {

constexpr double stepS = 1;
constexpr double goodEnough = 0.3; // worst normalised margin that is left alone
constexpr double worthK = 0.05;    // normalised margin gained
constexpr double mostLongerS = 60, tripRoomK = 8;
constexpr double powerRoom = 0.97;    // the rest is the loop's
constexpr double changePrice = 0.002; // a change that gains nothing is not made
constexpr double blendS = 15;         // in which the path comes back from where the plate is
constexpr double peakBandK = 3;
constexpr double leastFallCPerS = 0.02;
constexpr double climbShare = 0.3; // of what is left to climb, a shift of the peak

/// What may be changed of the rest.
struct Change {
    double peakShiftK = 0, lnSoakPace = 0, lnPeakPace = 0;
    static constexpr int count = 3;
    double& operator[](int i) { return i == 0 ? peakShiftK : i == 1 ? lnSoakPace : lnPeakPace; }
};
constexpr double firstSteps[Change::count] = {4, 0.3, 0.3};

/// What follows the plate, by rising temperature: a joint at the three contacts of the plan's sheet, a part
/// as the plan has it coldest, as stated and hottest. Of a joint learnMisfit() adds what else makes those.
using Levels = std::array<PlateResponse, 3>;

/// Between the plan's levels by the logarithm of contact, and half as far again outside them.
PlateResponse responseAt(const Levels& levels, const ContactCondition& contact, double factor)
{
    const double at = std::log(factor), low = std::log(contact.lowWPerM2K / contact.nominalWPerM2K),
                 high = std::log(contact.highWPerM2K / contact.nominalWPerM2K);
    const PlateResponse &middle = levels[1], &end = at < 0 ? levels[0] : levels[2];
    const double span = at < 0 ? low : high;
    const double share = span != 0 ? std::clamp(at / span, 0.0, 1.5) : 0;
    const auto between = [&](double PlateResponse::*figure) {
        return middle.*figure + share * (end.*figure - middle.*figure);
    };
    PlateResponse response;
    response.gain = between(&PlateResponse::gain);
    response.lagS = std::max(0.1, between(&PlateResponse::lagS));
    response.secondLagS = std::max(0.0, between(&PlateResponse::secondLagS));
    response.secondShare = between(&PlateResponse::secondShare);
    return response;
}

class PathSearch {
public:
    PathSearch(const HeatPlan& plan, const RunSoFar& run, const RemainingPath* asBefore);
    RemainingPath best(const std::function<bool()>& outOfTime);

private:
    struct WatchedLimit {
        Limit limit;
        std::array<double, 3> misfit{}; ///< What the model misses of the plan, by level.
        bool planKeeps = true;
    };
    struct Watched {
        int site = 0; ///< Of a joint; 0: a part or the plate.
        Levels levels;
        std::vector<WatchedLimit> limits;
    };
    struct Judged {
        double worst = 0;
        std::vector<std::pair<double, const WatchedLimit*>> missed; ///< Habits, with their margins.
    };
    struct Driven {
        std::vector<double> timeS, plateC;
    };

    RemainingPath pathOf(Change change) const;
    Driven drive(const RemainingPath& path) const;
    void learnCooling();
    double coolingCPerS(double plateC) const;
    std::vector<double> followed(const Driven& driven, const PlateResponse& response) const;
    double worst(const RemainingPath& path) const { return judged(path, false).worst; }
    Judged judged(const RemainingPath& path, bool habits) const;
    std::string missedHabits(const RemainingPath& path) const;
    void learnMisfit();
    std::vector<SiteWork> handsOn(const Driven& driven) const;
    std::optional<double> measured(const Limit& limit, Curve curve, const Watched& watched,
                                   const std::vector<SiteWork>& hands) const;
    double longerS(const RemainingPath& path) const;

    const HeatPlan& plan_;
    const RunSoFar& run_;
    const RemainingPath* asBefore_;
    double ambientC_, hottestC_, soakFromS_ = 0, soakToS_ = 0, peakFromS_ = 0;
    const std::vector<double>& before_; ///< Plate by the path in use.
    double climbFromC_ = 0, hottestBeforeC_ = 0;
    std::vector<double> cooling_; ///< By whole degrees.
    std::vector<Watched> watched_;
};

PathSearch::PathSearch(const HeatPlan& plan, const RunSoFar& run, const RemainingPath* asBefore)
    : plan_(plan), run_(run), asBefore_(asBefore), ambientC_(plan.sheet.air.ambientC),
      hottestC_(*std::max_element(plan.plateC.begin(), plan.plateC.end())),
      before_(asBefore ? asBefore->plateC : plan.plateC),
      hottestBeforeC_(*std::max_element(before_.begin(), before_.end()))
{
    for (const Stage& stage : plan.stages)
        if (stage.name == "soak") {
            soakFromS_ = stage.startS;
            soakToS_ = stage.endS;
        }
    if (soakToS_ <= 0)
        for (const Stage& stage : plan.stages)
            if (stage.name == "preheat")
                soakFromS_ = soakToS_ = stage.endS;
    peakFromS_ = plan.heaterOffS;
    for (size_t i = plan.timeS.size(); i-- > 0;)
        if (plan.timeS[i] < plan.heaterOffS && plan.plateC[i] >= hottestC_ - peakBandK)
            peakFromS_ = plan.timeS[i];
    climbFromC_ = valueAt({plan.timeS, before_}, std::max(soakToS_, run.profileS));
    learnCooling();
    const std::vector<Limit> limits = limitsOf(plan.sheet);
    const auto watch = [&](int site, StationId station, const Levels& planned) {
        Watched watched{site, planned, {}};
        for (const Limit& limit : limits)
            if (limit.station == station ||
                (site > 0 && limit.station == StationId{StationKind::NewLed, site}))
                watched.limits.push_back({limit});
        watched_.push_back(std::move(watched));
    };
    for (const JointModel& model : plan.joints)
        watch(model.site, jointOf(model.site), {model.low, model.nominal, model.high});
    for (const PartModel& model : plan.parts)
        watch(0, model.station, {model.low, model.nominal, model.high});
    const PlateResponse itself{.gain = 1};
    watch(0, {StationKind::Plate}, {itself, itself, itself});
    learnMisfit();
    if (const auto& now = run.contact)
        for (Watched& watched : watched_) {
            if (watched.site == 0 && !now->ofParts)
                continue;
            const Levels planned = watched.levels;
            watched.levels = {responseAt(planned, plan.sheet.contact, now->low),
                              responseAt(planned, plan.sheet.contact, now->nominal),
                              responseAt(planned, plan.sheet.contact, now->high)};
        }
}

// A model of a lag or two misses a few kelvin and seconds of the whole one: by as much as it misses on the
// plan itself.
void PathSearch::learnMisfit()
{
    const Driven planned{plan_.timeS, plan_.plateC};
    const std::vector<SiteWork> hands = handsOn(planned);
    for (Watched& watched : watched_)
        for (size_t level = 0; level < 3; ++level) {
            const std::vector<double> joint = followed(planned, watched.levels[level]);
            for (auto& [limit, misfit, planKeeps] : watched.limits)
                for (const MarginRow& row : plan_.margins) {
                    if (row.limit.id != limit.id)
                        continue;
                    planKeeps = row.margin >= 0;
                    const auto& whole = level == 0 ? row.low : level == 1 ? row.nominal : row.high;
                    const auto here = measured(limit, Curve{plan_.timeS, joint}, watched, hands);
                    if (whole && here)
                        misfit[level] = *whole - *here;
                }
        }
}

/// What the hands would do at the sites of watched joints, in their order; empty in a heat without them.
std::vector<SiteWork> PathSearch::handsOn(const Driven& driven) const
{
    const auto work = handWorkOf(plan_.sheet);
    if (!work)
        return {};
    std::vector<std::vector<double>> lowC;
    std::vector<Curve> joints;
    for (const Watched& watched : watched_)
        if (watched.site > 0)
            lowC.push_back(followed(driven, watched.levels[0]));
    for (const std::vector<double>& values : lowC)
        joints.push_back({driven.timeS, values});
    const HandTimes times = handTimesOf(*work, joints);
    std::vector<SiteWork> all;
    for (size_t i = 0; i < times.doneS.size(); ++i) {
        const auto planned =
            std::ranges::find(plan_.newLeds, i < work->sites.size() ? work->sites[i] : 0, &NewLed::site);
        all.push_back({.sureFromS = times.sureFromS,
                       .doneS = times.doneS[i],
                       .lastDoneS = times.doneS.back(),
                       .startC = planned != plan_.newLeds.end() ? planned->startC : ambientC_,
                       .body = work->body});
    }
    return all;
}

std::optional<double> PathSearch::measured(const Limit& limit, Curve curve, const Watched& watched,
                                           const std::vector<SiteWork>& hands) const
{
    if (!limit.needsHands() && !aboutNewLed(limit))
        return measure(limit, curve);
    const std::vector<int> sites = plan_.sheet.targets();
    const auto at = static_cast<size_t>(std::find(sites.begin(), sites.end(), watched.site) - sites.begin());
    if (at >= hands.size())
        return {};
    if (!aboutNewLed(limit))
        return measure(limit, curve, &hands[at]);
    const OwnedCurve body = newLedCurve(curve, hands[at]);
    return measure(limit, body);
}

std::vector<double> PathSearch::followed(const Driven& driven, const PlateResponse& response) const
{
    std::vector<double> values;
    values.reserve(driven.timeS.size());
    double first = driven.plateC.front() - ambientC_, second = first, keptS = 0, keepFirst = 1,
           keepSecond = 1;
    for (size_t i = 0; i < driven.timeS.size(); ++i) {
        const double dtS = i > 0 ? driven.timeS[i] - driven.timeS[i - 1] : 0;
        if (std::abs(dtS - keptS) > 1e-9) {
            keptS = dtS;
            keepFirst = response.lagS > 0 ? std::exp(-dtS / response.lagS) : 0;
            keepSecond = response.secondLagS > 0 ? std::exp(-dtS / response.secondLagS) : 0;
        }
        const double drive = driven.plateC[i] - ambientC_;
        first = drive + (first - drive) * keepFirst;
        second = drive + (second - drive) * keepSecond;
        const double share = response.secondLagS > 0 ? response.secondShare : 0;
        values.push_back(ambientC_ + response.gain * ((1 - share) * first + share * second));
    }
    return values;
}

RemainingPath PathSearch::pathOf(Change change) const
{
    RemainingPath path;
    const size_t n = plan_.timeS.size();
    path.plateC.resize(n);
    path.duty.resize(n);
    path.pace.assign(n, 1);
    const double moreK = change.peakShiftK - (asBefore_ ? asBefore_->peakShiftK : 0);
    const double spanK = std::max(hottestBeforeC_ - climbFromC_, 1.0);
    const double offK = run_.plateC.back() - valueAt({plan_.timeS, before_}, run_.profileS);
    const PlateType& plate = plan_.sheet.plate;
    for (size_t i = 0; i < n; ++i) {
        const double t = plan_.timeS[i];
        path.plateC[i] = before_[i];
        if (t > std::max(soakToS_, run_.profileS))
            path.plateC[i] += moreK * std::clamp((before_[i] - climbFromC_) / spanK, 0.0, 1.0);
        if (t >= run_.profileS && t < run_.profileS + blendS)
            path.plateC[i] += offK * (1 - (t - run_.profileS) / blendS);
        if (t >= soakFromS_ && t < soakToS_)
            path.pace[i] = std::exp(change.lnSoakPace);
        if (t >= peakFromS_ && t < plan_.heaterOffS)
            path.pace[i] = std::exp(change.lnPeakPace);
    }
    for (size_t i = 0; i < n; ++i) {
        // No heater can make a plate cool faster than it does by itself.
        const double fallCPerS =
            i + 1 < n ? (path.plateC[i] - path.plateC[i + 1]) / (plan_.timeS[i + 1] - plan_.timeS[i]) : 0;
        if (plan_.timeS[i] < plan_.heaterOffS && fallCPerS > leastFallCPerS)
            path.pace[i] =
                std::clamp(run_.lossFactor / run_.capacityFactor * coolingCPerS(path.plateC[i]) / fallCPerS,
                           0.2, path.pace[i]);
        if (!(plan_.duty[i] > 0))
            continue;
        // What the plan spends on warming goes with slope and pace, the rest with the level.
        const size_t next = std::min(i + 1, n - 1);
        const double r = plan_.plateC[i], planK = plan_.plateC[next] - r;
        const bool warms = planK > 0.05;
        const double scale = warms ? std::clamp((path.plateC[next] - path.plateC[i]) / planK, 0.5, 1.5) : 1;
        const double warmingW =
            run_.capacityFactor * scale * (plan_.duty[i] * plate.powerW - lossW(plate, r, ambientC_));
        const double levelW = run_.lossFactor * lossW(plate, path.plateC[i], ambientC_);
        const double possibleW = powerRoom * plate.powerW - levelW;
        if (warms && warmingW > 0)
            path.pace[i] = std::clamp(possibleW / warmingW, 0.2, path.pace[i]);
        path.duty[i] = std::clamp((warmingW * (warms ? path.pace[i] : 1) + levelW) / plate.powerW, 0.0, 1.0);
    }
    path.peakShiftK = change.peakShiftK;
    path.soakPace = std::exp(change.lnSoakPace);
    path.peakPace = std::exp(change.lnPeakPace);
    path.longerS = longerS(path);
    return path;
}

double PathSearch::longerS(const RemainingPath& path) const
{
    double longer = 0;
    for (size_t i = 0; i + 1 < plan_.timeS.size(); ++i)
        if (plan_.timeS[i] >= run_.profileS && plan_.timeS[i] < plan_.heaterOffS)
            longer += (plan_.timeS[i + 1] - plan_.timeS[i]) * (1 / path.pace[i] - 1);
    return longer;
}

// As the plan's own plate cools at a temperature, strip, fan and all.
void PathSearch::learnCooling()
{
    const auto& t = plan_.timeS;
    const auto& r = plan_.plateC;
    const PlateType& plate = plan_.sheet.plate;
    for (int degree = 0; degree <= static_cast<int>(hottestC_) + 20; ++degree)
        cooling_.push_back(std::max(0.0, lossW(plate, degree, ambientC_)) / plate.heatCapacityJPerK);
    for (size_t i = 0; i + 1 < t.size(); ++i)
        if (t[i] > plan_.heaterOffS + 2 * plate.elementLagS && r[i] > r[i + 1])
            for (size_t degree = static_cast<size_t>(std::max(0.0, r[i + 1])); degree < cooling_.size();
                 ++degree)
                if (degree <= r[i] || t[i] < plan_.heaterOffS + 2 * plate.elementLagS + 1.5)
                    cooling_[degree] = (r[i] - r[i + 1]) / (t[i + 1] - t[i]);
}

double PathSearch::coolingCPerS(double plateC) const
{
    return cooling_[static_cast<size_t>(std::clamp(plateC, 0.0, static_cast<double>(cooling_.size() - 1)))];
}

PathSearch::Driven PathSearch::drive(const RemainingPath& path) const
{
    Driven driven{run_.timeS, run_.plateC};
    double t = run_.timeS.back(), profile = run_.profileS;
    size_t i = 0;
    const auto indexOf = [&] {
        while (i + 2 < plan_.timeS.size() && plan_.timeS[i + 1] <= profile)
            ++i;
        return i;
    };
    while (profile < plan_.heaterOffS) {
        profile += stepS * path.pace[indexOf()];
        t += stepS;
        indexOf();
        const double share =
            std::clamp((profile - plan_.timeS[i]) / (plan_.timeS[i + 1] - plan_.timeS[i]), 0.0, 1.0);
        driven.timeS.push_back(t);
        driven.plateC.push_back(path.plateC[i] + share * (path.plateC[i + 1] - path.plateC[i]));
    }
    const double cooling = run_.lossFactor / run_.capacityFactor;
    const auto planned = [&](double atS) { return valueAt({plan_.timeS, plan_.plateC}, atS); };
    const double untilC = meltRangeOf(plan_.sheet).solidusC - 30;
    // At first as the plan's own plate does, on which the element's heat still goes on; then by its level.
    const double ownS = 4 * plan_.sheet.plate.elementLagS;
    double plateC = driven.plateC.back();
    for (int n = 0; n < 600 && plateC > untilC; ++n) {
        const double sinceS = n * stepS;
        const double slopeCPerS =
            sinceS < ownS
                ? (planned(plan_.heaterOffS + sinceS + stepS) - planned(plan_.heaterOffS + sinceS)) / stepS
                : -coolingCPerS(plateC);
        plateC += stepS * (slopeCPerS < 0 ? cooling * slopeCPerS : slopeCPerS);
        t += stepS;
        driven.timeS.push_back(t);
        driven.plateC.push_back(plateC);
    }
    return driven;
}

PathSearch::Judged PathSearch::judged(const RemainingPath& path, bool habits) const
{
    Judged judged{.worst = std::numeric_limits<double>::infinity()};
    const Driven driven = drive(path);
    const std::vector<SiteWork> hands = handsOn(driven);
    for (const Watched& watched : watched_) {
        std::array<std::vector<double>, 3> levels;
        for (size_t level = 0; level < 3; ++level)
            levels[level] = followed(driven, watched.levels[level]);
        for (const WatchedLimit& one : watched.limits) {
            if (one.limit.habit && !(habits && one.planKeeps))
                continue;
            double margin = std::numeric_limits<double>::infinity();
            for (size_t level = 0; level < 3; ++level) {
                const Curve curve{driven.timeS, levels[level]};
                // Time for the hands is least where it gets least hot.
                const bool leastInTheCold = one.limit.needsHands() && one.limit.min;
                if (!applies(one.limit, curve) || (leastInTheCold && level != 0))
                    continue;
                auto value = measured(one.limit, curve, watched, hands);
                if (value)
                    *value += one.misfit[level];
                else if (aboutNewLed(one.limit))
                    continue; // nothing of it is left to judge
                margin = std::min(margin, marginOf(one.limit, value));
            }
            if (!one.limit.habit)
                judged.worst = std::min(judged.worst, margin / one.limit.halfWindow());
            else if (margin < 0)
                judged.missed.push_back({margin, &one});
        }
    }
    return judged;
}

std::string PathSearch::missedHabits(const RemainingPath& path) const
{
    auto missed = judged(path, true).missed;
    std::ranges::sort(missed, {}, [](const auto& one) { return one.first / one.second->limit.halfWindow(); });
    constexpr size_t mostShown = 3;
    std::string words;
    for (size_t i = 0; i < std::min(missed.size(), mostShown); ++i)
        words += (i ? "; " : "") + missed[i].second->limit.what;
    if (missed.size() > mostShown)
        words += " and " + std::to_string(missed.size() - mostShown) + " more";
    return words;
}

RemainingPath PathSearch::best(const std::function<bool()>& outOfTime)
{
    Change found;
    if (asBefore_)
        found = {asBefore_->peakShiftK, std::log(asBefore_->soakPace), std::log(asBefore_->peakPace)};
    RemainingPath path = pathOf(found);
    double value = worst(path);
    const double before = value;
    const double shiftMostK =
        std::min({8.0, plan_.tripAboveC - tripRoomK - hottestC_, plan_.sheet.plate.maxC - hottestC_});

    const auto priceOf = [](Change change) {
        double price = 0;
        for (int i = 0; i < Change::count; ++i)
            price += changePrice * std::abs(change[i]) / firstSteps[i];
        return price;
    };
    // Near the top there is no climb left in which to shift it without a step.
    const double shiftNowK = found.peakShiftK,
                 shiftRoomK = climbShare * std::max(0.0, hottestBeforeC_ - climbFromC_);
    for (double scale = 1; scale > 0.1 && !outOfTime(); scale /= 2)
        for (bool moved = true; moved && !outOfTime();) {
            moved = false;
            for (int i = 0; i < Change::count; ++i)
                for (const double sign : {1.0, -1.0}) {
                    Change tried = found;
                    tried[i] += sign * scale * firstSteps[i];
                    tried.peakShiftK =
                        std::min(std::clamp(tried.peakShiftK, shiftNowK - shiftRoomK, shiftNowK + shiftRoomK),
                                 shiftMostK);
                    tried.lnSoakPace = std::clamp(tried.lnSoakPace, -0.7, 0.7);
                    tried.lnPeakPace = std::clamp(tried.lnPeakPace, -0.7, 0.7);
                    RemainingPath other = pathOf(tried);
                    if (other.longerS > mostLongerS)
                        continue;
                    const double reached = worst(other);
                    if (reached - priceOf(tried) > value - priceOf(found) + 1e-6) {
                        found = tried;
                        value = reached;
                        path = std::move(other);
                        moved = true;
                        break;
                    }
                }
        }
    path.worstMargin = value;
    path.worstMarginAsIs = before;
    path.better = before < goodEnough && value > before + worthK;
    if (path.better)
        path.missedHabits = missedHabits(path);
    return path;
}

} // namespace

RemainingPath remainingPath(const HeatPlan& plan, const RunSoFar& run, const RemainingPath* asBefore,
                            const std::function<bool()>& outOfTime)
{
    return PathSearch(plan, run, asBefore).best(outOfTime);
}

} // namespace stripwright
