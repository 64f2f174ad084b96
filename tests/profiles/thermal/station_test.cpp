#include "demo_sheet.h"

#include "thermal/strip_model.h"

#include <gtest/gtest.h>

namespace stripwright {
namespace {

TEST(StationId, HasTheNameThatFilesHave)
{
    const std::pair<StationId, const char*> table[] = {
        {{StationKind::Plate}, "plate"},        {{StationKind::Sensor}, "sensor"},
        {{StationKind::Joint, 6}, "joint_6"},   {{StationKind::Body, 12}, "body_12"},
        {{StationKind::Glue, 5}, "glue_5"},     {{StationKind::FarFoot, 4}, "farfoot_4"},
        {{StationKind::Lens, 400}, "lens_400"}, {{StationKind::Dielectric, 6}, "dielectric_6"},
        {{StationKind::Spare, 1}, "spare_1"},   {{StationKind::NewLed, 6}, "newled_6"},
    };
    for (const auto& [id, name] : table) {
        EXPECT_EQ(id.name(), name);
        EXPECT_EQ(StationId::named(name), id) << name;
    }
}

TEST(StationId, IsOfNoOtherText)
{
    for (const char* text : {"",         "_",        "_6",        "joint",     "joint_",
                             "joint_0",  "joint_-6", "joint_+6",  "joint_06",  "joint_6 ",
                             " joint_6", "joint_6x", "joint_6_C", "joint_6.5", "joint_99999999999",
                             "joint6",   "Joint_6",  "joints_6",  "plate_",    "plate_1",
                             "sensor_1", "strip",    "strip_210", "block_1",   "estimate"})
        EXPECT_EQ(StationId::named(text), std::nullopt) << text;
}

TEST(StationId, FindsTheStationsOfAModelThatLieAtSites)
{
    BenchSheet sheet = test::shippedSheet("marram-lane-bar-5-release.bench.json");
    StripModelOptions options;
    options.plateIsNode = true;
    options.spares = {{4, 30}, {5, 60}};
    options.stripXMm = {10, 20};
    const StripModel model = buildStripModel(sheet, options);
    size_t named = 0;
    for (const Station& station : model.stations)
        if (const auto id = StationId::named(station.name)) {
            EXPECT_EQ(*id, station.id()) << station.name;
            EXPECT_EQ(model.find(*id), &station) << station.name;
            ++named;
        }
    EXPECT_EQ(named, model.stations.size() - 2 - sheet.sinkBlocks.size());
    EXPECT_EQ(model.find({StationKind::NewLed, 4}), nullptr);
}

} // namespace
} // namespace stripwright
