#include "loop/runnable_plan.h"
#include "reference_plate.h"

#include <cmath>
#include <functional>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace stripwright {

using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;

static std::vector<std::string> reasonsOf(const std::function<void(HeatPlan&)>& spoil,
                                          const std::optional<IdentifiedPlate>& identified = {},
                                          std::optional<double> highestC = {})
{
    HeatPlan plan = referencePlan();
    spoil(plan);
    return whyNotRunnable(plan, identified, highestC);
}

TEST(RunnablePlan, EndsItsHeatInsideItsCurves)
{
    const auto endsAt = [](double heaterOffS) {
        return reasonsOf([&](HeatPlan& plan) { plan.heaterOffS = heaterOffS; });
    };
    EXPECT_THAT(endsAt(1800), IsEmpty());
    EXPECT_THAT(endsAt(1801), ElementsAre(HasSubstr("ends its heat at 1801 s, after the end of its own")));
    EXPECT_THAT(endsAt(1e9), testing::SizeIs(2));
}

TEST(RunnablePlan, IsNoLongerThanAHeatMayBe)
{
    const auto longer = [](HeatPlan& plan) {
        plan.timeS.push_back(20000);
        plan.plateC.push_back(25);
        plan.duty.push_back(0);
    };
    EXPECT_THAT(reasonsOf([&](HeatPlan& plan) { longer(plan); }), ElementsAre(HasSubstr("lasts 20000 s")));
    const auto heatsFor = [&](double seconds, HeatKind heat, double factor) {
        return reasonsOf([&](HeatPlan& plan) {
            plan.timeS = {0, 1000, seconds + 1000};
            plan.plateC = {25, 240 * factor, 25};
            plan.duty = {0.2, 0.2, 0};
            plan.heaterOffS = seconds;
            plan.sheet.heat = heat;
        });
    };
    EXPECT_THAT(heatsFor(3600, HeatKind::Swap, 1), IsEmpty());
    EXPECT_THAT(heatsFor(3601, HeatKind::Swap, 1),
                ElementsAre(HasSubstr("heats for 3601 s, at most 3600 s")));
    EXPECT_THAT(heatsFor(12 * 3600, HeatKind::Bake, 0.55), IsEmpty());
    EXPECT_THAT(heatsFor(12 * 3600, HeatKind::Bake, 1), ElementsAre(HasSubstr("a bake stays below 160")));
}

TEST(RunnablePlan, StaysBelowTheHighestTemperatureOfThePlatesLink)
{
    const auto asIs = [](HeatPlan&) {};
    EXPECT_THAT(reasonsOf(asIs, {}, 255), IsEmpty());
    EXPECT_THAT(reasonsOf(asIs, {}, 245), IsEmpty()) << "heat then ends at 245, not at the plan's 255";
    EXPECT_THAT(reasonsOf(asIs, {}, 242),
                ElementsAre(AllOf(HasSubstr("ends at once at 242.0 °C, the highest temperature of this "
                                            "plate's link"),
                                  HasSubstr("at least 3 K between them"))));
    EXPECT_THAT(reasonsOf(asIs, {}, 230),
                ElementsAre(HasSubstr("the plan heats the plate to 240.0 °C, the highest temperature")));
    EXPECT_THAT(reasonsOf([](HeatPlan& plan) { plan.tripAboveC = 351; }),
                ElementsAre(HasSubstr("for any plate is 350.0 °C")));
    for (const double none : {0.0, std::nan(""), double(INFINITY)})
        EXPECT_THAT(reasonsOf([](HeatPlan& plan) { plan.tripAboveC = 351; }, {}, none), testing::SizeIs(1));
}

TEST(RunnablePlan, IsMadeForThePlateThatWasMeasured)
{
    const auto measured = [](double heatCapacityJPerK, double powerW) {
        IdentifiedPlate plate;
        plate.heatCapacityJPerK = heatCapacityJPerK;
        plate.powerW = powerW;
        return plate;
    };
    const auto asIs = [](HeatPlan&) {};
    EXPECT_THAT(reasonsOf(asIs, measured(700 / 1.2, 900)), IsEmpty());
    EXPECT_THAT(reasonsOf(asIs, measured(700 / 0.8, 900 / 1.2)), IsEmpty());
    EXPECT_THAT(
        reasonsOf(asIs, measured(500, 900)),
        ElementsAre(HasSubstr("for a plate of 700 J/K and 900 W, this plate was measured as 500 J/K")));
    EXPECT_THAT(reasonsOf(asIs, measured(700, 1300)), testing::SizeIs(1));
    EXPECT_THAT(reasonsOf(asIs, measured(std::nan(""), 900)), testing::SizeIs(1));
}

TEST(RunnablePlan, HoldsNothingThatIsNoNumber)
{
    const double none = std::nan("");
    const std::vector<std::function<void(HeatPlan&)>> spoilers = {
        [&](HeatPlan& plan) { plan.joints[0].nominal.lagS = none; },
        [&](HeatPlan& plan) { plan.joints[0].high.gain = INFINITY; },
        [&](HeatPlan& plan) {
            plan.parts.push_back({.station = {StationKind::Lens, 5}, .maxC = none});
        },
        [&](HeatPlan& plan) { plan.stages[0].endS = none; },
        [&](HeatPlan& plan) { plan.liftAtS = none; },
        [&](HeatPlan& plan) { plan.duty[3] = none; },
    };
    for (size_t i = 0; i < spoilers.size(); ++i)
        EXPECT_THAT(reasonsOf(spoilers[i]), testing::SizeIs(1)) << i;
}

} // namespace stripwright
