#include "board_run.h"

#include "loop/dwell_guard.h"
#include "loop/follower.h"
#include "loop/seat_watch.h"
#include "loop/stretch_limit.h"
#include "loop/tuning.h"
#include "thermal/powered_plate.h"

#include <algorithm>
#include <cmath>
#include <deque>

namespace stripwright::figures {

namespace {

constexpr double cellMm = 4, plantStepS = 0.2;

/// The plate's body out of its reading, as the control loop does it.
class PlateFromReading {
public:
    explicit PlateFromReading(const PlateFigures& figures) : aheadS_(figures.sensorLagS + figures.deadTimeS)
    {
    }
    double of(double readingC)
    {
        constexpr size_t over = 25; // 5 s
        past_.push_back(readingC);
        if (past_.size() > over + 1)
            past_.pop_front();
        const double spanS = static_cast<double>(past_.size() - 1) * periodS;
        return readingC + (spanS > 0 ? aheadS_ * (past_.back() - past_.front()) / spanS : 0);
    }

private:
    double aheadS_;
    std::deque<double> past_;
};

struct Truth {
    PoweredPlate plate;
    const BenchSheet& sheet;
    const Board& board;
    std::deque<double> delayed;

    explicit Truth(const Board& of)
        : plate(of.truth, {.contact = 1, .losses = of.losses, .power = of.power}, cellMm), sheet(of.truth),
          board(of)
    {
    }
    double offK(double xMm) const
    {
        const double riseK = plate.plateC() - sheet.air.ambientC;
        const double middleMm = (sheet.plateStartMm + sheet.plateEndMm()) / 2;
        return board.gradientPerMm * (xMm - middleMm) * riseK;
    }
    double at(StationId station) const
    {
        return plate.stationC(station) + offK(sheet.strip.siteXMm[static_cast<size_t>(station.site - 1)]);
    }
    double readingC(Dice& dice)
    {
        const double riseK = plate.sensorC() - sheet.air.ambientC;
        delayed.push_back(plate.sensorC() - board.plateOffsetK - board.plateShare * riseK);
        if (static_cast<double>(delayed.size()) * plantStepS > sheet.plate.deadTimeS)
            delayed.pop_front();
        return std::round((delayed.front() + 0.05 * dice.normal()) * 10) / 10;
    }
    double thermocoupleC(Dice& dice) const
    {
        const double coreC = at({StationKind::Dielectric, *sheet.stripSensorSite});
        return coreC + board.sensorOffsetK + board.sensorShare * (coreC - sheet.air.ambientC) +
               0.1 * dice.normal();
    }
};

void judge(SiteResult& result, Band band, double trueC, bool calibrated)
{
    const bool inside = trueC >= band.low && trueC <= band.high;
    ++result.samples;
    result.inBand += inside;
    if (calibrated) {
        ++result.calibratedSamples;
        result.calibratedInBand += inside;
    }
    if (trueC > result.peakC) {
        result.peakC = trueC;
        result.peakInBand = inside;
    }
    result.halfWidthK = (band.high - band.low) / 2;
    result.medianErrorK = band.median - trueC;
}

/// Eyes and fingers at one target.
class Hands {
public:
    Hands(const HeatPlan& plan, std::uint64_t seed) : dice_(seed)
    {
        while (plan.joints[target_].site != *plan.sheet.stripSensorSite)
            ++target_;
        meltsC_ = solderMelts(plan.sheet)->lowC + 1.5 * dice_.normal();
        lateS_ = dice_.between(0.5, 2);
        if (dice_.between(0, 1) < 0.1)
            lateS_ += dice_.between(0, 30);
        dueFromS_ = surelyLiquidFromS(plan, plan.joints[target_].site).value_or(INFINITY);
    }
    void look(double jointC, double profileS, JointEstimate& joints, BoardResult& result)
    {
        result.melted = result.melted || jointC >= meltsC_;
        sinceTurnedS_ += result.melted ? periodS : 0;
        sinceSaidS_ += periodS;
        if (result.melted && sinceTurnedS_ >= lateS_ && !result.liquidAtS) {
            joints.mark(target_, SolderSeen::Turned);
            result.liquidAtS = profileS;
        } else if (!result.melted && profileS >= dueFromS_ && sinceSaidS_ >= 8) {
            joints.mark(target_, SolderSeen::NotYet);
            sinceSaidS_ = 0;
        }
    }
    size_t target() const { return target_; }

private:
    Dice dice_;
    size_t target_ = 0;
    double meltsC_, lateS_, dueFromS_, sinceTurnedS_ = 0, sinceSaidS_ = 8;
};

} // namespace

BoardResult runBoard(const HeatPlan& plan, const Board& board, Told told, Seating seating)
{
    const bool withThermocouple = told == Told::ByThermocouple;
    BoardResult result;
    result.sites.resize(plan.joints.size());
    const PlateFigures figures = figuresOf(plan.sheet.plate, plan.sheet.air.ambientC);
    const PidGains gains = simcGains(figures);
    Truth truth(board);
    Dice dice(board.noiseSeed);
    Follower follower(plan, figures);
    Pid pid(gains, periodS);
    PlateFromReading plateFrom(figures);
    JointEstimate joints(plan);
    DwellGuard guard(plan);
    SeatWatch seat;
    Hands hands(plan, board.noiseSeed + 1);
    const int watched = plan.joints[hands.target()].site;
    double readingC = truth.readingC(dice);
    joints.start(readingC);
    int cycle = 0;
    while (follower.profileS() < plan.heaterOffS) {
        follower.advance(periodS, 1);
        const double feedForward =
            follower.feedForward() + gains.kPerK * gains.tdS * follower.expectedSlopeCPerS();
        truth.plate.advance(plantStepS, pid.step(follower.expectedC(), readingC, feedForward, periodS));
        readingC = truth.readingC(dice);
        const double plateC = plateFrom.of(readingC);
        joints.advance(periodS, plateC,
                       withThermocouple ? std::optional(truth.thermocoupleC(dice)) : std::nullopt);
        const double atS = follower.profileS();
        if (joints.calibrated() && !result.calibratedAtS)
            result.calibratedAtS = atS;
        if (phaseAt(plan, atS) == Phase::Preheat &&
            seat.advance(periodS, plateC, joints) == SeatWatch::Verdict::NotSeated && !result.notSeatedAtS)
            result.notSeatedAtS = atS;
        if (told == Told::ByMarks)
            hands.look(truth.at(jointOf(watched)), atS, joints, result);
        if (seating == Seating::Unseated && withThermocouple &&
            (result.notSeatedAtS || phaseAt(plan, atS) != Phase::Preheat))
            break;
        if (guard.advance(periodS, joints.hottestC(), joints.risingCPerS(), joints.parts()) !=
                DwellGuard::Verdict::Go &&
            !result.endedEarlyAtS)
            result.endedEarlyAtS = atS, result.endText = guard.text();
        const bool judged = ++cycle % 5 == 0;
        if (judged && joints.evidence().saidNotYet(hands.target())) {
            const double hope = joints
                                    .reach(follower.hottestAheadC(plan.heaterOffS),
                                           follower.secondsTo(plan.heaterOffS) + 2 * figures.elementLagS)
                                    .hope;
            result.leastHope = std::min(result.leastHope, hope);
            if (hope < 0.05 && !result.hopelessAtS)
                result.hopelessAtS = atS;
        }
        if (judged)
            for (size_t i = 0; i < plan.joints.size(); ++i) {
                const int site = plan.joints[i].site;
                judge(result.sites[i], joints.jointC(i), truth.at(jointOf(site)), joints.calibrated());
            }
    }
    result.widening = joints.widening();
    result.contact = joints.contact();
    return result;
}

} // namespace stripwright::figures
