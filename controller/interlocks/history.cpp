#include "interlocks/history.h"

#include <algorithm>
#include <cmath>

namespace stripwright {

double windowOfReadingsS(double shortestS, double readingEveryS)
{
    constexpr double coarse = 0.2, apart = 1.15; // of the window; between the last that counts and the next
    if (!(readingEveryS > coarse * shortestS - 1e-9))
        return shortestS;
    return apart * readingEveryS *
           std::max(History::leastForSlope - 1.0, std::ceil(shortestS / (apart * readingEveryS)));
}

void History::push(double timeS, double value)
{
    points_[next_] = {timeS, value};
    next_ = (next_ + 1) % capacity;
    if (count_ < capacity)
        ++count_;
}

std::optional<double> History::at(double timeS) const
{
    if (count_ == 0)
        return {};
    if (timeS >= back(0).timeS)
        return back(0).value;
    for (size_t age = 1; age < count_; ++age) {
        const Point &older = back(age), &newer = back(age - 1);
        if (timeS >= older.timeS)
            return older.value +
                   (newer.value - older.value) * (timeS - older.timeS) / (newer.timeS - older.timeS);
    }
    return back(count_ - 1).value;
}

std::optional<double> History::slope(double windowS) const
{
    double n = 0, sumT = 0, sumV = 0, sumTT = 0, sumTV = 0, spanS = 0;
    for (size_t age = 0; age < count_; ++age) {
        const double t = back(age).timeS - back(0).timeS; // small numbers keep the sums exact
        if (t < -windowS)
            break;
        const double v = back(age).value - back(0).value;
        n += 1, sumT += t, sumV += v, sumTT += t * t, sumTV += t * v;
        spanS = -t;
    }
    const double spread = n * sumTT - sumT * sumT;
    if (n < leastForSlope || spanS < 0.8 * windowS || !(spread > 0))
        return {};
    return (n * sumTV - sumT * sumV) / spread;
}

std::optional<double> History::mean(double fromS, double toS) const
{
    double sum = 0;
    int n = 0;
    for (size_t age = 0; age < count_ && back(age).timeS >= fromS; ++age)
        if (back(age).timeS <= toS)
            sum += back(age).value, ++n;
    if (n == 0)
        return {};
    return sum / n;
}

} // namespace stripwright
