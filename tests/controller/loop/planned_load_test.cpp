#include "loop/planned_load.h"

#include "reference_plate.h"

#include <gtest/gtest.h>

namespace stripwright {

TEST(PlannedLoad, IsWhatTheDutyGivesBeyondThePlatesOwnHeat)
{
    const PlannedLoad load(referencePlan());
    EXPECT_NEAR(load.shareAt(100), 30 * 0.8 / 900, 0.01) << "a board of 30 J/K at 0.8 K/s";
    EXPECT_EQ(load.shareAt(-1), 0);
    EXPECT_EQ(load.shareAt(0), 0);
    EXPECT_NEAR(load.shareAt(1e6), 0, 0.01);
}

} // namespace stripwright
