#include "models/connected_plate.h"
#include "scratch_folder.h"

#include <nlohmann/json.hpp>

#include <fstream>
#include <gtest/gtest.h>

namespace stripwright {

using nlohmann::json;

static const json learnt =
    json::parse(R"({"name": "North bench", "drive": "setpoint", "watchdog_proven_s": 3.2,
 "registers": {"fan": {"table": "coil", "address": 1}, "watchdog_s": {"address": 4}},
 "identified": {"power_W": 300, "heat_capacity_J_per_K": 243, "loss_W_per_K": 0.15, "radiating_area_m2": 0.007,
  "element_lag_s": 4, "sensor_lag_s": 2, "dead_time_s": 1, "heat_capacity_error_share": 0.02,
  "fan_loss_W_per_K": 0.4, "own_loop": {"gain_per_K": 0.07, "integral_s": 45}}})");

TEST(ConnectedPlate, IsWhatItsLinkSays)
{
    const ConnectedPlate plate = connectedPlateOf(learnt);
    EXPECT_EQ(plate.name, "North bench");
    EXPECT_TRUE(plate.bySetpoint && plate.switchesFan && plate.hasWatchdog && plate.fanLearnt);
    EXPECT_EQ(plate.watchdogProvenS, 3.2);
    ASSERT_TRUE(plate.learnt);
    EXPECT_EQ(plate.learnt->heatCapacityJPerK, 243);
    EXPECT_EQ(plate.learnt->fanLossWPerK, 0.4);
    EXPECT_EQ(plate.learnt->ownLoop->mostDuty, 1);
    EXPECT_EQ(plate.capacityError, 0.02);
    EXPECT_FALSE(plate.lossError);
}

TEST(ConnectedPlate, OfWhichAFigureIsMissingWasNotLearnt)
{
    for (const char* key : {"power_W", "loss_W_per_K", "dead_time_s"}) {
        json link = learnt;
        link["identified"][key] = "much";
        EXPECT_FALSE(connectedPlateOf(link).learnt) << key;
        EXPECT_TRUE(connectedPlateOf(link).bySetpoint);
    }
}

TEST(ConnectedPlate, ProofOfAnotherWatchdogTimeIsNone)
{
    const auto provenS = [](const char* timeS) {
        json link = learnt;
        if (timeS)
            link["watchdog_s"] = json::parse(timeS);
        return connectedPlateOf(link).watchdogProvenS;
    };
    EXPECT_EQ(provenS(nullptr), 3.2) << "3 s, if it says nothing";
    EXPECT_EQ(provenS("3.2"), 3.2);
    EXPECT_EQ(provenS("4"), 0);
    json link = learnt;
    link["watchdog_proven_s"] = 2.5;
    EXPECT_EQ(connectedPlateOf(link).watchdogProvenS, 0) << "of 3 s nobody has seen anything";
    link = learnt;
    link["registers"].erase("watchdog_s");
    EXPECT_EQ(connectedPlateOf(link).watchdogProvenS, 0);
    EXPECT_FALSE(connectedPlateOf(link).hasWatchdog);
}

TEST(ConnectedPlate, LinkOfAnyShapeIsTaken)
{
    for (const json& link : {json(), json(3), json::array(), json{{"registers", 7}, {"identified", "x"}},
                             json{{"name", 1}, {"drive", nullptr}, {"watchdog_proven_s", "a"}}})
        EXPECT_FALSE(connectedPlateOf(link).learnt) << link;
    const ScratchFolder folder;
    EXPECT_FALSE(readConnectedPlate({}));
    EXPECT_FALSE(readConnectedPlate(folder / "none.json"));
    std::ofstream(folder / "bad.json") << "{";
    EXPECT_FALSE(readConnectedPlate(folder / "bad.json"));
    std::ofstream(folder / "good.json") << learnt;
    EXPECT_EQ(readConnectedPlate(folder / "good.json")->learnt->powerW, 300);
}

} // namespace stripwright
