#pragma once

#include <random>
#include <vector>

namespace stripwright {

/// A sensor with dead time, lag, offset and noise, read in steps.
class Thermocouple {
public:
    struct Figures {
        double deadTimeS = 0, lagS = 0, offsetK = 0;
        double noiseK = 0.05, stepK = 0.1;
    };

    /// advance() is then called every `everyS`.
    Thermocouple(const Figures& figures, double everyS, double startC, unsigned seed);

    void advance(double trueC);
    double sample(); ///< Each call draws new noise.

private:
    Figures figures_;
    double share_; // of the way to the truth that one call goes
    std::vector<double> past_;
    size_t next_ = 0;
    double laggedC_, delayedC_;
    std::mt19937 random_;
    std::normal_distribution<double> noise_{0, 1};
};

} // namespace stripwright
