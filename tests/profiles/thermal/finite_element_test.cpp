#include "finite_element_case.h"

#include <cmath>
#include <gtest/gtest.h>

namespace stripwright {
namespace {

class FiniteElements : public testing::TestWithParam<const char*> {};

// The truth is good to 0.05 K in core and joint and 0.15 K at body tops.
TEST_P(FiniteElements, AgreeWithTheModelAtEveryStation)
{
    const test::FiniteElementCase truth = test::finiteElementCase(GetParam());
    PredictOptions options = truth.options();
    options.outputStepS = 10;
    const Prediction prediction = predict(truth.sheet, truth.plate, options);
    ASSERT_EQ(prediction.timeS, truth.timeS);

    const std::map<std::string, double> mostK = {{"strip", 0.15}, {"joint", 0.3}, {"body", 0.6}};
    ASSERT_GE(truth.stationC.size(), 30u);
    for (const auto& [name, expectedC] : truth.stationC) {
        const StationCurve* curve = prediction.find(name);
        ASSERT_TRUE(curve) << name;
        double worstK = 0;
        for (size_t i = 0; i < truth.timeS.size(); ++i)
            worstK = std::max(worstK, std::abs(curve->valueC[i] - expectedC[i]));
        EXPECT_LT(worstK, mostK.at(name.substr(0, name.find('_')))) << name;
    }
    EXPECT_LT(prediction.energy.closure(), 1e-6);
}

INSTANTIATE_TEST_SUITE_P(Cases, FiniteElements, testing::ValuesIn(test::finiteElementCases));

} // namespace
} // namespace stripwright
