#include "analysis/limits.h"

#include <cmath>
#include <gtest/gtest.h>

namespace stripwright {
namespace {

/// A 2835: 3.5 x 2.8 x 0.75 mm at 2 MJ/m³K and 1 W/mK on a dielectric of 100 µm under its heated copper.
constexpr SetDownBody body2835{.heatCapacityJPerK = 0.0147, .toCoreKPerW = 4.78, .acrossKPerW = 76.5};

double settling(double padC, double startC, double seconds)
{
    return padC - (padC - startC) * std::exp(-seconds / body2835.tauS());
}

/// Pad that keeps one temperature, at samples that lie nowhere special.
struct HeldPad {
    HeldPad(double padC, std::vector<double> times) : timeS(std::move(times)), valueC(timeS.size(), padC) {}
    Curve curve() const { return {timeS, valueC}; }
    std::vector<double> timeS, valueC;
};

TEST(SetDown, HasTheTimeConstantOfABodyBehindFourTenthsOfItsOwnResistance)
{
    EXPECT_NEAR(body2835.tauS(), 0.520086, 1e-9);
    // First mode of the slab with an insulated top: tau_1 = C R_s / zeta², zeta tan zeta = R_s / R_e.
    const double biot = body2835.acrossKPerW / body2835.toCoreKPerW;
    double low = 0, high = std::acos(0.0);
    for (int i = 0; i < 60; ++i) {
        const double zeta = (low + high) / 2;
        (zeta * std::tan(zeta) < biot ? low : high) = zeta;
    }
    const double firstModeS = body2835.heatCapacityJPerK * body2835.acrossKPerW / (low * low);
    EXPECT_NEAR(firstModeS, 0.514327, 1e-6);
    EXPECT_NEAR(body2835.tauS() / firstModeS, 1, 0.05);
}

TEST(SetDown, MeltsTheSolderUnderIt)
{
    EXPECT_NEAR(remeltS(body2835, 245, 25, 220).value(), 1.131058, 1e-6);
    EXPECT_NEAR(remeltS(body2835, 245, 120, 220).value(), 0.837046, 1e-6);
    EXPECT_NEAR(remeltS(body2835, 230, 25, 220).value(), 1.570881, 1e-6);
    EXPECT_NEAR(remeltS(body2835, 165, 25, 138).value(), 0.855960, 1e-6);
    EXPECT_NEAR(remeltS(body2835, 145, 25, 138).value(), 1.477867, 1e-6);
}

TEST(SetDown, NeverMeltsOnAPadThatIsNoHotterAndAtOnceUnderABodyThatIs)
{
    EXPECT_FALSE(remeltS(body2835, 220, 25, 220));
    EXPECT_FALSE(remeltS(body2835, 200, 25, 220));
    EXPECT_EQ(remeltS(body2835, 245, 230, 220), 0);
}

TEST(NewLedCurve, SettlesOntoAHeldPadBetweenItsSamples)
{
    const double doneS = 3.7;
    const HeldPad pad(245, {0, 2, doneS + 0.25, doneS + 0.5, doneS + 1, doneS + 2, doneS + 3});
    const double fromCold[] = {25, 108.9615, 160.8797, 212.8353, 240.2974, 244.3125};
    const double fromWarm[] = {120, 167.7054, 197.2044, 226.7246, 242.3281, 244.6094};
    for (const auto& expected : {fromCold, fromWarm}) {
        const OwnedCurve led =
            newLedCurve(pad.curve(), {.doneS = doneS, .startC = expected[0], .body = body2835});
        ASSERT_EQ(led.timeS,
                  (std::vector<double>{doneS, doneS + 0.25, doneS + 0.5, doneS + 1, doneS + 2, doneS + 3}));
        for (size_t i = 0; i < led.valueC.size(); ++i) {
            EXPECT_NEAR(led.valueC[i], expected[i], 5e-5) << i;
            EXPECT_NEAR(led.valueC[i], settling(245, expected[0], led.timeS[i] - doneS), 1e-9) << i;
        }
    }
}

// C dT/dt = (P + s t - T) / R: T = P + s (t - tau) + (T_0 - P + s tau) exp(-t / tau), however coarse the
// samples.
TEST(NewLedCurve, IsExactOnAPadThatChangesAlongAStraightLine)
{
    const double slope = -0.8, atZeroC = 251, doneS = 11.3, startC = 23, tauS = body2835.tauS();
    const double padC = atZeroC + slope * doneS;
    std::vector<double> timeS, valueC;
    for (const double t : {0.0, 10.0, 12.0, 12.5, 19.0, 40.0}) {
        timeS.push_back(t);
        valueC.push_back(atZeroC + slope * t);
    }
    const OwnedCurve led = newLedCurve({timeS, valueC}, {.doneS = doneS, .startC = startC, .body = body2835});
    ASSERT_EQ(led.timeS.size(), 5u);
    for (size_t i = 0; i < led.timeS.size(); ++i) {
        const double t = led.timeS[i] - doneS;
        EXPECT_NEAR(led.valueC[i],
                    padC + slope * (t - tauS) + (startC - padC + slope * tauS) * std::exp(-t / tauS), 1e-9)
            << led.timeS[i];
    }
    EXPECT_NEAR(led.valueC.back() - valueC.back(), -slope * tauS, 1e-9); // lags behind by tau
}

TEST(NewLedCurve, GoesOnThroughABendOfThePadAsThroughTwoCurves)
{
    const HeldPad hot(240, {0, 5, 6, 8});
    std::vector<double> valueC = hot.valueC;
    valueC.back() = 220;
    const OwnedCurve bent = newLedCurve({hot.timeS, valueC}, {.doneS = 5, .startC = 25, .body = body2835});
    ASSERT_EQ(bent.valueC.size(), 3u);
    const double atBendC = settling(240, 25, 1), slope = -10, tauS = body2835.tauS();
    EXPECT_NEAR(bent.valueC[1], atBendC, 1e-9);
    EXPECT_NEAR(bent.valueC[2], 220 - slope * tauS + (atBendC - 240 + slope * tauS) * std::exp(-2 / tauS),
                1e-9);
}

TEST(PadDip, IsThatOfTwoLumpsOnAHeldCore)
{
    const PadDip dip{.padJPerK = 1.11e-3,
                     .bodyJPerK = 14.7e-3,
                     .padToCoreKPerW = 4.55,
                     .padToBodyKPerW = 31,
                     .coreC = 245,
                     .startC = 25};
    EXPECT_NEAR(dip.lowestAtS(), 0.0211980, 5e-8);
    EXPECT_NEAR(dip.padC(dip.lowestAtS()), 217.9941, 5e-5);
    struct At {
        double seconds, padC, bodyC;
    };
    for (const At& at : {At{0, 245, 25}, At{0.01, 220.0960, 29.4074}, At{0.1, 221.5729, 63.5006},
                         At{0.5, 234.0928, 160.4976}, At{1, 240.8053, 212.5016}, At{2, 244.3796, 240.1933}}) {
        EXPECT_NEAR(dip.padC(at.seconds), at.padC, 5e-5) << at.seconds;
        EXPECT_NEAR(dip.bodyC(at.seconds), at.bodyC, 5e-5) << at.seconds;
    }
    for (const double off : {-1e-3, 1e-3})
        EXPECT_GT(dip.padC(dip.lowestAtS() + off), dip.padC(dip.lowestAtS()));
}

/// Three sites at the usual pace: 5 s to look, 15 s a site, 10 s to wet.
HandWork threeSites()
{
    return {.sites = {2, 4, 6},
            .meltsC = 220,
            .firstS = 5,
            .eachS = 15,
            .setsDown = true,
            .wettingS = 10,
            .newMeltsC = 220,
            .body = body2835};
}

/// Up through 220 °C at `fromS`, at 1 K/s to 245 °C, held there, and down at 1 K/s through it again at `toS`.
struct Joint {
    Joint(double fromS, double toS)
        : timeS{0, fromS - 120, fromS + 25, toS - 25, toS + 120}, valueC{100, 100, 245, 245, 100}
    {
    }
    operator Curve() const { return {timeS, valueC}; }
    std::vector<double> timeS, valueC;
};

TEST(HandWork, NeedsAFirstLookEverySiteInTurnAndTimeToWet)
{
    HandWork work = threeSites();
    EXPECT_DOUBLE_EQ(work.needS(), 60);
    work.sites = {2, 4};
    EXPECT_DOUBLE_EQ(work.needS(), 45);
    work = threeSites();
    work.eachS = 8;
    EXPECT_DOUBLE_EQ(work.needS(), 39);
    work.eachS = 5; // lifting alone
    work.wettingS = 0;
    EXPECT_DOUBLE_EQ(work.needS(), 20);
}

TEST(HandTimes, CountFromWhenTheLastJointIsLiquid)
{
    const Joint early(150, 230), late(163.5, 225), between(158, 240);
    const HandTimes times = handTimesOf(threeSites(), {early, late, between});
    ASSERT_TRUE(times.sureFromS);
    EXPECT_NEAR(*times.sureFromS, 163.5, 1e-9);
    ASSERT_EQ(times.doneS.size(), 3u);
    EXPECT_NEAR(times.doneS[0], 163.5 + 20, 1e-9);
    EXPECT_NEAR(times.doneS[1], 163.5 + 35, 1e-9);
    EXPECT_NEAR(times.doneS[2], 163.5 + 50, 1e-9);
}

TEST(HandTimes, GoOnFromThePeakWhereAJointNeverMeltsAndSayThatItDoesNot)
{
    const Joint melts(150, 230);
    Joint cold(160, 230);
    for (double& valueC : cold.valueC)
        valueC -= 40;
    const HandTimes times = handTimesOf(threeSites(), {melts, cold, melts});
    EXPECT_FALSE(times.sureFromS);
    ASSERT_EQ(times.doneS.size(), 3u);
    EXPECT_NEAR(times.doneS[0], 185 + 20, 1e-9); // its peak comes at 160 + 25 s
}

// 52 s of sure liquid are too few for three sites at 15 s and enough for two, or for quick hands.
TEST(HandsFit, CountsFromTheFirstSureMomentToTheEarliestFall)
{
    Limit fit{.metric = Metric::LiquidForHands, .levelC = 220, .min = threeSites().needS()};
    const Joint joint(150, 215);
    const SiteWork work{.sureFromS = 163, .doneS = 183, .lastDoneS = 213};
    EXPECT_NEAR(measure(fit, joint, &work).value(), 52, 1e-9);
    EXPECT_NEAR(marginRow(fit, Judged{joint, work}, {}, {}).margin, -8, 1e-9);
    fit.min = 39;
    EXPECT_NEAR(marginRow(fit, Judged{joint, work}, {}, {}).margin, 13, 1e-9);
}

TEST(HandsFit, IsNeverKeptWhereAJointIsNeverSureOrNobodySaysWhenTheHandsWork)
{
    const Limit fit{.metric = Metric::LiquidForHands, .levelC = 220, .min = 30};
    const Joint joint(150, 215);
    const SiteWork never{.doneS = 183, .lastDoneS = 213};
    EXPECT_FALSE(measure(fit, joint, &never));
    EXPECT_LT(marginRow(fit, Judged{joint, never}, {}, {}).margin, 0);
    for (const Metric metric :
         {Metric::LiquidForHands, Metric::Wetting, Metric::SpentBefore, Metric::Shock}) {
        Limit limit = fit;
        limit.metric = metric;
        EXPECT_TRUE(limit.needsHands());
        EXPECT_FALSE(measure(limit, joint));
        EXPECT_LT(marginRow(limit, Judged{joint}, {}, {}).margin, 0);
    }
}

TEST(Wetting, BeginsOnceTheSolderUnderTheLedHasMeltedAgain)
{
    const Limit wets{.metric = Metric::Wetting, .levelC = 220, .min = 2.5};
    const Joint joint(150, 230); // at 245 °C from 175 s to 205 s
    SiteWork work{.sureFromS = 150, .doneS = 190, .lastDoneS = 190, .startC = 25, .body = body2835};
    EXPECT_NEAR(measure(wets, joint, &work).value(), 230 - 190 - 1.131058, 1e-6);
    work.startC = 120;
    EXPECT_NEAR(measure(wets, joint, &work).value(), 230 - 190 - 0.837046, 1e-6);
    work.doneS = 231; // frozen by then: no joint, however long it was liquid before
    EXPECT_FALSE(measure(wets, joint, &work));
    EXPECT_LT(marginRow(wets, Judged{joint, work}, {}, {}).margin, 0);
}

// Flux laid on cold works from the first melt on: of three sites done 20, 35 and 50 s later the last is past
// the 45 s that flux for lead-bearing solder lives, and inside the 60 s of others.
TEST(FluxLife, IsSpentFromTheFirstMeltUntilTheLastSetDown)
{
    Limit life{.metric = Metric::SpentBefore, .levelC = 220, .max = 60};
    const Joint joint(150, 240);
    const SiteWork first{.sureFromS = 150, .doneS = 170, .lastDoneS = 200};
    EXPECT_NEAR(measure(life, joint, &first).value(), 50, 1e-9);
    EXPECT_NEAR(marginRow(life, Judged{joint, first}, {}, {}).margin, 10, 1e-9);
    life.max = 45;
    EXPECT_NEAR(marginRow(life, Judged{joint, first}, {}, {}).margin, -5, 1e-9);
}

TEST(SetDownStep, IsThePadOverTheLed)
{
    Limit step{.metric = Metric::Shock, .max = 225};
    const Joint joint(150, 240);
    SiteWork work{.sureFromS = 150, .doneS = 190, .lastDoneS = 190, .startC = 25};
    EXPECT_NEAR(marginRow(step, Judged{joint, work}, {}, {}).margin, 225 - 220, 1e-9);
    step.max = 130;
    EXPECT_NEAR(marginRow(step, Judged{joint, work}, {}, {}).margin, 130 - 220, 1e-9);
    work.startC = 115;
    EXPECT_NEAR(marginRow(step, Judged{joint, work}, {}, {}).margin, 0, 1e-9);
}

// Of 75 s above 217 °C an LED set down 20 s after the beginning sees 55 less what its body takes to get
// there.
TEST(NewLedCurve, CountsTimeAboveALevelFromItsOwnArrivalThere)
{
    std::vector<double> finely;
    for (int i = 0; i <= 3000; ++i)
        finely.push_back(i * 0.025);
    const HeldPad pad(245, finely);
    const OwnedCurve led = newLedCurve(pad.curve(), {.doneS = 20, .startC = 25, .body = body2835});
    const Limit above{.metric = Metric::TimeAbove, .levelC = 217, .max = 150};
    EXPECT_NEAR(measure(above, led).value(), 55 - remeltS(body2835, 245, 25, 217).value(), 0.001);
}

TEST(Limits, MayLeaveOutTheBeginningOfACurve)
{
    std::vector<double> timeS, valueC;
    for (double t = 0; t <= 40; t += 1) {
        timeS.push_back(t);
        valueC.push_back(t < 5 ? 25 + 40 * t : 225 + 0.5 * (t - 5));
    }
    Limit ramp{.metric = Metric::SteepestRise, .max = 3};
    EXPECT_GT(measure(ramp, {timeS, valueC}).value(), 20);
    ramp.skipS = 5;
    EXPECT_NEAR(measure(ramp, {timeS, valueC}).value(), 0.5, 1e-9);
    ramp.skipS = 41; // nothing left: not kept
    EXPECT_LT(marginRow(ramp, Judged{{timeS, valueC}}, {}, {}).margin, 0);
}

TEST(Limits, AskNothingOfACurveThatStaysBelowWhereTheyBegin)
{
    const std::vector<double> timeS = {0, 10, 20}, cool = {25, 149, 149}, warm = {25, 150, 150};
    const Limit ramp{.metric = Metric::SteepestRise, .max = 3, .onlyIfReachesC = 150};
    EXPECT_EQ(marginRow(ramp, {}, {}, Judged{{timeS, cool}}).margin, INFINITY);
    EXPECT_NEAR(marginRow(ramp, {}, {}, Judged{{timeS, warm}}).margin, 3 - 12.5, 1e-9);
    // One curve that reaches it is enough.
    EXPECT_NEAR(marginRow(ramp, Judged{{timeS, cool}}, {}, Judged{{timeS, warm}}).margin, 3 - 12.5, 1e-9);
}

} // namespace
} // namespace stripwright
