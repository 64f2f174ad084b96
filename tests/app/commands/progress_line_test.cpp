#include "commands/progress_line.h"

#include <algorithm>
#include <gtest/gtest.h>

using namespace stripwright;

namespace {

const std::string welded = "unexpected heat: 0 % of full power given, 61 % arrives; a relay may be welded "
                           "shut: pull the mains plug";

Status coolingAt(double sensorC)
{
    return {.state = RunState::Cooling,
            .heater = HeaterState::OffConfirmed,
            .link = LinkState::Up,
            .sensorC = sensorC,
            .profileS = 301,
            .endS = 420};
}

} // namespace

TEST(ProgressLine, SaysWhereARunStands)
{
    Sample sample;
    sample.jointNominalC = 231.4;
    EXPECT_EQ(progressText(coolingAt(250.6), sample, ""),
              "5:01 of 7:00, cooling, heater off, plate 251 °C, joint 231 °C est.");
    EXPECT_EQ(progressText({}, {}, ""), "idle, plate unknown, heater state unknown") << "no run, no clock";
}

TEST(ProgressLine, DoesNotCallAHeaterOffThatIsNotConfirmed)
{
    Status status = coolingAt(251);
    status.heater = HeaterState::OffCommanded;
    EXPECT_EQ(progressText(status, {}, ""),
              "5:01 of 7:00, cooling, heater off commanded, not confirmed, plate 251 °C");
}

TEST(ProgressLine, SaysUnexpectedHeatInsteadOfACalmCooling)
{
    const std::string line = progressText(coolingAt(251), {}, welded);
    EXPECT_TRUE(line.starts_with("UNEXPECTED HEAT: 0 %")) << line;
    EXPECT_NE(line.find("pull the mains plug"), std::string::npos) << line;
    EXPECT_NE(line.find("251 °C"), std::string::npos) << line;
    EXPECT_EQ(line.find("cooling"), std::string::npos) << line;
    EXPECT_EQ(line.find("heater off"), std::string::npos) << line;
}

TEST(ProgressLine, TellsNoTimesOfThePlanOnceTheHeatWasBrokenOff)
{
    EXPECT_EQ(progressText(coolingAt(250.6), {}, "", true), "cooling, heater off, plate 251 °C");
}

TEST(ProgressLine, SaysATroubleOnceThenOnceAMinuteHowLongItLasts)
{
    using namespace std::chrono_literals;
    Status status = coolingAt(251);
    status.trip = Trip{welded, false, true};
    ProgressLine line(false);
    const auto begun = std::chrono::steady_clock::now();
    testing::internal::CaptureStderr();
    for (auto after = 0s; after < 130s; after += 1s) {
        *status.sensorC += 0.05; // what changes all the time is no news
        status.trip->text = "unexpected heat: 0 % given, " + std::to_string(after.count() % 7) + " % arrives";
        line.show(status, {}, false, begun + after);
    }
    const std::string said = testing::internal::GetCapturedStderr();
    EXPECT_EQ(std::ranges::count(said, '\n'), 3) << said;
    EXPECT_NE(said.find("for 1 min"), std::string::npos) << said;
    testing::internal::CaptureStderr();
    *status.sensorC += 10;
    line.show(status, {}, false, begun + 130s);
    EXPECT_NE(testing::internal::GetCapturedStderr().find("268 °C"), std::string::npos)
        << "it goes on rising";
    EXPECT_NE(said.find("for 2 min"), std::string::npos) << said;
    status.trip->text = "link lost: no answer";
    testing::internal::CaptureStderr();
    line.show(status, {}, false, begun + 131s);
    EXPECT_TRUE(testing::internal::GetCapturedStderr().starts_with("LINK LOST")) << "another one is news";
}

TEST(UnaskedHeat, IsToldWhileTheCauseOfATripIsThere)
{
    UnaskedHeat heat;
    Status status = coolingAt(251);
    EXPECT_EQ(heat.text(status), "");
    status.trip = Trip{welded, true, true};
    EXPECT_EQ(heat.text(status), welded);
    status.trip->causeSeen = false;
    EXPECT_EQ(heat.text(status), "");
}

TEST(UnaskedHeat, ThatComesAfterAnotherFirstCauseIsToldUntilThePlateFalls)
{
    UnaskedHeat heat;
    Status status = coolingAt(251);
    status.trip = Trip{"over temperature: 260 C", false, false};
    heat.take({.kind = "interlock", .severity = "warning", .text = "unexpected heat, only a warning"});
    EXPECT_EQ(heat.text(status), "");
    heat.take({.kind = "interlock", .severity = "trip", .text = welded});
    for (const double sensorC : {251.0, 300.0, 352.0, 349.0}) {
        status.sensorC = sensorC;
        EXPECT_EQ(heat.text(status), welded) << sensorC;
    }
    status.sensorC.reset();
    EXPECT_EQ(heat.text(status), welded); // unknown is not cooler
    status.sensorC = 346;
    EXPECT_EQ(heat.text(status), "");
}
