#pragma once

#include "loop/joint_estimate.h"

#include <functional>
#include <gtest/gtest.h>
#include <vector>

namespace stripwright {

/// One target, contact of 500 to 4500 about 1500 W/m²K, a thermocouple beside it.
inline HeatPlan trialPlan()
{
    HeatPlan plan;
    plan.sheet.air.ambientC = 20;
    plan.sheet.heat = HeatKind::Fit;
    plan.sheet.sites = {{.site = 1, .state = SiteState::Replace}};
    plan.sheet.stripSensorSite = 1;
    plan.sheet.contact = {.lowWPerM2K = 500, .nominalWPerM2K = 1500, .highWPerM2K = 4500};
    // A lump on a conductance: 1/gain = 1 + losses/contact, lag = capacity gain/contact.
    auto lump = [](double factor) {
        const double gain = 1 / (1 + 0.04 / factor);
        return PlateResponse{gain, 6 * gain / factor, 0.3};
    };
    plan.joints = {{1, lump(1 / 3.0), lump(1), lump(3), lump(poorShareOfLow / 3)}};
    return plan;
}

/// A plate and a joint at a given contact, and a perfect thermocouple, unless told otherwise.
struct JointTrial {
    HeatPlan plan;
    JointEstimate joints;
    PlateResponse truth, high;
    double periodS = 0.2, plateC = 20, jointRiseK = 0, highRiseK = 0;
    bool silent = false;
    std::function<double(double)> offK; ///< Thermocouple's error by the time since it was set.
    double offSinceS = 0;
    std::vector<JointEstimate::News> news;

    JointTrial(const HeatPlan& of, double factor) : plan(of), joints(plan), high(of.joints[0].high)
    {
        truth.gain = 1 / (1 + 0.04 / factor);
        truth.lagS = 6 * truth.gain / factor;
        joints.start(plateC);
    }
    JointTrial(const JointTrial&) = delete;

    double jointC() const { return 20 + jointRiseK; }
    double highContactC() const { return 20 + highRiseK; }

    void cycle(double rampCPerS)
    {
        plateC += rampCPerS * periodS;
        auto follow = [&](double& riseK, const PlateResponse& fit) {
            const double aimK = fit.gain * (plateC - 20);
            riseK = aimK + (riseK - aimK) * std::exp(-periodS / fit.lagS);
        };
        follow(jointRiseK, truth);
        follow(highRiseK, high);
        std::optional<double> stripC;
        if (!silent)
            stripC = jointC() + (offK ? offK(offSinceS) : 0);
        offSinceS = offK ? offSinceS + periodS : 0;
        joints.advance(periodS, plateC, stripC);
        news.push_back(joints.news());
    }
    void rampTo(double toC, double rampCPerS)
    {
        while (plateC < toC)
            cycle(rampCPerS);
    }
    void hold(double forS)
    {
        for (double s = 0; s < forS; s += periodS)
            cycle(0);
    }
    bool had(JointEstimate::News one) const { return std::find(news.begin(), news.end(), one) != news.end(); }
};

} // namespace stripwright
