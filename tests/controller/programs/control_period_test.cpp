#include "programs/control_period.h"

#include "link/line_time.h"

#include <gtest/gtest.h>

namespace stripwright {

static PlateLink serialLink(int baud)
{
    PlateLink link;
    link.serial = SerialLine{.device = "/dev/ttyS9", .baud = baud};
    link.sensor = {.table = RegisterTable::Input, .address = 0};
    link.duty = RegisterField{.table = RegisterTable::Holding, .address = 0};
    return link;
}

TEST(ControlPeriod, IsAFifthOfASecondOverANetworkHoweverFastThePlateRuns)
{
    PlateLink link = serialLink(9600);
    link.serial.reset();
    EXPECT_EQ(controlPeriodS(link, 1), 0.2);
    EXPECT_EQ(controlPeriodS(link, 40), 0.2);
}

TEST(ControlPeriod, IsNeverShorterThanTheTimeBetweenReadings)
{
    PlateLink link = serialLink(19200);
    link.readingEveryS = 1.5;
    EXPECT_EQ(controlPeriodS(link, 1), 1.5);
    EXPECT_EQ(controlPeriodS(link, 4), 1.5) << "both are the plate's own time";
    link.serial.reset();
    EXPECT_EQ(controlPeriodS(link, 1), 1.5);
}

TEST(ControlPeriod, GrowsWithASlowLineSoThatItsTalkFitsIn)
{
    EXPECT_EQ(controlPeriodS(serialLink(115200), 1), std::max(0.2, 1.25 * cycleS(serialLink(115200))));
    PlateLink slow = serialLink(9600);
    slow.serial->turnroundS = 0.08;
    EXPECT_NEAR(controlPeriodS(slow, 1), 1.25 * cycleS(slow), 1e-12);
    EXPECT_GT(controlPeriodS(slow, 1), 0.2);
    EXPECT_NEAR(controlPeriodS(slow, 10), 12.5 * cycleS(slow), 1e-12); // plant time runs ten times as fast
}

TEST(ControlPeriod, LineTooSlowToWatchAPlateIsRefusedWithItsFigures)
{
    PlateLink wide = serialLink(1200);
    for (int i = 0; i < 20; ++i)
        wide.channels.push_back({"more", {.address = 2 * i, .type = RegisterType::Float32}});
    try {
        controlPeriodS(wide, 1);
        FAIL();
    } catch (const LinkError& error) {
        EXPECT_NE(std::string(error.what()).find("1200"), std::string::npos) << error.what();
        EXPECT_NE(std::string(error.what()).find("baud"), std::string::npos) << error.what();
    }
}

} // namespace stripwright
