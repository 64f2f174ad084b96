#include "models/run_review.h"

#include "demo_sheet.h"

#include <QCoreApplication>
#include <cmath>
#include <gtest/gtest.h>

namespace stripwright {

static std::vector<Sample> upAndDown(double peakC)
{
    // a triangle of 1 K/s from 25 °C to the peak and back, one sample a second
    std::vector<Sample> samples;
    for (int i = 0; i <= 2 * (peakC - 25); ++i) {
        Sample sample;
        sample.seq = i + 1;
        sample.timeS = sample.profileS = i;
        const double temperatureC = peakC - std::abs(i - (peakC - 25));
        sample.sensorC = temperatureC + 5;
        sample.extra = {{"truth_joint_6_C", temperatureC}, {"room_C", 21}};
        samples.push_back(sample);
    }
    return samples;
}

static const MarginRow* rowOf(const std::vector<MarginRow>& rows, const std::string& station, Metric metric,
                              bool max)
{
    for (const MarginRow& row : rows)
        if (row.limit.station.name() == station && row.limit.metric == metric &&
            (max ? row.limit.max : row.limit.min))
            return &row;
    return nullptr;
}

TEST(RunReview, TakesMetricsFromTheChannelOfTheStation)
{
    BenchSheet sheet = test::shippedSheet("marram-lane-bar-7.bench.json");
    sheet.heat = HeatKind::Fit; // whose paste has a window for the peak
    const auto rows = measuredRows(sheet, upAndDown(170), {}, true);
    const MarginRow* peak = rowOf(rows, "joint_6", Metric::Peak, true);
    ASSERT_NE(peak, nullptr);
    EXPECT_DOUBLE_EQ(*peak->nominal, 170);
    EXPECT_FALSE(peak->low || peak->high);
    const MarginRow* above = rowOf(rows, "joint_6", Metric::TimeAbove, true);
    ASSERT_NE(above, nullptr);
    EXPECT_NEAR(*above->nominal, 2 * (170 - above->limit.levelC), 1e-9); // 1 K/s up and down
    EXPECT_EQ(rowOf(rows, "lens_3", Metric::Peak, true), nullptr);       // nothing was measured there
}

TEST(RunReview, ASensorLagsOnlyWhileItRisesBelowTheJoint)
{
    std::vector<Sample> samples = upAndDown(170); // its sensor is 5 K above the joint
    const auto lags = [&](int at, double jointAboveK) {
        std::vector<Sample> until(samples.begin(), samples.begin() + at);
        until.back().jointNominalC = *until.back().sensorC + jointAboveK;
        return sensorLagsBehindJoint(until);
    };
    EXPECT_TRUE(lags(60, 1));
    EXPECT_FALSE(lags(60, -1)) << "nothing to explain";
    EXPECT_FALSE(lags(260, 1)) << "a strip that cools after its plate";
    EXPECT_FALSE(lags(2, 1)) << "whether it rises is not known yet";
    EXPECT_FALSE(sensorLagsBehindJoint({}));
}

TEST(RunReview, SaysWhereEachFigureIsFrom)
{
    const BenchSheet sheet = test::shippedSheet("marram-lane-bar-7.bench.json");
    std::vector<Sample> samples = upAndDown(170);
    const auto sourceOf = [&](const char* station, Metric metric, bool max) {
        const auto [rows, by] = measuredMargins(sheet, samples, {}, true);
        EXPECT_EQ(by.size(), rows.size());
        const MarginRow* row = rowOf(rows, station, metric, max);
        return row ? std::optional(by[static_cast<size_t>(row - rows.data())]) : std::nullopt;
    };
    EXPECT_EQ(sourceOf("joint_6", Metric::Peak, false), MeasuredBy::Simulation);
    EXPECT_EQ(sourceOf("plate", Metric::Peak, true), MeasuredBy::PlateSensor);
    EXPECT_FALSE(estimatedPeak(samples));
    for (Sample& sample : samples) {
        sample.extra.clear();
        sample.jointLowC = sample.jointNominalC = sample.jointHighC = *sample.sensorC - 5;
        *sample.jointLowC -= 4;
        *sample.jointHighC += 3;
    }
    EXPECT_EQ(sourceOf("joint_6", Metric::Peak, false), MeasuredBy::JointEstimate);
    const auto peak = estimatedPeak(samples);
    ASSERT_TRUE(peak);
    EXPECT_DOUBLE_EQ(peak->lowC, 166);
    EXPECT_DOUBLE_EQ(peak->nominalC, 170);
    EXPECT_DOUBLE_EQ(peak->highC, 173);
}

TEST(RunReview, OfARunThatGoesOnOnlyUpperLimitsAreJudged)
{
    const BenchSheet sheet = test::shippedSheet("marram-lane-bar-7.bench.json");
    const auto rows = measuredRows(sheet, upAndDown(60), {}, false);
    ASSERT_FALSE(rows.empty());
    for (const MarginRow& row : rows) {
        EXPECT_FALSE(row.limit.min) << row.limit.id;
        EXPECT_GE(row.margin, 0) << row.limit.id;
    }
    EXPECT_LT(measuredRows(sheet, upAndDown(60), {}, true).front().margin, 0);
}

/// 1 K/s to 160 °C, where it stays for so long, then down again; heated until `heatedS`.
static std::vector<Sample> heldAt160(double holdS, double heatedS)
{
    std::vector<Sample> samples;
    constexpr double riseS = 160 - 25;
    for (int i = 0; i <= 2 * riseS + holdS; ++i) {
        const double downS = std::max(0.0, i - riseS - holdS);
        const double jointC = std::min(160.0, 25.0 + i) - downS;
        samples.push_back({.seq = i + 1,
                           .timeS = double(i),
                           .profileS = double(i),
                           .sensorC = jointC,
                           .duty = i < heatedS ? 0.5 : 0.0,
                           .extra = {{"truth_joint_6_C", jointC}}});
    }
    return samples;
}

static long rowsOfTheNewLed(const std::vector<MarginRow>& rows)
{
    return std::ranges::count_if(rows, [](const MarginRow& row) {
        return aboutNewLed(row.limit) || row.limit.metric == Metric::Wetting ||
               row.limit.metric == Metric::Shock;
    });
}

TEST(RunReview, ANewLedThatWasNotSetDownIsNotJudged)
{
    const BenchSheet sheet = test::shippedSheet("marram-lane-bar-7.bench.json"); // melts at 140 °C
    EXPECT_GT(rowsOfTheNewLed(measuredRows(sheet, heldAt160(40, 160), {}, true)), 3);
    // Stopped at 145 °C: it is solid long before the hands, who need 20 s, would be done.
    const std::vector<Sample> stopped = upAndDown(145);
    EXPECT_EQ(rowsOfTheNewLed(measuredRows(sheet, stopped, {}, true)), 0);
    const std::vector<Event> done = {{.timeS = 121, .kind = "card", .text = "done: swap-led-6"}};
    EXPECT_GT(rowsOfTheNewLed(measuredRows(sheet, stopped, done, true)), 3) << "it was said to be";
    const std::vector<Event> another = {{.timeS = 121, .kind = "card", .text = "done: swap-led-5"}};
    EXPECT_EQ(rowsOfTheNewLed(measuredRows(sheet, stopped, another, true)), 0);
    // It never melts.
    EXPECT_EQ(rowsOfTheNewLed(measuredRows(sheet, upAndDown(130), {}, true)), 0);
}

TEST(RunReview, OfAHeatStoppedBeforeItsHandsWereDoneNoNewLedIsJudged)
{
    const BenchSheet sheet = test::shippedSheet("marram-lane-bar-7.bench.json");
    std::vector<Event> events = {{.timeS = 120, .kind = "state", .text = "switching the heater off"}};
    EXPECT_EQ(rowsOfTheNewLed(measuredRows(sheet, heldAt160(40, 120), events, true)), 0) << "liquid still";
    events[0].timeS = 160;
    EXPECT_GT(rowsOfTheNewLed(measuredRows(sheet, heldAt160(40, 160), events, true)), 3);
    events[0].timeS = 120;
    events.push_back({.timeS = 130, .kind = "card", .text = "done: swap-led-6"});
    EXPECT_GT(rowsOfTheNewLed(measuredRows(sheet, heldAt160(40, 120), events, true)), 3) << "said to be";
}

TEST(RunReview, AWarmedLedIsJudgedFromWhatItsPlanHasItAt)
{
    const BenchSheet sheet = test::shippedSheet("marram-lane-bar-7.bench.json");
    const auto shock = [&](const std::vector<NewLed>& planned) {
        for (const MarginRow& row : measuredRows(sheet, heldAt160(40, 160), {}, true, planned))
            if (row.limit.metric == Metric::Shock)
                return row.nominal.value_or(-1);
        return -1.0;
    };
    EXPECT_NEAR(shock({}), 160 - sheet.air.ambientC, 1);
    EXPECT_NEAR(shock({{.site = 6, .startC = 89}}), 160 - 89, 1);
}

TEST(RunReview, ALateWordSaysThatTheLedIsThereAndNotSinceWhen)
{
    const BenchSheet sheet = test::shippedSheet("marram-lane-bar-7.bench.json");
    const std::vector<Sample> samples = heldAt160(40, 160);
    const auto wetting = [&](const std::vector<Event>& events) {
        for (const MarginRow& row : measuredRows(sheet, samples, events, true))
            if (row.limit.metric == Metric::Wetting && !row.limit.habit)
                return row.nominal.value_or(-1);
        return -1.0;
    };
    const double byPlan = wetting({});
    EXPECT_GT(byPlan, 10);
    EXPECT_EQ(wetting({{.timeS = 250, .kind = "card", .text = "done late: swap-led-6"}}), byPlan);
    EXPECT_NE(wetting({{.timeS = 150, .kind = "card", .text = "done: swap-led-6"}}), byPlan);
    std::vector<Event> late = {{.timeS = 120, .kind = "state", .text = "switching the heater off"},
                               {.timeS = 250, .kind = "card", .text = "done late: swap-led-6"}};
    EXPECT_GT(rowsOfTheNewLed(measuredRows(sheet, heldAt160(40, 120), late, true)), 3) << "it is there";
}

TEST(RunReview, ANewLedIsTakenToBeSetDownInTimeWhileThePlateIsStillHeated)
{
    const BenchSheet sheet = test::shippedSheet("marram-lane-bar-7.bench.json");
    std::vector<Sample> samples = upAndDown(145);
    for (Sample& sample : samples)
        sample.duty = 0.5;
    EXPECT_GT(rowsOfTheNewLed(measuredRows(sheet, samples, {}, true)), 3);
}

TEST(RunReview, AGapIsNotDrawnOverAndNotMeasured)
{
    std::vector<Sample> samples = upAndDown(170);
    samples[100].sensorC.reset();
    const auto curves = curvesOf(samples);
    ASSERT_EQ(curves.front().station, StationId{StationKind::Plate});
    EXPECT_TRUE(std::isnan(curves.front().valueC[100]));
    const BenchSheet sheet = test::shippedSheet("marram-lane-bar-7.bench.json");
    const auto rows = measuredRows(sheet, samples, {}, true);
    const MarginRow* plate = rowOf(rows, "plate", Metric::Peak, true);
    ASSERT_NE(plate, nullptr);
    EXPECT_DOUBLE_EQ(*plate->nominal, 175);
}

TEST(RunReview, CountsSecondsOverTheLimitOfAPart)
{
    const BenchSheet sheet = test::shippedSheet("marram-lane-bar-7.bench.json");
    std::vector<Sample> samples = upAndDown(170);
    for (Sample& sample : samples)
        sample.extra.push_back({"truth_glue_3_C", sample.extra[0].second - 75}); // up to 95 °C
    double seconds = 0;
    for (const TimeOverLimit& time : timesOverLimits(sheet, samples))
        seconds += time.seconds;
    EXPECT_NEAR(seconds, 2 * (95 - sheet.strip.glue->holdC), 1e-9);
}

TEST(RunTimes, StandStillWhileTheProfileDoes)
{
    std::vector<Sample> samples;
    for (int i = 0; i <= 100; ++i) { // profile time stands at 40 s for 20 s
        Sample sample;
        sample.timeS = i;
        sample.profileS = i <= 40 ? i : i <= 60 ? 40 : i - 20;
        samples.push_back(sample);
    }
    const auto times = runTimesOf({0, 40, 41, 80, 90}, samples);
    EXPECT_EQ(times, (std::vector<double>{0, 40, 61, 100, 110}));
    EXPECT_EQ(runTimesOf({0, 40}, {}), (std::vector<double>{0, 40}));
}

TEST(TitleOf, SaysWhichHeatOfItsJobItWas)
{
    RunSummary summary;
    summary.title = "Bar 9";
    HeatPlan plan;
    EXPECT_EQ(titleOf(summary, plan), "Bar 9");
    EXPECT_EQ(titleOf(summary, std::nullopt), "Bar 9");
    plan.heat = 2;
    plan.ofHeats = 3;
    EXPECT_EQ(titleOf(summary, plan), "Bar 9, heat 2 of 3");
}

TEST(OutcomeText, SaysNoWordTwiceAndStandsInALineOfOtherThings)
{
    EXPECT_EQ(outcomeText({.outcome = Outcome::StoppedByOperator,
                           .outcomeText = "stopped by the operator; plate at 44.9 °C"}),
              "stopped by the operator; plate at 44.9 °C");
    EXPECT_EQ(outcomeText({.outcome = Outcome::StoppedByLimit, .outcomeText = "link lost; plate at 44.9 °C"}),
              "stopped by a limit: link lost; plate at 44.9 °C");
    EXPECT_EQ(outcomeText({.outcome = Outcome::Interrupted, .outcomeText = "No sample was kept."}),
              "interrupted: No sample was kept");
    EXPECT_EQ(outcomeText({.outcome = Outcome::Completed}), "completed");
}

TEST(RecordedRuns, AMissingFileIsAnEmptyListAndMakesNone)
{
    RecordedRuns runs("/tmp/no-such-folder-for-runs/runs.db");
    bool listed = false;
    QObject::connect(&runs, &RecordedRuns::listed, &runs, [&] { listed = true; });
    runs.list();
    while (!listed)
        QCoreApplication::processEvents(QEventLoop::WaitForMoreEvents);
    EXPECT_TRUE(runs.runs().empty());
    EXPECT_FALSE(std::filesystem::exists("/tmp/no-such-folder-for-runs"));
}

} // namespace stripwright
