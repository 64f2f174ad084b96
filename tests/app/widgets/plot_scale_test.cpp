#include "widgets/plot_scale.h"

#include <gtest/gtest.h>

namespace stripwright {

TEST(SpreadAcross, MovesOnlyWhatWouldOverlap)
{
    const std::vector<double> widths{60, 40, 30};
    EXPECT_EQ(spreadAcross({100, 200, 300}, widths, 8, 0, 400), (std::vector<double>{100, 200, 300}));
    const auto close = spreadAcross({100, 110, 300}, widths, 8, 0, 400);
    EXPECT_GE(close[1] - close[0], 30 + 20 + 8);
    EXPECT_EQ(close[2], 300);
}

TEST(SpreadAcross, StaysBetweenItsEnds)
{
    const auto middles = spreadAcross({395, 398, 399}, {60, 40, 30}, 8, 0, 400);
    EXPECT_LE(middles[2] + 15, 400);
    EXPECT_GE(middles[2] - middles[1], 20 + 15 + 8);
    EXPECT_GE(middles[1] - middles[0], 30 + 20 + 8);
    const auto early = spreadAcross({5, 8, 12}, {60, 40, 30}, 8, 0, 400);
    EXPECT_GE(early[0] - 30, 0);
    EXPECT_GE(early[1] - early[0], 30 + 20 + 8);
}

} // namespace stripwright
