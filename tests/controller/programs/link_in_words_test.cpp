#include "programs/link_in_words.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

using namespace stripwright;
using testing::Contains;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::Not;

namespace {

PlateLink goodLink()
{
    PlateLink link;
    link.name = "bench 2";
    link.host = "10.0.0.7";
    link.unit = 3;
    link.duty.emplace();
    link.watchdogS.emplace();
    link.watchdogProvenS = 3.9;
    link.plateMaxC = 280;
    link.identified.emplace().measuredUtc = "2026-11-25T22:00:00Z";
    return link;
}

TEST(LinkInWords, SaysPlaceDriveWatchdogAndHeat)
{
    PlateLink link = goodLink();
    EXPECT_EQ(linkInWords(link),
              "plate link of \"bench 2\" at 10.0.0.7 port 502, unit 3, driven by duty; watchdog "
              "proven to cut the heater after 3.9 s of silence; heat learnt 2026-11-25");
    link.drive = DriveKind::Setpoint;
    link.watchdogProvenS = 0;
    link.identified.reset();
    EXPECT_THAT(linkInWords(link), HasSubstr("its set-point; watchdog never proven; heat not learnt"));
    link.watchdogS.reset();
    EXPECT_THAT(linkInWords(link), HasSubstr("no watchdog named"));
}

TEST(LinkInWords, WarnsOfWhatWillBeRefusedOrSaidLater)
{
    PlateLink link = goodLink();
    EXPECT_THAT(warningsOf(link), IsEmpty());
    link.watchdogProvenS = 0;
    EXPECT_THAT(warningsOf(link), ElementsAre(HasSubstr("nobody has seen this plate cut its heater")));
    link.simulated = true;
    EXPECT_THAT(warningsOf(link), IsEmpty());
    link.plateMaxC.reset();
    EXPECT_THAT(warningsOf(link), ElementsAre(HasSubstr("plate_max_C")));
    link.drive = DriveKind::Setpoint;
    link.duty.reset();
    link.identified->ownLoop = OwnLoopFigures{.gainPerK = 0.02, .integralS = 90};
    EXPECT_THAT(warningsOf(link), Not(Contains(HasSubstr("its own loop")))) << "it was learnt";
    link.identified->ownLoop.reset();
    EXPECT_THAT(warningsOf(link), Contains(HasSubstr("its own loop"))) << "its heat was, its loop not";
    link.identified.reset();
    EXPECT_THAT(warningsOf(link), Contains(HasSubstr("no plan runs on it before \"stripwright tune\"")));
}

} // namespace
