#include "materials/json_fields.h"
#include "thermal/predict.h"

#include <cmath>
#include <gtest/gtest.h>
#include <map>
#include <sstream>

namespace stripwright {
namespace {

/// Columns of a CSV file of plain numbers, by name.
std::map<std::string, std::vector<double>> columnsOf(const std::string& file)
{
    std::istringstream text(readTextFile(file));
    std::string line, cell;
    std::getline(text, line);
    std::vector<std::string> names;
    for (std::istringstream head(line); std::getline(head, cell, ',');)
        names.push_back(cell);
    std::map<std::string, std::vector<double>> columns;
    while (std::getline(text, line)) {
        size_t i = 0;
        for (std::istringstream row(line); std::getline(row, cell, ',');)
            columns[names.at(i++)].push_back(std::stod(cell));
    }
    return columns;
}

class FiniteElements : public testing::TestWithParam<const char*> {};

// The truth is good to 0.05 K in core and joint and 0.15 K at body tops.
TEST_P(FiniteElements, AgreeWithTheModelAtEveryStation)
{
    const std::string base = std::string(TEST_DATA_DIR) + "/finite-element/" + GetParam();
    const BenchSheet sheet = readBenchSheet(readTextFile(base + ".bench.json"), base, Shelf{});
    const auto plate = columnsOf(base + ".plate.csv");
    auto truth = columnsOf(base + ".truth.csv");
    const std::vector<double> timeS = truth.at("time_s");
    truth.erase("time_s");

    PredictOptions options;
    options.endS = timeS.back();
    options.outputStepS = 10;
    for (const auto& [name, values] : truth)
        if (name.rfind("strip_", 0) == 0)
            options.stripXMm.push_back(std::stod(name.substr(6)));
    const Prediction prediction = predict(sheet, {plate.at("time_s"), plate.at("plate_C")}, options);
    ASSERT_EQ(prediction.timeS, timeS);

    const std::map<std::string, double> mostK = {{"strip", 0.15}, {"joint", 0.3}, {"body", 0.6}};
    ASSERT_GE(truth.size(), 30u);
    for (const auto& [name, expectedC] : truth) {
        const StationCurve* curve = prediction.find(name.substr(0, name.rfind("_C")));
        ASSERT_TRUE(curve) << name;
        double worstK = 0;
        for (size_t i = 0; i < timeS.size(); ++i)
            worstK = std::max(worstK, std::abs(curve->valueC[i] - expectedC[i]));
        EXPECT_LT(worstK, mostK.at(name.substr(0, name.find('_')))) << name;
    }
    EXPECT_LT(prediction.energy.closure(), 1e-6);
}

INSTANTIATE_TEST_SUITE_P(Cases, FiniteElements,
                         testing::Values("60-mm-plate-under-10-mm-strip-bare-pads",
                                         "100-mm-plate-under-12-mm-strip-copper-and-radiation"));

} // namespace
} // namespace stripwright
