#include "reference_plate.h"
#include "tuning/cooling_down.h"

#include <cmath>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace stripwright {

using testing::Contains;
using testing::Each;
using testing::HasSubstr;
using testing::Not;

static const LearntErrors usual{.capacity = 0.02, .loss = 0.03, .lag = 0.02};

/// A bare reference plate left at 180 °C, and the time that was watched.
struct WatchedCooling {
    ReferencePlate plate{180};
    CoolingDown cooling{plate, {}, figuresOf(referencePlateType(), 25)};
    double wallS = 1000;

    WatchedCooling() { plate.setStripLifted(true); }
    void watch(double forS = 2000)
    {
        for (const double untilS = wallS + forS; !cooling.ended() && wallS < untilS; wallS += 0.2) {
            plate.advance(0.2);
            cooling.cycle(wallS);
        }
    }
    CoolingResult result() const { return cooling.result(180, usual); }
};

/// By hand: dt = C dT / loss(T).
static double coastByHandS(double fanLossWPerK, double lossFactor = 1)
{
    const PlateFigures plate = figuresOf(referencePlateType(), 25);
    double timeS = 0;
    for (double atC = 180 - 0.005; atC > 45; atC -= 0.01)
        timeS += 0.01 * plate.heatCapacityJPerK / (lossFactor * plate.lossW(atC) + fanLossWPerK * (atC - 25));
    return timeS;
}

TEST(CoolingDown, TellsTheFansLossAndBothTimesUntilItIsSafeToTouch)
{
    WatchedCooling of;
    of.plate.fanLossWPerK = 2.5;
    of.watch();
    ASSERT_TRUE(of.cooling.ended());
    EXPECT_LT(of.plate.plateC(), 46);
    EXPECT_FALSE(of.plate.fan());
    EXPECT_EQ(of.plate.heatingS(), 0);
    const CoolingResult result = of.result();
    ASSERT_TRUE(result.lossFactor && result.fanLossWPerK && result.safeS && result.safeWithFanS);
    EXPECT_NEAR(*result.lossFactor, 1, 0.02);
    EXPECT_NEAR(*result.fanLossWPerK / 2.5, 1, 0.03);
    EXPECT_GT(result.fanLossError, 0.02) << "no better than the heat capacity";
    EXPECT_LT(result.fanLossError, 0.1);
    EXPECT_NEAR(*result.safeS / coastByHandS(0), 1, 0.02);
    EXPECT_NEAR(*result.safeWithFanS / coastByHandS(2.5), 1, 0.02);
    std::printf("loss factor %.3f +- %.3f, fan %.3f W/K +- %.1f %%, safe after %.0f and %.0f s\n",
                *result.lossFactor, result.lossFactorError, *result.fanLossWPerK, 100 * result.fanLossError,
                *result.safeS, *result.safeWithFanS);
}

TEST(CoolingDown, PlateWhoseFanNothingSwitchesCoastsAndSaysNothingOfAFan)
{
    WatchedCooling of;
    of.plate.fanByHand = true;
    of.plate.lossFactor = 0.8;
    of.watch();
    EXPECT_TRUE(of.cooling.ended());
    EXPECT_FALSE(of.plate.fan());
    const CoolingResult result = of.result();
    EXPECT_FALSE(result.fanLossWPerK || result.safeWithFanS || result.fanBlew);
    ASSERT_TRUE(result.lossFactor);
    EXPECT_NEAR(*result.lossFactor, 0.8, 0.02);
    EXPECT_NEAR(*result.safeS / coastByHandS(0, 0.8), 1, 0.02);
    const auto lines = coolingLines(result, {.heatCapacityJPerK = 700, .lossWPerK = 1.2}, 25);
    EXPECT_THAT(lines, Contains(HasSubstr("MORE apart")));
    EXPECT_THAT(lines, Each(Not(HasSubstr("fan"))));
}

TEST(CoolingDown, FanThatDoesNotBlowOnThePlateIsSaidNotLearnt)
{
    WatchedCooling of;
    of.watch();
    const CoolingResult result = of.result();
    EXPECT_TRUE(result.fanBlew);
    EXPECT_FALSE(result.fanLossWPerK);
    EXPECT_THAT(coolingLines(result, {.heatCapacityJPerK = 700, .lossWPerK = 1.2}, 25),
                Contains(HasSubstr("does it blow")));
}

TEST(CoolingDown, LastsAQuarterOfAnHourAtMost)
{
    WatchedCooling of;
    of.plate.lossFactor = 0.2;
    of.plate.fanByHand = true;
    of.watch();
    EXPECT_TRUE(of.cooling.ended());
    EXPECT_NEAR(of.wallS - 1000, 900, 5);
    EXPECT_GT(of.plate.plateC(), 60);
    EXPECT_TRUE(of.result().safeS) << "from the figures, where the record was cut";
}

TEST(CoolingDown, StoppedByTheOperatorKeepsWhatWasSeenAndSwitchesTheFanOff)
{
    WatchedCooling of;
    of.plate.fanLossWPerK = 2.5;
    of.watch(250);
    ASSERT_TRUE(of.plate.fan());
    of.cooling.stop("stopped by the operator");
    of.watch(2);
    EXPECT_TRUE(of.cooling.ended());
    EXPECT_FALSE(of.plate.fan());
    const CoolingResult result = of.result();
    EXPECT_EQ(result.brokenOff, "");
    EXPECT_TRUE(result.lossFactor);
    EXPECT_NEAR(result.fanLossWPerK.value_or(0) / 2.5, 1, 0.1);
}

TEST(CoolingDown, StoppedAtOnceTellsNothingButTheTimeByTheFigures)
{
    WatchedCooling of;
    of.watch(3);
    of.cooling.stop("stopped by the operator");
    of.watch(2);
    EXPECT_TRUE(of.cooling.ended());
    const CoolingResult result = of.result();
    EXPECT_FALSE(result.lossFactor || result.fanLossWPerK);
    EXPECT_NEAR(result.safeS.value_or(0) / coastByHandS(0), 1, 0.01);
}

TEST(CoolingDown, RelayThatHeatsUnaskedEndsItAndNothingOfSuchAPlateMayBeUsed)
{
    WatchedCooling of;
    of.watch(60);
    of.plate.welded = true;
    of.watch(60);
    EXPECT_TRUE(of.cooling.ended());
    EXPECT_TRUE(of.result().heatsUnasked);
    EXPECT_THAT(of.result().brokenOff, HasSubstr("unexpected heat"));
}

TEST(CoolingDown, PlateThatFallsSilentEndsItAndWhatWasLearntStands)
{
    WatchedCooling of;
    of.watch(60);
    of.plate.noAnswer = true;
    of.watch(60);
    EXPECT_FALSE(of.cooling.ended()) << "its heater is not read back off";
    EXPECT_THAT(of.result().brokenOff, HasSubstr("link lost"));
    EXPECT_FALSE(of.result().heatsUnasked);
    of.plate.noAnswer = false;
    of.watch(2);
    EXPECT_TRUE(of.cooling.ended());
}

TEST(CoolingDown, RoomAsWarmAsWhatIsSafeHasNoTimeUntilThen)
{
    ReferencePlate plate(180);
    const CoolingDown cooling(plate, {}, figuresOf(referencePlateType(), 45));
    EXPECT_FALSE(cooling.result(180, usual).safeS);
    EXPECT_FALSE(coastingS(figuresOf(referencePlateType(), 25), 180, 20));
}

} // namespace stripwright
