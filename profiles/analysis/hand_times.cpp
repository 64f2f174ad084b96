#include "analysis/hand_times.h"

#include "analysis/metrics.h"

#include <algorithm>
#include <cmath>

namespace stripwright {

std::optional<double> remeltS(const SetDownBody& body, double padC, double startC, double meltsC)
{
    if (startC >= meltsC)
        return 0;
    if (padC <= meltsC)
        return {};
    return body.tauS() * std::log((padC - startC) / (padC - meltsC));
}

namespace {

struct Rates {
    double a, b, c, fast, slow;
};

Rates ratesOf(const PadDip& dip)
{
    const double a = (1 / dip.padToCoreKPerW + 1 / dip.padToBodyKPerW) / dip.padJPerK;
    const double b = 1 / (dip.padToBodyKPerW * dip.padJPerK), c = 1 / (dip.padToBodyKPerW * dip.bodyJPerK);
    const double root = std::sqrt((a - c) * (a - c) + 4 * b * c);
    return {a, b, c, (a + c + root) / 2, (a + c - root) / 2};
}

} // namespace

double PadDip::padC(double seconds) const
{
    const Rates r = ratesOf(*this);
    return coreC + r.b * (startC - coreC) * (std::exp(-r.slow * seconds) - std::exp(-r.fast * seconds)) /
                       (r.fast - r.slow);
}

double PadDip::bodyC(double seconds) const
{
    const Rates r = ratesOf(*this);
    return coreC +
           (startC - coreC) *
               ((r.a - r.slow) * std::exp(-r.slow * seconds) - (r.a - r.fast) * std::exp(-r.fast * seconds)) /
               (r.fast - r.slow);
}

double PadDip::lowestAtS() const
{
    const Rates r = ratesOf(*this);
    return std::log(r.fast / r.slow) / (r.fast - r.slow);
}

HandTimes handTimesOf(const HandWork& work, const std::vector<Curve>& joints)
{
    double fromS = 0;
    bool sure = true;
    for (const Curve& joint : joints) {
        const auto rise = firstRiseThrough(joint, work.meltsC);
        const auto peak = peakOf(joint);
        sure = sure && rise;
        fromS = std::max(fromS, rise.value_or(peak ? peak->atS : 0));
    }
    HandTimes times;
    if (sure && !joints.empty())
        times.sureFromS = fromS;
    for (size_t i = 0; i < work.sites.size(); ++i)
        times.doneS.push_back(fromS + work.firstS + work.eachS * static_cast<double>(i + 1));
    return times;
}

OwnedCurve newLedCurve(Curve joint, const SiteWork& work)
{
    OwnedCurve curve;
    const double tauS = std::max(work.body.tauS(), 1e-3);
    double atS = work.doneS, padC = valueAt(joint, atS), bodyC = work.startC;
    const auto put = [&] {
        curve.timeS.push_back(atS);
        curve.valueC.push_back(bodyC);
    };
    put();
    // Exact for a pad that changes along a straight line in the step.
    const auto stepTo = [&](double nextS, double nextPadC) {
        const double dtS = nextS - atS, keeps = std::exp(-dtS / tauS), slope = (nextPadC - padC) / dtS;
        bodyC = nextPadC - slope * tauS + (bodyC - padC + slope * tauS) * keeps;
        atS = nextS;
        padC = nextPadC;
        put();
    };
    const auto first = std::upper_bound(joint.timeS.begin(), joint.timeS.end(), atS);
    for (auto i = static_cast<size_t>(first - joint.timeS.begin()); i < joint.timeS.size(); ++i)
        stepTo(joint.timeS[i], joint.valueC[i]);
    return curve;
}

} // namespace stripwright
