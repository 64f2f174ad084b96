#pragma once

#include <array>
#include <cstddef>
#include <optional>

namespace stripwright {

/// Window for a slope over `shortestS` of readings that come so often (0: often enough): it ends between two
/// of them and holds three at least, so that one that is a little early or late changes nothing.
double windowOfReadingsS(double shortestS, double readingEveryS);

/// The last values of a quantity with their times. Fixed size, the oldest falls out; times must rise.
class History {
public:
    static constexpr size_t capacity = 512;

    void push(double timeS, double value);
    void clear() { count_ = 0; }
    size_t size() const { return count_; }

    /// Straight line between neighbours; before the oldest its value, after the newest the newest. None when
    /// empty.
    std::optional<double> at(double timeS) const;

    static constexpr int leastForSlope = 3;
    /// Least-squares slope over the last windowS; none until three values span 4/5 of it [1/s].
    std::optional<double> slope(double windowS) const;

    /// Mean of the values from fromS to toS; none if there are none.
    std::optional<double> mean(double fromS, double toS) const;

private:
    struct Point {
        double timeS, value;
    };
    const Point& back(size_t age) const { return points_[(next_ + capacity - 1 - age) % capacity]; }

    std::array<Point, capacity> points_{};
    size_t next_ = 0, count_ = 0;
};

} // namespace stripwright
