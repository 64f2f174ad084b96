#include "analysis/metrics.h"
#include "finite_element_case.h"

#include <gtest/gtest.h>

namespace stripwright {
namespace {

class FiniteElementJoints : public testing::TestWithParam<const char*> {};

TEST_P(FiniteElementJoints, PeakAndStayLiquidForAsLong)
{
    const test::FiniteElementCase one = test::finiteElementCase(GetParam());
    PredictOptions options = one.options();
    options.outputStepS = 1;
    const Prediction prediction = predict(one.sheet, one.plate, options);
    int liquid = 0;
    for (const auto& joint : one.joints) {
        const StationCurve* ours = prediction.find(jointOf(joint.site));
        ASSERT_TRUE(ours) << joint.site;
        const Curve curve{prediction.timeS, ours->valueC};
        EXPECT_NEAR(peakOf(curve)->valueC, joint.peakC, 0.3) << joint.site;
        // A joint whose peak comes within 3 K of liquidus has no honest time above it.
        const double overK = joint.peakC - joint.liquidusC;
        if (std::abs(overK) < 3)
            continue;
        EXPECT_NEAR(timeAboveS(curve, joint.liquidusC), joint.aboveLiquidusS, overK > 0 ? 0.5 : 0)
            << joint.site;
        liquid += overK > 0;
    }
    EXPECT_GE(liquid, 2);
}

INSTANTIATE_TEST_SUITE_P(Cases, FiniteElementJoints, testing::ValuesIn(test::finiteElementCases));

} // namespace
} // namespace stripwright
