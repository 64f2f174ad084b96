#include "rules/residue.h"

#include <algorithm>

namespace stripwright {

namespace {

// Bi-Pb-Sn: Yoon & Lee, CALPHAD 22 (1998) 167; the others: soldering textbooks.
constexpr Composition bismuthLeadTin{.tinShare = 0.158, .bismuthShare = 0.516, .leadShare = 0.326};
constexpr Composition tinBismuth{.tinShare = 0.43, .bismuthShare = 0.57};
constexpr Composition tinLead{.tinShare = 0.619, .leadShare = 0.381};
constexpr double mostBismuth = 0.58; // Sn42Bi58 counts as the eutectic it is sold as.
constexpr double tinC = 232;

/// Without silver and copper.
double fittedLiquidusC(const Composition& joint)
{
    const double w = 100 * joint.bismuthShare;
    return tinC - 1.3374 * w - 0.005315 * w * w - (tinC - tinLeadC) / tinLead.leadShare * joint.leadShare;
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

/// Most of a joint that can be this phase: its scarcest element says.
double mostOf(const Composition& phase, const Composition& joint)
{
    double most = 1;
    for (const auto share : {&Composition::tinShare, &Composition::bismuthShare, &Composition::leadShare})
        if (phase.*share > 0)
            most = std::min(most, joint.*share / (phase.*share));
    return most;
}

double bySilverAndCopperK(const Alloy& alloy)
{
    return std::max(0.0, fittedLiquidusC(*alloy.composition) - alloy.liquidusC);
}

} // namespace

std::optional<MixedJoint> mixedJoint(const Alloy& fresh, const Alloy& old, double oldShare)
{
    if (!fresh.composition || !old.composition || !(oldShare >= 0 && oldShare <= 1))
        return {};
    const Composition joint = blended(*fresh.composition, *old.composition, oldShare);
    MixedJoint mixed;
    if (joint.bismuthShare > 0 && joint.leadShare > 0) {
        mixed.lastLiquidC = bismuthLeadC;
        mixed.lastLiquidShareMax = mostOf(bismuthLeadTin, joint);
        return mixed;
    }
    if (joint.bismuthShare > 0) {
        mixed.lastLiquidC = tinBismuthC;
        mixed.lastLiquidShareMax = mostOf(tinBismuth, joint);
    } else if (joint.leadShare > 0) {
        mixed.lastLiquidC = joint.silverShare > 0 ? tinLeadSilverC : tinLeadC;
        mixed.lastLiquidShareMax = mostOf(tinLead, joint);
    } else {
        mixed.lastLiquidC = oldShare <= 0   ? fresh.solidusC
                            : oldShare >= 1 ? old.solidusC
                                            : std::min(fresh.solidusC, old.solidusC);
    }
    if (joint.bismuthShare <= mostBismuth && joint.leadShare <= tinLead.leadShare) {
        // Up to half of old solder the new alloy's, beyond it gradually the old one's.
        const double toOld = std::max(0.0, 2 * oldShare - 1);
        const double loweredK = (1 - toOld) * bySilverAndCopperK(fresh) + toOld * bySilverAndCopperK(old);
        mixed.liquidusC = std::max(mixed.lastLiquidC, fittedLiquidusC(joint) - loweredK);
    }
    return mixed;
}

} // namespace stripwright
