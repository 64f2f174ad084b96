#include "models/sites_table.h"

#include "demo_sheet.h"

#include <gtest/gtest.h>

namespace stripwright {

static MarginRow jointPeak(double low, double nominal, double high)
{
    Limit limit{.id = "joint_6/peak", .station = jointOf(6), .metric = Metric::Peak, .min = 160, .max = 180};
    MarginRow row{.limit = limit, .low = low, .nominal = nominal, .high = high};
    row.margin = std::min({marginOf(limit, low), marginOf(limit, nominal), marginOf(limit, high)});
    row.normalisedMargin = row.margin / limit.halfWindow();
    return row;
}

TEST(SitesTable, ShowsTheValueThatLeavesLeastRoom)
{
    auto plan = std::make_shared<HeatPlan>();
    plan->sheet = test::shippedSheet("marram-lane-bar-7.bench.json");
    SitesTable table;
    table.setSheet(plan->sheet);
    plan->margins = {jointPeak(159, 165, 170)};
    table.setPlan(plan);
    EXPECT_EQ(table.index(5, SitesTable::PeakColumn).data().toString(), "joint 159.0 °C");
    EXPECT_TRUE(table.index(5, SitesTable::RoomColumn).data().toString().startsWith("▲"));
    plan->margins = {jointPeak(168, 172, 178)};
    table.setPlan(plan);
    EXPECT_EQ(table.index(5, SitesTable::PeakColumn).data().toString(), "joint 178.0 °C");
    EXPECT_EQ(table.index(5, SitesTable::RoomColumn).data().toString(), "+2.0 K");
    EXPECT_FALSE(table.index(4, SitesTable::PeakColumn).data().isValid());
    EXPECT_EQ(table.index(5, SitesTable::LensColumn).data().toString(), "comes off");
}

TEST(SitesTable, SaysWhatTheHeatDoesToEachLens)
{
    BenchSheet sheet = test::shippedSheet("marram-lane-bar-7.bench.json"); // 6 replace; 4, 5, 7, 8 off
    sheet.sites[1].lens = LensState::Release;
    SitesTable table;
    const auto lens = [&](int site) {
        return table.index(site - 1, SitesTable::LensColumn).data().toString();
    };
    table.setSheet(sheet);
    EXPECT_EQ(lens(1), "stays");
    EXPECT_EQ(lens(2), "off");
    EXPECT_EQ(lens(5), "off");
    EXPECT_EQ(lens(6), "comes off");
    sheet.heat = HeatKind::Release;
    table.setSheet(sheet);
    EXPECT_EQ(lens(2), "released here");
    EXPECT_EQ(lens(6), "released here");
    EXPECT_EQ(lens(5), "off");
}

} // namespace stripwright
