#include "loop/joint_draws.h"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <numeric>
#include <random>

namespace stripwright {

namespace {

constexpr double share95 = 1.6449; // standard normal at 95 %

double normalQuantile(double share)
{
    double low = -8, high = 8;
    for (int i = 0; i < 60; ++i) {
        const double middle = (low + high) / 2;
        (std::erfc(-middle / std::numbers::sqrt2) / 2 < share ? low : high) = middle;
    }
    return (low + high) / 2;
}

/// Student's t of 5 degrees of freedom (Cornish-Fisher, first term), scaled to the normal's 95 %.
double widened(double z)
{
    auto student = [](double at) { return at + (at * at * at + at) / 20; };
    return student(z) * share95 / student(share95);
}

} // namespace

ContactRange contactRangeOf(const BenchSheet& sheet)
{
    const ContactCondition& contact = sheet.contact;
    if (!(contact.lowWPerM2K > 0) || !(contact.nominalWPerM2K >= contact.lowWPerM2K) ||
        !(contact.highWPerM2K >= contact.nominalWPerM2K))
        return {};
    return {contact.lowWPerM2K / contact.nominalWPerM2K, contact.highWPerM2K / contact.nominalWPerM2K};
}

PerDraw normals(unsigned stream)
{
    std::mt19937 engine(20251 + stream);
    auto uniform = [&] { return (static_cast<double>(engine()) + 0.5) / 4294967296.0; };
    PerDraw values;
    for (double& value : values)
        value = normalQuantile(uniform());
    values -= values.mean();
    return values / std::sqrt(values.square().mean());
}

JointDraws::JointDraws(const BenchSheet& sheet)
{
    constexpr int badlySeated = 24;
    constexpr double badlySeatedShare = 0.02, worstOfLow = 1.0 / 25;
    constexpr double leastSd = 0.05; // a stated contact is never certain
    constexpr double lossSd = 0.2;
    const ContactRange range = contactRangeOf(sheet);
    const double lowSd = std::max(leastSd, -std::log(range.low) / share95);
    const double highSd = std::max(leastSd, std::log(range.high) / share95);

    std::vector<std::pair<double, double>> drawn; // contact, weight
    for (int i = 0; i < badlySeated; ++i)
        drawn.push_back(
            {range.low * std::pow(worstOfLow, (i + 0.5) / badlySeated), badlySeatedShare / badlySeated});
    constexpr int seated = drawCount - badlySeated;
    for (int i = 0; i < seated; ++i) {
        const double z = widened(normalQuantile((i + 0.5) / seated));
        drawn.push_back({std::exp(z * (z < 0 ? lowSd : highSd)), (1 - badlySeatedShare) / seated});
    }
    std::sort(drawn.begin(), drawn.end());
    for (int i = 0; i < drawCount; ++i) {
        contact[i] = drawn[static_cast<size_t>(i)].first;
        logPrior[i] = std::log(drawn[static_cast<size_t>(i)].second);
    }
    lossShare = (lossSd * normals(1)).exp();
    ambientK = sheet.air.ambientRangeK / share95 * normals(2);
}

} // namespace stripwright
