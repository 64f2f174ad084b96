#include "widgets/decimate.h"

#include <algorithm>
#include <array>
#include <cmath>

namespace stripwright {

QList<QPointF> decimated(std::span<const double> t, std::span<const double> value, double fromT, double toT,
                         int columns)
{
    QList<QPointF> points;
    if (t.empty() || columns < 1 || !(toT > fromT))
        return points;
    size_t first = size_t(std::lower_bound(t.begin(), t.end(), fromT) - t.begin());
    size_t end = size_t(std::upper_bound(t.begin(), t.end(), toT) - t.begin());
    first -= first > 0;
    end += end < t.size();
    const auto add = [&](size_t i) { points.append({t[i], value[i]}); };
    if (end - first <= size_t(columns) * 4) {
        for (size_t i = first; i < end; ++i)
            add(i);
        return points;
    }
    const double columnT = (toT - fromT) / columns;
    for (size_t i = first; i < end;) {
        const double column = std::floor((t[i] - fromT) / columnT);
        size_t last = i, low = i, high = i, gap = end;
        for (; last < end && std::floor((t[last] - fromT) / columnT) == column; ++last) {
            if (std::isnan(value[last])) {
                gap = last;
                continue;
            }
            if (!(value[last] >= value[low]))
                low = last;
            if (!(value[last] <= value[high]))
                high = last;
        }
        std::array<size_t, 5> kept{i, low, high, last - 1, gap != end ? gap : i};
        std::ranges::sort(kept);
        for (size_t k = 0; k < kept.size(); ++k)
            if (k == 0 || kept[k] != kept[k - 1])
                add(kept[k]);
        i = last;
    }
    return points;
}

} // namespace stripwright
