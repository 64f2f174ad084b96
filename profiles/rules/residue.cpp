#include "rules/residue.h"

#include <algorithm>

namespace stripwright {

namespace {

constexpr double leadInBismuthLead = 0.326, bismuthInTinBismuth = 0.57, leadInTinLead = 0.381;
constexpr double mostBismuth = 0.58; // Sn42Bi58 counts as the eutectic it is sold as.
constexpr double tinC = 232;

/// Without silver and copper.
double fittedLiquidusC(const Composition& joint)
{
    const double w = 100 * joint.bismuthShare;
    return tinC - 1.3374 * w - 0.005315 * w * w - (tinC - tinLeadC) / leadInTinLead * joint.leadShare;
}

Composition blended(const Composition& fresh, const Composition& old, double oldShare)
{
    const auto blend = [oldShare](double ofFresh, double ofOld) {
        return (1 - oldShare) * ofFresh + oldShare * ofOld;
    };
    return {.tinShare = blend(fresh.tinShare, old.tinShare),
            .bismuthShare = blend(fresh.bismuthShare, old.bismuthShare),
            .leadShare = blend(fresh.leadShare, old.leadShare),
            .silverShare = blend(fresh.silverShare, old.silverShare),
            .copperShare = blend(fresh.copperShare, old.copperShare)};
}

} // namespace

std::optional<MixedJoint> mixedJoint(const Alloy& fresh, const Alloy& old, double oldShare)
{
    if (!fresh.composition || !old.composition || !(oldShare >= 0 && oldShare <= 0.5))
        return {};
    const Composition joint = blended(*fresh.composition, *old.composition, oldShare);
    MixedJoint mixed;
    if (joint.bismuthShare > 0 && joint.leadShare > 0) {
        mixed.lastLiquidC = bismuthLeadC;
        mixed.lastLiquidShareMax = std::min(1.0, joint.leadShare / leadInBismuthLead);
        return mixed;
    }
    if (joint.bismuthShare > 0) {
        mixed.lastLiquidC = tinBismuthC;
        mixed.lastLiquidShareMax = std::min(1.0, joint.bismuthShare / bismuthInTinBismuth);
    } else if (joint.leadShare > 0) {
        mixed.lastLiquidC = joint.silverShare > 0 ? tinLeadSilverC : tinLeadC;
        mixed.lastLiquidShareMax = std::min(1.0, joint.leadShare / leadInTinLead);
    } else {
        mixed.lastLiquidC = std::min(fresh.solidusC, old.solidusC);
    }
    if (joint.bismuthShare <= mostBismuth && joint.leadShare <= leadInTinLead) {
        const double bySilverAndCopperK =
            std::max(0.0, fittedLiquidusC(*fresh.composition) - fresh.liquidusC);
        mixed.liquidusC = std::max(mixed.lastLiquidC, fittedLiquidusC(joint) - bySilverAndCopperK);
    }
    return mixed;
}

} // namespace stripwright
