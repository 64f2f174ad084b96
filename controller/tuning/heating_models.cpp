#include "tuning/heating_models.h"

#include <algorithm>
#include <cmath>

namespace stripwright {

static double follow(double value, double target, double dtS, double lagS)
{
    return lagS > 0 ? target + (value - target) * std::exp(-dtS / lagS) : target;
}

std::vector<double> predictedReading(const HeatingRecord& record, const PlateFigures& plate)
{
    const auto& t = record.timeS;
    double element = 0, bodyC = record.sensorC.front(), sensorC = bodyC;
    std::vector<double> prompt{sensorC}; // before the dead time
    for (size_t i = 0; i + 1 < t.size(); ++i) {
        constexpr double longestStepS = 0.3; // of a trapezoid, whose error is far below a reading's steps
        const int parts = std::max(1, static_cast<int>(std::ceil((t[i + 1] - t[i]) / longestStepS)));
        const double h = (t[i + 1] - t[i]) / parts;
        for (int part = 0; part < parts; ++part) {
            const double elementBefore = element, bodyBefore = bodyC;
            element = follow(element, record.duty[i], h, plate.elementLagS);
            const double gainW = plate.powerW * (element + elementBefore) / 2;
            const double guessC = bodyC + h * (gainW - plate.lossW(bodyC)) / plate.heatCapacityJPerK;
            bodyC += h * (gainW - (plate.lossW(bodyC) + plate.lossW(guessC)) / 2) / plate.heatCapacityJPerK;
            sensorC = follow(sensorC, (bodyC + bodyBefore) / 2, h, plate.sensorLagS);
        }
        prompt.push_back(sensorC);
    }
    std::vector<double> reading;
    size_t at = 0;
    for (double now : t) {
        const double seenS = now - plate.deadTimeS;
        while (at + 1 < t.size() && t[at + 1] <= seenS)
            ++at;
        if (seenS <= t.front())
            reading.push_back(prompt.front());
        else if (at + 1 == t.size())
            reading.push_back(prompt.back());
        else
            reading.push_back(prompt[at] +
                              (prompt[at + 1] - prompt[at]) * (seenS - t[at]) / (t[at + 1] - t[at]));
    }
    return reading;
}

std::vector<double> dutyOfLoop(const HeatingRecord& record, OwnLoopModel& loop,
                               const std::function<void(double wanted, double dtS)>& look)
{
    std::vector<double> duty;
    loop.rest(record.sensorC.front());
    for (size_t i = 0; i + 1 < record.timeS.size(); ++i) {
        const double nextC = record.sensorC[i + 1];
        if (record.setpointC[i] > 0) {
            if (look)
                look(loop.unclipped(record.setpointC[i], record.sensorC[i]),
                     record.timeS[i + 1] - record.timeS[i]);
            duty.push_back(loop.advance(record.setpointC[i], nextC, record.timeS[i + 1] - record.timeS[i]));
        } else {
            loop.rest(nextC);
            duty.push_back(0);
        }
    }
    duty.push_back(duty.empty() ? 0 : duty.back());
    return duty;
}

std::vector<double> closedLoopReading(const HeatingRecord& record, const PlateFigures& plate,
                                      const OwnLoopFigures& figures, double longestStepS)
{
    const auto& t = record.timeS;
    OwnLoopModel loop(figures);
    double element = 0, bodyC = record.sensorC.front(), sensorC = bodyC, readingC = bodyC;
    loop.rest(bodyC);
    std::vector<double> promptS{t.front()}, promptC{sensorC}, reading{readingC};
    size_t at = 0;
    for (size_t i = 0; i + 1 < t.size(); ++i) {
        const int parts = std::max(1, static_cast<int>(std::ceil((t[i + 1] - t[i]) / longestStepS)));
        const double h = (t[i + 1] - t[i]) / parts;
        const double elementStays = plate.elementLagS > 0 ? std::exp(-h / plate.elementLagS) : 0,
                     sensorStays = plate.sensorLagS > 0 ? std::exp(-h / plate.sensorLagS) : 0;
        for (int part = 1; part <= parts; ++part) {
            const double nowS = t[i] + part * h, seenS = nowS - plate.deadTimeS;
            while (at + 1 < promptS.size() && promptS[at + 1] <= seenS)
                ++at;
            if (seenS > promptS.front())
                readingC = at + 1 < promptS.size()
                               ? promptC[at] + (promptC[at + 1] - promptC[at]) * (seenS - promptS[at]) /
                                                   (promptS[at + 1] - promptS[at])
                               : promptC.back();
            double duty = 0;
            if (record.setpointC[i] > 0)
                duty = loop.advance(record.setpointC[i], readingC, h);
            else
                loop.rest(readingC);
            const double elementBefore = element, bodyBefore = bodyC;
            element = duty + (element - duty) * elementStays;
            const double gainW = plate.powerW * (element + elementBefore) / 2;
            const double guessC = bodyC + h * (gainW - plate.lossW(bodyC)) / plate.heatCapacityJPerK;
            bodyC += h * (gainW - (plate.lossW(bodyC) + plate.lossW(guessC)) / 2) / plate.heatCapacityJPerK;
            sensorC = (bodyC + bodyBefore) / 2 + (sensorC - (bodyC + bodyBefore) / 2) * sensorStays;
            promptS.push_back(nowS);
            promptC.push_back(sensorC);
        }
        reading.push_back(readingC);
    }
    return reading;
}

} // namespace stripwright
