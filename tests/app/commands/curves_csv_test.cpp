#include "commands/curves_csv.h"

#include "materials/problem.h"

#include <cmath>
#include <gtest/gtest.h>

using namespace stripwright;

namespace {

std::vector<Problem> problemsOf(const std::string& text)
{
    try {
        readPlateCurve(text, "curve.csv");
    } catch (const BadInput& bad) {
        return bad.problems();
    }
    return {};
}

} // namespace

TEST(PlateCurve, IsReadFromItsTwoColumnsWhereverTheyStand)
{
    const PlateCurve curve = readPlateCurve("time_s,duty,plate_C\n0,0.5,23\n12.5,1,40.25\n", "curve.csv");
    EXPECT_EQ(curve.timeS, (std::vector<double>{0, 12.5}));
    EXPECT_EQ(curve.plateC, (std::vector<double>{23, 40.25}));
}

TEST(PlateCurve, IsReadFromWhatSpreadsheetsWrite)
{
    const PlateCurve curve =
        readPlateCurve("\xEF\xBB\xBF\"time_s\", \"plate_C\"\r\n0, 23\r\n10, 40\r\n\r\n", "curve.csv");
    EXPECT_EQ(curve.timeS, (std::vector<double>{0, 10}));
    EXPECT_EQ(curve.plateC, (std::vector<double>{23, 40}));
}

TEST(PlateCurve, SkipsRowsWithoutAPlateReading)
{
    const PlateCurve curve = readPlateCurve("time_s,plate_C\n0,23\n1,\n2,25\n", "curve.csv");
    EXPECT_EQ(curve.timeS, (std::vector<double>{0, 2}));
}

TEST(PlateCurve, ReportsEveryBadCellWithItsLine)
{
    const auto problems = problemsOf("time_s,plate_C\n0,23\nsoon,40\n5,hot\n4,50\n6,4000\n7\n");
    ASSERT_EQ(problems.size(), 5u);
    EXPECT_EQ(problems[0].text(),
              "curve.csv: /line 3/time_s: found \"soon\", expected a time in seconds, from 0 to 604800");
    EXPECT_EQ(problems[1].pointer, "/line 4/plate_C");
    EXPECT_EQ(problems[1].found, "\"hot\"");
    EXPECT_EQ(problems[2].pointer, "/line 5/time_s");
    EXPECT_EQ(problems[2].expected, "a time after the row before, above 5");
    EXPECT_EQ(problems[3].pointer, "/line 6/plate_C");
    EXPECT_EQ(problems[3].found, "\"4000\"");
    EXPECT_EQ(problems[4].pointer, "/line 7/plate_C");
    EXPECT_EQ(problems[4].found, "nothing");
}

TEST(PlateCurve, IsRefusedWhenTimeDoesNotRise)
{
    const auto problems = problemsOf("time_s,plate_C\n0,23\n5,30\n5,31\n");
    ASSERT_EQ(problems.size(), 1u);
    EXPECT_EQ(problems[0].pointer, "/line 4/time_s");
    EXPECT_EQ(problems[0].expected, "a time after the row before, above 5");
}

TEST(PlateCurve, IsRefusedWithoutItsColumnsOrRows)
{
    EXPECT_EQ(problemsOf("").size(), 2u);
    EXPECT_EQ(problemsOf("time_s;plate_C\n0;23\n1;24\n").size(), 2u);
    EXPECT_EQ(problemsOf("time_s,sensor_C\n0,23\n1,24\n").at(0).expected,
              "a column \"plate_C\", cells parted by commas");
    EXPECT_EQ(problemsOf("time_s,plate_C\n0,23\n").at(0).found, "1 rows with a value");
}

TEST(PlateCurve, IsRefusedWithInfinitiesNanOrAThousandYears)
{
    EXPECT_EQ(problemsOf("time_s,plate_C\n0,nan\n1,inf\nnan,40\n1e12,40\n1e999,40\n").size(), 5u);
}

TEST(PlateCurve, StopsAtTheMillionthRow)
{
    std::string text = "time_s,plate_C\n";
    for (int i = 0; i < 1'200'000; ++i)
        text += shortNumber(i * 0.25, 2) + ",50\n";
    const auto problems = problemsOf(text);
    ASSERT_EQ(problems.size(), 1u);
    EXPECT_EQ(problems[0].pointer, "/line 1000002");
    EXPECT_EQ(problems[0].found, "more than 1000000 rows with a value");
}

TEST(PlateCurve, ReportsNoMoreThanTheFirstHundredBadRows)
{
    std::string text = "time_s,plate_C\n";
    for (int i = 0; i < 100'000; ++i)
        text += "x,y\n";
    const auto problems = problemsOf(text);
    ASSERT_EQ(problems.size(), 101u);
    EXPECT_EQ(problems.back().found, "more problems than these 100");
}

TEST(PlateCurve, RefusesALineThatNoTableHas)
{
    for (const std::string& text :
         {std::string(30'000'000, ','), "time_s,plate_C\n" + std::string(200'000, '7')}) {
        const auto problems = problemsOf(text);
        ASSERT_EQ(problems.size(), 1u);
        EXPECT_EQ(problems[0].expected, "at most 100000");
    }
}

TEST(PredictionCsv, OrdersColumnsBySiteAndThenPart)
{
    Prediction prediction;
    prediction.timeS = {0, 0.5};
    prediction.plateC = {23, 23.25};
    const auto station = [&](const char* name, StationKind kind, int site, double value) {
        prediction.stations.push_back({{name, kind, site, 0, {}}, {value, value + 0.123456789}});
    };
    station("strip_5.5", StationKind::Strip, 0, 9);
    station("lens_1", StationKind::Lens, 1, 4);
    station("joint_2", StationKind::Joint, 2, 5);
    station("dielectric_1", StationKind::Dielectric, 1, 8);
    station("farfoot_1", StationKind::FarFoot, 1, 3.5);
    station("glue_1", StationKind::Glue, 1, 3);
    station("body_1", StationKind::Body, 1, 2);
    station("joint_1", StationKind::Joint, 1, 1);
    EXPECT_EQ(predictionCsv(prediction),
              "time_s,plate_C,joint_1_C,body_1_C,glue_1_C,farfoot_1_C,lens_1_C,joint_2_C,strip_5.5_C\n"
              "0,23,1,2,3,3.5,4,5,9\n"
              "0.5,23.25,1.123457,2.123457,3.123457,3.623457,4.123457,5.123457,9.123457\n");
}

TEST(SamplesCsv, LeavesCellsEmptyWhereNothingWasRead)
{
    Sample first{.seq = 1,
                 .timeS = 0.2,
                 .profileS = 0.2,
                 .sensorC = 23.1,
                 .referenceC = 23,
                 .expectedC = 23,
                 .duty = 0.25};
    first.extra = {{"truth_joint_6_C", 22.9}};
    Sample second{.seq = 2, .timeS = 0.4, .profileS = 0.3, .referenceC = 24, .expectedC = 23.5, .duty = 1};
    second.jointNominalC = 23.4;
    EXPECT_EQ(samplesCsv({first, second}),
              "time_s,profile_s,plate_C,reference_C,expected_C,duty,joint_est_low_C,joint_est_nominal_C,"
              "joint_est_high_C,truth_joint_6_C\n"
              "0.2,0.2,23.1,23,23,0.25,,,,22.9\n"
              "0.4,0.3,,24,23.5,1,,23.4,,\n");
}

TEST(SamplesCsv, IsAPlateCurveThatPredictCanRead)
{
    Sample first{.seq = 1, .timeS = 0, .sensorC = 23.5}, second{.seq = 2, .timeS = 0.2},
        third{.seq = 3, .timeS = 0.4, .sensorC = 24};
    const PlateCurve curve = readPlateCurve(samplesCsv({first, second, third}), "run.csv");
    EXPECT_EQ(curve.timeS, (std::vector<double>{0, 0.4}));
    EXPECT_EQ(curve.plateC, (std::vector<double>{23.5, 24}));
}

TEST(ShortNumber, HasAPointNoZerosAtItsEndAndNoMinusZero)
{
    EXPECT_EQ(shortNumber(1234.5, 6), "1234.5");
    EXPECT_EQ(shortNumber(200, 6), "200");
    EXPECT_EQ(shortNumber(-1e-9, 6), "0");
    EXPECT_EQ(shortNumber(std::nan(""), 6), "");
}
