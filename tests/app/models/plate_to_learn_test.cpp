#include "models/plate_to_learn.h"

#include <gtest/gtest.h>

namespace stripwright {

using nlohmann::json;

TEST(PlateToLearn, NothingIsMissingOnlyWhenPowerSizeProofAndWordAreThere)
{
    const json link = json::object();
    const PlateToLearn whole{.link = &link, .bare = true, .powerW = 300, .size = "100x100x8"};
    EXPECT_TRUE(missingToLearn(whole).isEmpty());
    const auto with = [&](auto change) {
        PlateToLearn plate = whole;
        change(plate);
        return missingToLearn(plate);
    };
    using Plate = PlateToLearn;
    EXPECT_TRUE(with([](Plate& plate) { plate.link = nullptr; }).join(';').contains("warmed and proven"));
    EXPECT_TRUE(with([](Plate& plate) { plate.asConnected = false; }).join(';').contains("proven again"));
    EXPECT_EQ(with([](Plate& plate) { plate.powerW.reset(); }), QStringList{"the power of its heater"});
    EXPECT_EQ(with([](Plate& plate) { plate.size = " "; }), QStringList{"its size, or that it is not known"});
    EXPECT_TRUE(with([](Plate& plate) { plate.size = "100x100"; }).join(';').contains("such as 100x100x8"));
    EXPECT_EQ(with([](Plate& plate) { plate.bare = false; }).size(), 1);
    EXPECT_TRUE(with([](Plate& plate) {
                    plate.size = "100x100"; // what stands there does not count then
                    plate.sizeNotKnown = true;
                }).isEmpty());
    EXPECT_EQ(missingToLearn({}).size(), 4);
    const json low = {{"plate_max_C", 110}};
    EXPECT_TRUE(with([&](Plate& plate) { plate.link = &low; }).join(';').contains("120 °C"));
}

TEST(PlateToLearn, StaysBelowTheHighestTemperatureOfThePlate)
{
    EXPECT_EQ(learningTopC(json::object()), 180);
    EXPECT_EQ(learningTopC({{"plate_max_C", 300}}), 180);
    EXPECT_EQ(learningTopC({{"plate_max_C", 150}}), 130);
    EXPECT_FALSE(learningTopC({{"plate_max_C", 110}}));
}

TEST(PlateToLearn, EveryPlateThatNobodyHasSeenCutItsHeaterMayGoOnHeating)
{
    const json proven = json::parse(
        R"({"watchdog_s": 3, "watchdog_proven_s": 4.4, "registers": {"watchdog_s": {"address": 4}}})");
    const json told = json::parse(R"({"registers": {"duty": {"address": 3}}})");
    for (const char* drive : {"duty", "setpoint"})
        for (const json& registers : {json::object(), told}) {
            json plate = registers;
            plate["drive"] = drive;
            EXPECT_TRUE(mayGoOnHeating(plate)) << plate;
            json seen = plate;
            seen.merge_patch(proven);
            EXPECT_FALSE(mayGoOnHeating(seen)) << seen;
            seen["watchdog_s"] = 5; // another time, of which nobody has seen anything
            EXPECT_TRUE(mayGoOnHeating(seen)) << seen;
            plate["simulated"] = true;
            EXPECT_FALSE(mayGoOnHeating(plate)) << plate;
        }
    EXPECT_FALSE(mayGoOnHeating(json()));
}

} // namespace stripwright
