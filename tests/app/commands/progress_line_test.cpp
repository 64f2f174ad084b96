#include "commands/progress_line.h"

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
              "301 of 420 s, cooling, heater off, plate 251 °C, joint 231 °C est., heater off");
    EXPECT_NE(progressText({}, {}, "").find("plate unknown"), std::string::npos);
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
