#include "tuning/measured_plate.h"

#include "scratch_folder.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace stripwright {

using testing::HasSubstr;
using testing::Not;

static PlateLink learntLink()
{
    PlateLink link;
    link.name = "North bench";
    link.sensorMaxC = 400;
    link.watchdogProvenS = 3.4;
    link.identified = IdentifiedPlate{.measuredUtc = "2026-11-30T12:00:00Z",
                                      .powerW = 300,
                                      .heatCapacityJPerK = 194.3712,
                                      .lossWPerK = 0.154321,
                                      .radiatingAreaM2 = 0.00723123,
                                      .elementLagS = 4.0123,
                                      .sensorLagS = 2.5,
                                      .deadTimeS = 1,
                                      .fitRmsK = 0.123,
                                      .capacityError = 0.021,
                                      .lossError = 0.06,
                                      .lagError = 0.013};
    return link;
}

TEST(MeasuredPlate, HasWhatWasLearntWithItsUncertaintyInTheRangeOfItsLosses)
{
    const PlateType plate = measuredPlate(learntLink(), {100, 80, 8}, 280, {});
    EXPECT_EQ(plate.id, "north-bench-measured");
    EXPECT_EQ(plate.widthMm, 80);
    EXPECT_EQ(plate.powerW, 300);
    EXPECT_EQ(plate.heatCapacityJPerK, 194.4);
    EXPECT_EQ(plate.lossWPerK, 0.1543);
    EXPECT_EQ(plate.radiatingAreaM2, 0.007231);
    EXPECT_EQ(plate.elementLagS, 4.012);
    EXPECT_EQ(plate.lossRangeShare, 0.12);
    EXPECT_EQ(plate.maxC, 280);
    EXPECT_FALSE(plate.ownLoop);
    EXPECT_THAT(plate.source,
                HasSubstr("measured on this plate 2026-11-30: fit 0.12 K RMS; heat capacity +- 3 %"));
    EXPECT_THAT(plate.source, Not(HasSubstr("simulated")));
}

TEST(MeasuredPlate, IsAnEntryThatTheShelfTakes)
{
    const ScratchFolder folder;
    const PlateType plate = measuredPlate(learntLink(), {100, 80, 8}, 280, {});
    putOwnPlate(folder / "", plate);
    EXPECT_EQ(readPlatesOf(folder / "").at(0), plate);
}

TEST(MeasuredPlate, TakesItsOwnLoopAlongAndTheSilenceAfterWhichItWasFoundCut)
{
    PlateLink link = learntLink();
    link.identified->ownLoop = OwnLoopFigures{.gainPerK = 0.07, .integralS = 45};
    EXPECT_EQ(measuredPlate(link, {100, 80, 8}, 280, {}).ownLoop->cutAfterS, 3.4);
    link.watchdogProvenS = 3.40012345;
    EXPECT_EQ(measuredPlate(link, {100, 80, 8}, 280, {}).ownLoop->cutAfterS, 3.4) << "in four digits";
    link.watchdogProvenS = 0;
    EXPECT_FALSE(measuredPlate(link, {100, 80, 8}, 280, {}).ownLoop->cutAfterS) << "never proven is no time";
}

TEST(MeasuredPlate, KeepsTheFanOfBeforeWhereItWasNotLearntThisTime)
{
    PlateLink link = learntLink();
    PlateType before = measuredPlate(link, {100, 80, 8}, 280, {});
    before.name = "Mine";
    before.fanLossWPerK = 0.34;
    EXPECT_EQ(measuredPlate(link, {100, 80, 8}, 280, before).fanLossWPerK, 0.34);
    EXPECT_EQ(measuredPlate(link, {100, 80, 8}, 280, before).name, "Mine");
    EXPECT_THAT(measuredPlate(link, {100, 80, 8}, 280, before).source, HasSubstr("fan_loss_W_per_K: as in"));
    link.identified->fanLossWPerK = 0.51237;
    EXPECT_EQ(measuredPlate(link, {100, 80, 8}, 280, before).fanLossWPerK, 0.5124);
}

TEST(MeasuredPlate, IsNeverSaidToStandMoreThanAnyOfWhatIsKnown)
{
    PlateLink link = learntLink();
    EXPECT_EQ(measuredPlateMaxC(link, 300), 300);
    EXPECT_EQ(measuredPlateMaxC(link, 450), 400) << "what its sensor reads";
    link.plateMaxC = 250;
    EXPECT_EQ(measuredPlateMaxC(link, 300), 250);
}

} // namespace stripwright
