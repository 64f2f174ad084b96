#include "demo_sheet.h"

#include "search/whole_model.h"

#include <algorithm>
#include <gtest/gtest.h>

namespace stripwright {
namespace {

double peakC(const Prediction& prediction, StationId station)
{
    const std::vector<double>& valueC = prediction.find(station)->valueC;
    return *std::max_element(valueC.begin(), valueC.end());
}

double timeAboveS(const Prediction& prediction, StationId station, double levelC)
{
    return stripwright::timeAboveS({prediction.timeS, prediction.find(station)->valueC}, levelC);
}

BenchSheet unmarkedBar()
{
    BenchSheet sheet = test::shippedSheet("marram-lane-bar-7.bench.json");
    for (SiteOnBench& site : sheet.sites)
        site.lens = LensState::On;
    Core& core = sheet.strip.core;
    core.conductivityLowWPerMK = 138;
    core.conductivityWPerMK = 165;
    core.conductivityHighWPerMK = 232;
    return sheet;
}

const PlateCurve heat{{0, 100, 160, 200, 220, 720}, {23, 110, 130, 180, 180, 60}};
constexpr double heaterOffS = 220;

/// Every corner and the middle of what the sheet allows.
std::vector<Scenario> cornersOf(const BenchSheet& sheet)
{
    std::vector<Scenario> corners;
    const Core& core = sheet.strip.core;
    for (const double films : {-1, 0, 1})
        for (const double room : {-1, 0, 1})
            for (const double losses : {-1, 1})
                for (const double coreWPerMK : {*core.conductivityLowWPerMK, *core.conductivityHighWPerMK})
                    for (const ContactLevel contact : {ContactLevel::Low, ContactLevel::High})
                        corners.push_back({contact, 1 + films * sheet.air.filmRangeShare,
                                           room * sheet.air.ambientRangeK, coreWPerMK,
                                           1 + losses * sheet.plate.lossRangeShare});
    return corners;
}

// Wherever in the stated ranges contact, films, room, core and plate may lie, nothing is hotter or colder, or
// liquid for longer or shorter, than in the scenarios it is judged by.
TEST(Scenarios, BoundAllThatTheSheetAllows)
{
    BenchSheet sheet = unmarkedBar();
    sheet.plate.lengthMm = 100; // so that LEDs that stay are on it too
    sheet.plateStartMm -= 20;
    PredictOptions options;
    options.stepS = 2;
    const Predictions predictions = predictScenarios(sheet, heat, heaterOffS, options);
    ASSERT_EQ(predictions.size(), 4u);
    const Prediction& hottest = predictions[hottestParts(sheet)];
    const int target = sheet.targets().at(0);
    const StationId joint = jointOf(target);
    size_t parts = 0;
    for (const Scenario& corner : cornersOf(sheet)) {
        const Prediction here =
            predict(sheet, plateIn(corner, heat, heaterOffS), optionsIn(corner, sheet, options));
        for (const StationCurve& curve : here.stations)
            if (curve.station.site != target &&
                (curve.station.kind == StationKind::Glue || curve.station.kind == StationKind::Lens ||
                 curve.station.kind == StationKind::Body)) {
                EXPECT_LE(peakC(here, curve.station.id()),
                          std::max(peakC(hottest, curve.station.id()),
                                   peakC(predictions[hottestJoints], curve.station.id())) +
                              0.05)
                    << curve.station.name;
                ++parts;
            }
        EXPECT_GE(peakC(here, joint), peakC(predictions[coldest], joint) - 0.05);
        EXPECT_LE(peakC(here, joint), peakC(predictions[hottestJoints], joint) + 0.05);
        EXPECT_GE(timeAboveS(here, joint, 138), timeAboveS(predictions[coldest], joint, 138) - 0.1);
        EXPECT_LE(timeAboveS(here, joint, 138), timeAboveS(predictions[hottestJoints], joint, 138) + 0.1);
    }
    EXPECT_EQ(parts, 72 * 3 * (sheet.strip.siteXMm.size() - 1));
    const StationId glue3{StationKind::Glue, 3};
    // What each range is worth: films and room some kelvins beyond the plate's edge, the core sixteen more.
    EXPECT_GT(peakC(hottest, glue3), peakC(predictions[hottestJoints], glue3) + 5);
    EXPECT_GT(timeAboveS(predictions[hottestJoints], joint, 138),
              timeAboveS(predictions[coldest], joint, 138) + 5);
}

TEST(Scenarios, AreThreeOfACoreThatIsKnown)
{
    BenchSheet sheet = unmarkedBar();
    sheet.strip.core.conductivityLowWPerMK.reset();
    sheet.strip.core.conductivityHighWPerMK.reset();
    EXPECT_EQ(scenariosOf(sheet).size(), 3u);
    EXPECT_EQ(hottestParts(sheet), hottestJoints);
}

TEST(Scenarios, AreOneOfASheetAsThoughItWereKnown)
{
    const BenchSheet sheet = asThoughKnown(unmarkedBar());
    PredictOptions options;
    options.stepS = 2;
    const Predictions predictions = predictScenarios(sheet, heat, heaterOffS, options);
    ASSERT_EQ(predictions.size(), 3u);
    for (const StationCurve& curve : predictions[asStated].stations)
        for (const size_t other : {coldest, hottestJoints})
            EXPECT_NEAR(peakC(predictions[other], curve.station.id()),
                        peakC(predictions[asStated], curve.station.id()), 0.01);
}

TEST(Scenarios, CoastByTheirPlatesLosses)
{
    const BenchSheet sheet = unmarkedBar();
    const std::vector<Scenario> all = scenariosOf(sheet);
    const double range = sheet.plate.lossRangeShare;
    PlateCurve fine;
    for (double t = 0; t <= 720; t += 2) {
        fine.timeS.push_back(t);
        fine.plateC.push_back(heat.at(t));
    }
    const PlateCurve quick = plateIn(all[coldest], fine, heaterOffS),
                     slow = plateIn(all[hottestJoints], fine, heaterOffS);
    EXPECT_EQ(quick.at(200), heat.at(200));
    EXPECT_NEAR(quick.at(470), heat.at(220 + 250 * (1 + range)), 1e-9);
    EXPECT_NEAR(slow.at(720), heat.at(220 + 500 * (1 - range)), 1e-9);

    const std::vector<double> evenSlow = coastingIn(all[hottestJoints], fine.plateC, 2, heaterOffS);
    EXPECT_EQ(evenSlow[100], fine.plateC[100]);
    EXPECT_NEAR(evenSlow[360], slow.at(720), 1e-9);
    EXPECT_NEAR(coastingIn(all[coldest], fine.plateC, 2, heaterOffS)[360], 60 - 50 * 0.24,
                1e-9); // straight on
}

} // namespace
} // namespace stripwright
