#include "planner/bake_plan.h"

#include "materials/drying_bake.h"
#include "planner/heat_kinds.h"
#include "rules/bake_rules.h"
#include "rules/wording.h"
#include "search/unit_response.h"

#include <algorithm>
#include <cmath>
#include <future>
#include <set>

namespace stripwright {

namespace {

constexpr double rampCPerS = 0.95;  // Gentle for wet bodies, under 1 K/s with the overshoot; trade habit.
constexpr double coarseStepS = 10;  // Outputs in hold and cooling.
constexpr double holdOutputS = 60;  // Kept ones in the hold.
constexpr double spareS = 120;      // Over the table's time, for the loop's own wobble.
constexpr double hoursToSettle = 1; // A bake that will not be run need only show where everything settles.
constexpr double coldC = 55, longestCoolingS = 3600;

std::string timeInWords(double hours)
{
    return hours < 96 ? rounded(hours) + " h" : rounded(hours / 24) + " days";
}

/// Where bodies of the targets settle with the plate held, in whatever the sheet allows.
struct Settled {
    double coldestC = 0, hottestC = 0;
};

Settled settle(const BenchSheet& sheet, double plateC)
{
    constexpr double longS = 4 * 3600, stepS = 60;
    Settled settled{std::numeric_limits<double>::infinity(), -std::numeric_limits<double>::infinity()};
    for (const Scenario& scenario : scenariosOf(sheet)) {
        PredictOptions options = optionsIn(scenario, sheet, {});
        options.stepS = stepS;
        options.outputStepS = longS;
        const Prediction prediction = predict(sheet, {{0, longS}, {plateC, plateC}}, options);
        for (const int site : sheet.targets()) {
            const double bodyC = prediction.find(StationId{StationKind::Body, site})->valueC.back();
            settled.coldestC = std::min(settled.coldestC, bodyC);
            settled.hottestC = std::max(settled.hottestC, bodyC);
        }
    }
    return settled;
}

/// Plate temperature that brings the coldest body just over the bake's, and centres the spread in the
/// tolerance where it fits.
double holdC(const BenchSheet& sheet, double temperatureC)
{
    double plateC = temperatureC + bakeToleranceK / 2;
    if (temperatureC <= sheet.air.ambientC + bakeToleranceK)
        return plateC;
    for (int round = 0; round < 3; ++round) {
        const Settled settled = settle(sheet, plateC);
        const double spreadK = settled.hottestC - settled.coldestC;
        const double aimC =
            temperatureC + std::clamp((bakeToleranceK - spreadK) / 2, 0.5, bakeToleranceK / 2);
        const double gain = (settled.coldestC - sheet.air.ambientC) / (plateC - sheet.air.ambientC);
        plateC = sheet.air.ambientC + (aimC - sheet.air.ambientC) / gain;
    }
    constexpr double overshootK = 2;
    return std::min(plateC, sheet.plate.maxC - overshootK);
}

/// Samples of a plan: every second until the hold has settled, then coarse.
std::vector<double> planTimes(const PlateReference& reference, double plateHoldC, double endS)
{
    constexpr double closeK = 0.2, settlingS = 120;
    const auto reached = std::find_if(reference.plateC.begin(), reference.plateC.end(),
                                      [&](double plateC) { return plateC >= plateHoldC - closeK; });
    const double fineToS =
        std::ceil((static_cast<double>(reached - reference.plateC.begin()) + settlingS) / holdOutputS) *
        holdOutputS;
    std::vector<double> timeS;
    for (double t = 0; t < std::min(fineToS, endS); t += 1)
        timeS.push_back(t);
    for (double t = fineToS; t <= endS; t += coarseStepS)
        if (std::fmod(t, holdOutputS) == 0 || t > reference.heaterOffS - holdOutputS)
            timeS.push_back(t);
    return timeS;
}

template <class Keep> Prediction keeping(const Prediction& all, Keep keep)
{
    Prediction kept;
    kept.stations = all.stations;
    for (StationCurve& curve : kept.stations)
        curve.valueC.clear();
    for (size_t i = 0; i < all.timeS.size(); ++i) {
        if (!keep(all.timeS[i]))
            continue;
        kept.timeS.push_back(all.timeS[i]);
        kept.plateC.push_back(all.plateC[i]);
        for (size_t s = 0; s < all.stations.size(); ++s)
            kept.stations[s].valueC.push_back(all.stations[s].valueC[i]);
    }
    return kept;
}

void append(Prediction& to, const Prediction& more)
{
    to.timeS.insert(to.timeS.end(), more.timeS.begin(), more.timeS.end());
    to.plateC.insert(to.plateC.end(), more.plateC.begin(), more.plateC.end());
    for (size_t s = 0; s < to.stations.size(); ++s)
        to.stations[s].valueC.insert(to.stations[s].valueC.end(), more.stations[s].valueC.begin(),
                                     more.stations[s].valueC.end());
}

Prediction predictAt(const BenchSheet& sheet, const PlateCurve& given, const Scenario& scenario,
                     double heaterOffS)
{
    const PlateCurve plate = plateIn(scenario, given, heaterOffS);
    PredictOptions options = optionsIn(scenario, sheet, {});
    options.stepS = coarseStepS;
    if (sheet.cooling.fan)
        options.fanFromS = heaterOffS;
    size_t fine = 1;
    while (fine < plate.timeS.size() && plate.timeS[fine] - plate.timeS[fine - 1] <= 1)
        ++fine;
    const double fineToS = plate.timeS[fine - 1];
    options.outputStepS = 1;
    options.endS = fineToS;
    Prediction whole = predict(sheet, plate, options);
    options.outputStepS = coarseStepS;
    options.endS = plate.timeS.back();
    append(whole, keeping(predict(sheet, plate, options), [&](double t) {
               return t > fineToS + 0.5 && std::binary_search(plate.timeS.begin(), plate.timeS.end(), t);
           }));
    return whole;
}

/// A hold at the sheet's temperature, whatever it breaks.
PredictedHeat bakeAt(const BenchSheet& sheet, double hours)
{
    const HeatTask task = taskOf(sheet);
    const double temperatureC = bakeTemperatureC(sheet);
    const double bakeS = hours * 3600;
    const double plateHoldC = holdC(sheet, temperatureC);
    constexpr double longEnoughForTheDrawS = 720;
    const UnitResponse response(sheet, {}, coarseStepS, longEnoughForTheDrawS, temperatureC);
    const double ambientC = sheet.air.ambientC;
    const double strongest = strongestRampCPerS(sheet.plate, response.draw(), plateHoldC, ambientC);
    PredictedHeat answer;
    answer.shape = {.soakRampCPerS = std::clamp(strongest, 0.05, rampCPerS),
                    .soakStartC = plateHoldC,
                    .soakS = 0,
                    .soakEndC = plateHoldC,
                    .waitC = plateHoldC,
                    .peakRampCPerS = rampCPerS,
                    .peakC = plateHoldC,
                    .holdS = bakeS + spareS};
    // Bodies come up after the plate does; the second round knows by how much.
    for (int round = 0; round < 3; ++round) {
        const double roughEndS =
            (plateHoldC - ambientC) / answer.shape.soakRampCPerS * 2 + answer.shape.holdS +
            std::min(longestCoolingS, coastS(sheet.plate, plateHoldC, coldC, ambientC, sheet.cooling.fan));
        const double endS = std::ceil(roughEndS / holdOutputS) * holdOutputS;
        answer.reference = followShape(answer.shape, sheet.plate, response.draw(), ambientC,
                                       sheet.cooling.fan, 1, endS, endS);
        const PlateReference fine = std::move(answer.reference);
        PlateCurve plate;
        plate.timeS = planTimes(fine, plateHoldC, endS);
        answer.reference = {.stepS = 1, .heaterOffS = fine.heaterOffS};
        for (const double t : plate.timeS) {
            const auto at = static_cast<size_t>(t);
            plate.plateC.push_back(fine.plateC[at]);
            answer.reference.duty.push_back(t < fine.heaterOffS ? fine.duty[at] : 0);
        }
        answer.reference.plateC = plate.plateC;
        const std::vector<Scenario> scenarios = scenariosOf(sheet);
        std::vector<std::future<Prediction>> running;
        for (const Scenario& scenario : scenarios)
            running.push_back(std::async(std::launch::async,
                                         [&] { return predictAt(sheet, plate, scenario, fine.heaterOffS); }));
        answer.predictions.clear();
        for (auto& one : running)
            answer.predictions.push_back(one.get());
        judge(answer, task);
        double shortS = 0;
        for (const int site : sheet.targets()) {
            const auto& low = answer.predictions[0];
            const double dryS =
                timeAboveS({low.timeS, low.find(StationId{StationKind::Body, site})->valueC}, temperatureC);
            if (dryS > 0) // A body that never comes up is not helped by waiting.
                shortS = std::max(shortS, bakeS + spareS / 2 - dryS);
        }
        if (shortS <= 0)
            break;
        answer.shape.holdS += shortS + spareS / 2;
    }
    return answer;
}

bool isBakeTime(const MarginRow& row)
{
    return row.limit.metric == Metric::TimeAbove && row.limit.min;
}

/// What does not survive, or bodies that do not come up to the bake's temperature; how long they are at it
/// aside.
std::vector<MarginRow> brokenParts(const PredictedHeat& answer)
{
    std::vector<MarginRow> broken;
    for (const MarginRow& row : answer.margins) {
        const bool comesUp = isBakeTime(row) && std::min({*row.low, *row.nominal, *row.high}) > 0;
        if (!row.limit.habit && row.margin < 0 && !comesUp)
            broken.push_back(row);
    }
    return broken;
}

std::string inTheWay(const MarginRow& row)
{
    if (isBakeTime(row))
        return "LED bodies do not come up to it where they get least hot; lay the strip flatter.";
    double worst = 0;
    for (const auto& value : {row.low, row.nominal, row.high})
        worst = std::max(worst, value.value_or(worst));
    return row.limit.what + " would be " + rounded(worst) + " " + row.limit.unit() + ", the limit is " +
           rounded(row.limit.max.value_or(0)) + ".";
}

BenchSheet at(BenchSheet sheet, double temperatureC)
{
    sheet.bake.temperatureC = temperatureC;
    return sheet;
}

double hoursAt(const BenchSheet& sheet, double temperatureC)
{
    return bakeHours(sheet.strip.led, temperatureC, sheet.bake.overFloorLifeH).value_or(0);
}

std::string cabinetInWords(const BenchSheet& sheet)
{
    constexpr double cabinetC = 40;
    return "dry the strip in a cabinet at 40 °C and at most 5 % humidity for " +
           timeInWords(hoursAt(sheet, cabinetC)) + ".";
}

/// What is in the way of the hottest bake: lenses to take off, or a limit that stays broken without them.
std::string hottestInWords(BenchSheet sheet)
{
    const double hottestC = bakeTemperaturesC.front(), hours = hoursAt(sheet, hottestC);
    const std::string atHottest = "at " + rounded(hottestC) + " °C for " + timeInWords(hours);
    if (hours > longestBakeH)
        return "Bake it in a cabinet " + atHottest + " with its lenses off, or ";
    sheet = at(std::move(sheet), hottestC);
    std::set<int> off;
    constexpr int rounds = 4; // A lens taken off sheds no heat any more, and its neighbour may follow.
    for (int round = 0; round < rounds; ++round) {
        const std::vector<MarginRow> broken = brokenParts(bakeAt(sheet, hoursToSettle));
        if (broken.empty() && off.empty())
            return "Bake it " + atHottest + ", or ";
        if (broken.empty())
            return "Take the lenses off at " + sitesInWords({off.begin(), off.end()}) + " and bake " +
                   atHottest + ", or ";
        const std::vector<int> more = lostLenses(broken);
        if (more.empty())
            return "Not " + atHottest + ": " + inTheWay(broken.front()) + " Else ";
        for (const int site : more)
            sheet.sites[static_cast<size_t>(site - 1)].lens = LensState::Off;
        off.insert(more.begin(), more.end());
    }
    return {};
}

} // namespace

PredictedBake planBake(const BenchSheet& sheet)
{
    std::vector<double> candidates(bakeTemperaturesC.begin(), bakeTemperaturesC.end());
    if (sheet.bake.temperatureC)
        candidates = {*sheet.bake.temperatureC};
    PredictedBake shown; // The hottest tried: it names what breaks.
    for (const double temperatureC : candidates) {
        PredictedBake bake{at(sheet, temperatureC), {}, {}};
        const double hours = hoursAt(sheet, temperatureC);
        const bool tooLong = hours > longestBakeH;
        PredictedHeat answer = bakeAt(bake.sheet, tooLong ? hoursToSettle : hours);
        const bool survives = brokenParts(answer).empty();
        if (!tooLong)
            bake.answer = std::move(answer);
        if (!tooLong && (survives || candidates.size() == 1))
            return bake;
        if (shown.sheet.sites.empty())
            shown = bake;
        const bool last = temperatureC == candidates.back();
        if (!survives && !last)
            continue;
        std::string why = "At " + rounded(temperatureC) + " °C" +
                          (survives && candidates.size() > 1
                               ? ", the hottest of the bake table that everything on the strip survives,"
                               : "") +
                          " drying takes " + timeInWords(hours) +
                          "; a plate must be watched all the time, and is planned for at most " +
                          timeInWords(longestBakeH) + ". ";
        if (temperatureC != bakeTemperaturesC.front())
            why += hottestInWords(sheet);
        std::string cabinet = cabinetInWords(sheet);
        if (why.ends_with(". "))
            cabinet[0] = 'D';
        shown.refusals.push_back(why + cabinet);
        return shown;
    }
    return shown;
}

} // namespace stripwright
