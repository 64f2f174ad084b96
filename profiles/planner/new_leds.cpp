#include "planner/new_leds.h"

#include "planner/hand_cards.h"
#include "planner/heat_kinds.h"
#include "rules/hands.h"
#include "rules/joint_solder.h"

#include <algorithm>

namespace stripwright {

namespace {

/// The joint's curve with the seconds after set-down in fine steps.
OwnedCurve finely(Curve joint, double fromS, double fineForS)
{
    constexpr double fineS = 0.1;
    OwnedCurve fine;
    for (size_t i = 0; i < joint.timeS.size(); ++i) {
        const double t = joint.timeS[i];
        for (double at = fromS; i > 0 && at < std::min(t, fromS + fineForS); at += fineS)
            if (at > fine.timeS.back() + fineS / 2 && at < t - fineS / 2) {
                fine.timeS.push_back(at);
                fine.valueC.push_back(valueAt(joint, at));
            }
        fine.timeS.push_back(t);
        fine.valueC.push_back(joint.valueC[i]);
    }
    return fine;
}

} // namespace

void addNewLeds(HeatPlan& plan, const PredictedHeat& answer)
{
    const HeatTask task = taskOf(plan.sheet);
    if (!task.hands || !task.hands->setsDown || !plan.hands)
        return;
    for (const int site : task.hands->sites) {
        const auto low = siteWorkOf(answer, task, site, coldest),
                   nominal = siteWorkOf(answer, task, site, asStated),
                   high = siteWorkOf(answer, task, site, hottestJoints);
        const PlanCurve* joint = curveOf(plan, jointOf(site));
        if (!low || !nominal || !high || !joint)
            continue;
        NewLed led{.site = site, .setDownS = nominal->doneS, .startC = nominal->startC};
        const double lowPadC = valueAt({plan.timeS, joint->lowC}, low->doneS);
        led.stepK = valueAt({plan.timeS, joint->highC}, high->doneS) - high->startC;
        const PadDip dip = padDipOf(plan.sheet, lowPadC, low->startC);
        led.padLowestAfterS = dip.lowestAtS();
        led.padLowestC = dip.padC(led.padLowestAfterS);
        led.liquidAfterS = remeltS(low->body, lowPadC, low->startC, newMeltsC(plan.sheet));
        constexpr double fineTaus = 8;
        const OwnedCurve fine =
            finely({plan.timeS, joint->nominalC}, nominal->doneS, fineTaus * nominal->body.tauS());
        OwnedCurve body = newLedCurve(fine, *nominal);
        led.timeS = std::move(body.timeS);
        led.bodyC = std::move(body.valueC);
        plan.newLeds.push_back(std::move(led));
    }
}

} // namespace stripwright
