#include "rules/wording.h"

#include <gtest/gtest.h>

namespace stripwright {
namespace {

TEST(SiteList, JoinsNeighbours)
{
    EXPECT_EQ(siteList({3}), "3");
    EXPECT_EQ(siteList({4, 5, 7, 8, 9}), "4, 5, 7-9");
    EXPECT_EQ(siteList({}), "");
}

TEST(Millimetres, ShowATenthOnlyWhereThereIsOne)
{
    EXPECT_EQ(millimetres(162.5), "162.5 mm");
    EXPECT_EQ(millimetres(-20.04), "−20 mm");
    EXPECT_EQ(millimetres(-0.01), "0 mm");
}

} // namespace
} // namespace stripwright
