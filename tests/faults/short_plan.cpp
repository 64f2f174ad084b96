#include "short_plan.h"

#include "demo_sheet.h"
#include "planner/plan_sheet.h"

#include <algorithm>
#include <stdexcept>

namespace stripwright::faults {

static const Stage& stageOf(const HeatPlan& plan, const std::string& name)
{
    for (const Stage& stage : plan.stages)
        if (stage.name == name)
            return stage;
    throw std::runtime_error("the demo plan has no stage " + name);
}

HeatPlan shortPlan()
{
    BenchSheet sheet = test::shippedSheet("marram-lane-bar-7.bench.json");
    sheet.heat = HeatKind::Fit; // whose paste has a soak
    HeatPlan plan = planSheet(sheet);
    const Stage soak = stageOf(plan, "soak");
    constexpr double keptAfterStartS = 20, keptBeforeEndS = 25;
    const double fromS = soak.startS + keptAfterStartS, toS = soak.endS - keptBeforeEndS;
    if (toS <= fromS)
        return plan;
    const auto shifted = [&](double timeS) {
        return timeS <= fromS ? timeS : std::max(fromS, timeS - (toS - fromS));
    };
    const std::vector<double> old = plan.timeS;
    const auto cut = [&](std::vector<double>& values) {
        if (values.size() != old.size())
            return;
        std::vector<double> kept;
        for (size_t i = 0; i < old.size(); ++i)
            if (old[i] <= fromS || old[i] > toS)
                kept.push_back(values[i]);
        values = kept;
    };
    cut(plan.plateC);
    cut(plan.duty);
    for (PlanCurve& curve : plan.curves)
        for (auto* values : {&curve.lowC, &curve.nominalC, &curve.highC})
            cut(*values);
    cut(plan.timeS);
    for (double& timeS : plan.timeS)
        timeS = shifted(timeS);
    plan.heaterOffS = shifted(plan.heaterOffS);
    for (Stage& stage : plan.stages)
        stage = {stage.name, shifted(stage.startS), shifted(stage.endS)};
    for (HandCard& card : plan.cards) {
        card.atS = shifted(card.atS);
        card.untilS = shifted(card.untilS);
    }
    if (plan.liftAtS)
        plan.liftAtS = shifted(*plan.liftAtS);
    return plan;
}

double momentOf(const HeatPlan& plan, Phase phase)
{
    switch (phase) {
    case Phase::Idle:
        return 0;
    case Phase::Preheat:
        return 8;
    case Phase::Soak:
        return stageOf(plan, "soak").startS + 4;
    case Phase::Reflow:
        return stageOf(plan, "peak").startS + 4;
    case Phase::Cool:
        return plan.heaterOffS + 3;
    }
    return 0;
}

} // namespace stripwright::faults
