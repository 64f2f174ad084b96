#include "rules/joint_peaks.h"

#include <algorithm>

namespace stripwright {

std::vector<JointPeak> jointPeaksOf(const BenchSheet& sheet, std::span<const Prediction> predictions)
{
    std::vector<JointPeak> peaks;
    for (int site = 1; site <= static_cast<int>(sheet.strip.siteXMm.size()); ++site) {
        std::vector<double> highestC;
        for (const Prediction& prediction : predictions)
            if (const StationCurve* joint = prediction.find(jointOf(site)))
                highestC.push_back(*std::max_element(joint->valueC.begin(), joint->valueC.end()));
        if (highestC.empty())
            continue;
        const auto [coldest, hottest] = std::minmax_element(highestC.begin(), highestC.end());
        peaks.push_back({site, *coldest, *hottest});
    }
    return peaks;
}

} // namespace stripwright
