#include "widgets/plot_scale.h"

#include <algorithm>
#include <cmath>
#include <numeric>

namespace stripwright {

double stepOver(double range, int most)
{
    const double least = range / std::max(1, most);
    const double power = std::pow(10.0, std::floor(std::log10(least)));
    for (double factor : {1.0, 2.0, 5.0})
        if (factor * power >= least * (1 - 1e-9))
            return factor * power;
    return 10 * power;
}

double timeStepOver(double rangeS, int most)
{
    for (double step : {1.0, 2.0, 5.0, 10.0, 15.0, 30.0, 60.0, 120.0, 300.0, 600.0, 1200.0, 1800.0, 3600.0})
        if (rangeS / step <= most)
            return step;
    return 3600 * stepOver(rangeS / 3600, most);
}

std::vector<double> spreadLabels(std::vector<double> middles, double height, double top, double bottom)
{
    const size_t n = middles.size();
    if (n == 0)
        return middles;
    std::vector<size_t> order(n);
    std::iota(order.begin(), order.end(), size_t{0});
    std::ranges::stable_sort(order, [&](size_t a, size_t b) { return middles[a] < middles[b]; });
    if (n > 1)
        height = std::min(height, (bottom - top) / double(n));
    double free = top + height / 2;
    for (size_t i : order) {
        middles[i] = std::max(middles[i], free);
        free = middles[i] + height;
    }
    free = bottom - height / 2;
    for (size_t k = n; k-- > 0;) {
        middles[order[k]] = std::min(middles[order[k]], free);
        free = middles[order[k]] - height;
    }
    return middles;
}

std::vector<double> spreadAcross(std::vector<double> middles, const std::vector<double>& widths, double gap,
                                 double left, double right)
{
    double free = left;
    for (size_t i = 0; i < middles.size(); ++i) {
        middles[i] = std::max(middles[i], free + widths[i] / 2);
        free = middles[i] + widths[i] / 2 + gap;
    }
    free = right;
    for (size_t i = middles.size(); i-- > 0;) {
        middles[i] = std::min(middles[i], free - widths[i] / 2);
        free = middles[i] - widths[i] / 2 - gap;
    }
    return middles;
}

} // namespace stripwright
