#pragma once

#include <cmath>
#include <cstdint>
#include <numbers>
#include <random>
#include <vector>

namespace stripwright {

/// Draws that are the same on every machine: the standard's engines are, its distributions are not.
class Dice {
public:
    Dice(std::uint64_t seed, int number) : engine_(seed * 1000003 + static_cast<std::uint64_t>(number))
    {
        engine_.discard(8);
    }
    double between(double low, double high)
    {
        return low + (high - low) * static_cast<double>(engine_() >> 11) * 0x1p-53;
    }
    double logBetween(double low, double high) { return std::exp(between(std::log(low), std::log(high))); }
    double normal()
    {
        const double radius = std::sqrt(-2 * std::log(1 - between(0, 1)));
        return radius * std::cos(2 * std::numbers::pi * between(0, 1));
    }
    bool chance(double share) { return between(0, 1) < share; }
    size_t below(size_t count) { return static_cast<size_t>(engine_() % count); }
    template <class Entry> const Entry& oneOf(const std::vector<Entry>& entries)
    {
        return entries[below(entries.size())];
    }

private:
    std::mt19937_64 engine_;
};

} // namespace stripwright
