#include "demo_sheet.h"

#include "search/whole_model.h"

#include <algorithm>
#include <gtest/gtest.h>

namespace stripwright {
namespace {

double peakC(const Prediction& prediction, const std::string& station)
{
    const std::vector<double>& valueC = prediction.find(station)->valueC;
    return *std::max_element(valueC.begin(), valueC.end());
}

// Wherever in the stated ranges contact, films and room may lie, no part gets hotter than in warm air.
TEST(WarmAir, IsWhatHeatsPartsTheMostOfAllThatTheSheetAllows)
{
    BenchSheet sheet = test::shippedSheet("marram-lane-bar-7.bench.json");
    for (SiteOnBench& site : sheet.sites)
        site.lens = LensState::On;
    PlateCurve plate{{0, 100, 160, 200, 220, 720}, {23, 110, 130, 180, 180, 60}};
    PredictOptions options;
    options.stepS = 2;
    const Predictions predictions = predictScenarios(sheet, plate, options);
    size_t compared = 0;
    for (const double films : {1 - sheet.air.filmRangeShare, 1.0, 1 + sheet.air.filmRangeShare})
        for (const double roomK : {-sheet.air.ambientRangeK, 0.0, sheet.air.ambientRangeK})
            for (const ContactLevel contact :
                 {ContactLevel::Low, ContactLevel::Nominal, ContactLevel::High}) {
                options.contact = contact;
                options.filmFactor = films;
                options.ambientC = sheet.air.ambientC + roomK;
                const Prediction here = predict(sheet, plate, options);
                for (const StationCurve& curve : here.stations)
                    if (curve.station.kind == StationKind::Glue || curve.station.kind == StationKind::Lens) {
                        EXPECT_LE(peakC(here, curve.station.name),
                                  peakC(predictions[warmAirScenario], curve.station.name) + 1e-6)
                            << curve.station.name << ' ' << films << ' ' << roomK;
                        ++compared;
                    }
            }
    EXPECT_EQ(compared, 27 * 2 * 11u); // glue and lens of every site but the target's
    // A fifth of the films and five kelvins are worth some degrees at a lens beyond the plate's edge.
    EXPECT_GT(peakC(predictions[warmAirScenario], "glue_3"), peakC(predictions[highScenario], "glue_3") + 5);
}

} // namespace
} // namespace stripwright
