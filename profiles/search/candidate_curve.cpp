#include "search/candidate_curve.h"

#include <algorithm>
#include <cmath>

namespace stripwright {

double CandidateCurve::price(const std::vector<double>& at) const
{
    double sum = 0;
    for (size_t i = 0; i < at.size(); ++i)
        sum += pricePerUnit[i] * std::abs(at[i] - plain[i]);
    return sum;
}

CandidateCurve shapeCandidate(const BenchSheet& sheet, const Shape& start, double longestHoldS,
                              double latestOffS, double endS)
{
    const double ambientC = sheet.air.ambientC, hottestC = sheet.plate.maxC;
    CandidateCurve candidate;
    candidate.low = {0.05, ambientC + 5, 0, ambientC + 5, ambientC + 5, 0, 0.05, ambientC + 20, 0};
    candidate.high = {4, hottestC, 400, hottestC, hottestC, 200, 4, hottestC, longestHoldS};
    candidate.stride = {0.5, 20, 40, 20, 20, 30, 0.5, 15, 15};
    candidate.probe = {0.02, 1, 2, 1, 1, 2, 0.02, 0.5, 1};
    constexpr double perS = 1e-4; // of soak, stop and hold
    candidate.plain.assign(Shape::count, 0);
    candidate.pricePerUnit = {0, 0, perS, 0, 0, perS, 0, 0, perS};
    for (int i = 0; i < Shape::count; ++i) {
        const auto k = static_cast<size_t>(i);
        candidate.values.push_back(std::clamp(start.values()[k], candidate.low[k], candidate.high[k]));
    }
    candidate.follow = [&sheet, ambientC, latestOffS, endS](const std::vector<double>& values,
                                                            const StripDraw& draw, double stepS) {
        return followShape(Shape::from(values), sheet.plate, draw, ambientC, sheet.cooling.fan, stepS,
                           latestOffS, endS);
    };
    return candidate;
}

// Pieces grow backwards from the end: what the joint sees last is the finest.
static PowerSchedule scheduleOf(const PlateReference& reference, double idleS, double endS)
{
    constexpr double finestS = 6, coarsestS = 24;
    constexpr size_t growsEvery = 10;
    std::vector<double> fromS;
    double widthS = finestS;
    for (double atS = endS - widthS; atS > 0; atS -= widthS) {
        fromS.push_back(atS);
        if (fromS.size() % growsEvery == 0)
            widthS = std::min(2 * widthS, coarsestS);
    }
    fromS.push_back(0);
    PowerSchedule schedule{{fromS.rbegin(), fromS.rend()},
                           {},
                           endS,
                           *std::max_element(reference.plateC.begin(), reference.plateC.end())};
    for (size_t piece = 0; piece < schedule.fromS.size(); ++piece) {
        const double from = schedule.fromS[piece];
        const double to = piece + 1 < schedule.fromS.size() ? schedule.fromS[piece + 1] : endS;
        double sum = 0;
        for (size_t i = 0; i < reference.duty.size(); ++i) {
            const double atS = idleS + static_cast<double>(i) * reference.stepS;
            sum +=
                reference.duty[i] * std::max(0.0, std::min(to, atS + reference.stepS) - std::max(from, atS));
        }
        schedule.duty.push_back(std::clamp(sum / (to - from), 0.0, plannedPowerShare));
    }
    return schedule;
}

CandidateCurve powerCandidate(const BenchSheet& sheet, const PlateReference& start, double latestOffS,
                              double endS)
{
    constexpr double strideShare = 0.25, probeShare = 0.02, spareS = 24, fanLaterS = 6;
    // Room for earlier power and for later; a fan starts at the end of it.
    const double roomS = latestOffS - start.heaterOffS;
    const double laterS = std::clamp(roomS, 0.0, sheet.cooling.fan ? fanLaterS : spareS);
    const double idleS = std::clamp(roomS - laterS, 0.0, 2 * spareS);
    const PowerSchedule schedule = scheduleOf(start, idleS, idleS + start.heaterOffS + laterS);
    const size_t pieces = schedule.duty.size();
    CandidateCurve candidate{.values = schedule.duty,
                             .low = std::vector<double>(pieces, 0),
                             .high = std::vector<double>(pieces, plannedPowerShare),
                             .stride = std::vector<double>(pieces, strideShare),
                             .probe = std::vector<double>(pieces, probeShare),
                             .plain = schedule.duty,
                             .byPower = true};
    constexpr double perDutyS = 6e-4;
    for (size_t piece = 0; piece < pieces; ++piece) {
        const double pieceEndS = piece + 1 < pieces ? schedule.fromS[piece + 1] : schedule.offS;
        candidate.pricePerUnit.push_back(perDutyS * (pieceEndS - schedule.fromS[piece]));
    }
    candidate.follow = [&sheet, schedule, endS](const std::vector<double>& values, const StripDraw& draw,
                                                double stepS) {
        return followPower({schedule.fromS, values, schedule.offS, schedule.peakC}, sheet.plate, draw, sheet.air.ambientC,
                           sheet.cooling.fan, stepS, endS);
    };
    return candidate;
}

} // namespace stripwright
