#include "materials/drying_bake.h"

#include <gtest/gtest.h>

namespace stripwright {
namespace {

LedPackage led(const std::string& level, double heightMm = 0.8)
{
    return {.heightMm = heightMm, .moistureLevel = level};
}

// IPC/JEDEC J-STD-033, user bake of bodies up to 1.4 mm, level 3: 9 (7) h, 33 (23) h, 13 (9) days.
TEST(DryingBake, TakesTheTablesTimesOfALevel)
{
    EXPECT_EQ(bakeHours(led("3"), 125, {}), 9);
    EXPECT_EQ(bakeHours(led("3"), 90, {}), 33);
    EXPECT_EQ(bakeHours(led("3"), 40, {}), 13 * 24);
    EXPECT_EQ(bakeHours(led("3"), 125, 72.0), 7);
    EXPECT_EQ(bakeHours(led("3"), 90, 1.0), 23);
    EXPECT_EQ(bakeHours(led("3"), 40, 0.0), 9 * 24);
}

TEST(DryingBake, ThreeDaysOverTheFloorLifeAreTheLastThatCountAsBrief)
{
    EXPECT_LT(*bakeHours(led("4"), 125, 72.0), *bakeHours(led("4"), 125, 72.1));
    EXPECT_EQ(bakeHours(led("4"), 125, 72.1), bakeHours(led("4"), 125, {}));
}

TEST(DryingBake, TakesALevelThatIsNotStatedForTheSlowestToDry)
{
    for (const double temperatureC : bakeTemperaturesC)
        for (const std::optional<double>& over : {std::optional<double>{}, std::optional<double>{10}}) {
            const double unknown = *bakeHours(led(""), temperatureC, over);
            for (const char* level : {"2", "2a", "3", "4", "5", "5a"})
                EXPECT_GE(unknown, *bakeHours(led(level), temperatureC, over)) << level;
        }
}

TEST(DryingBake, HotterIsNeverLongerAndSoakedThroughNeverShorter)
{
    for (const char* level : {"2", "2a", "3", "4", "5", "5a"}) {
        double colder = 0;
        for (const double temperatureC : bakeTemperaturesC) {
            const double hours = *bakeHours(led(level), temperatureC, {});
            EXPECT_GT(hours, colder) << level;
            EXPECT_GE(hours, *bakeHours(led(level), temperatureC, 10.0)) << level;
            colder = hours;
        }
    }
}

TEST(DryingBake, HasNoTimeForWhatTheTableDoesNotHold)
{
    EXPECT_FALSE(bakeHours(led("1"), 125, {}));
    EXPECT_FALSE(bakeHours(led("6"), 125, {}));
    EXPECT_FALSE(bakeHours(led("3"), 100, {}));
    EXPECT_FALSE(bakeHours(led("3", 1.9), 125, {}));
    EXPECT_TRUE(bakeHours(led("3", 1.4), 125, {}));
}

} // namespace
} // namespace stripwright
