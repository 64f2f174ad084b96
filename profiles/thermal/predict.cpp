#include "thermal/predict.h"

#include <algorithm>
#include <cmath>
#include <limits>

namespace stripwright {

double PlateCurve::at(double seconds) const
{
    const auto after = std::upper_bound(timeS.begin(), timeS.end(), seconds);
    if (after == timeS.begin())
        return plateC.front();
    if (after == timeS.end())
        return plateC.back();
    const size_t i = after - timeS.begin();
    const double fraction = (seconds - timeS[i - 1]) / (timeS[i] - timeS[i - 1]);
    return plateC[i - 1] + fraction * (plateC[i] - plateC[i - 1]);
}

const StationCurve* Prediction::find(StationId id) const
{
    for (const StationCurve& curve : stations)
        if (curve.station.id() == id)
            return &curve;
    return nullptr;
}

const StationCurve* Prediction::find(const std::string& name) const
{
    for (const StationCurve& curve : stations)
        if (curve.station.name == name)
            return &curve;
    return nullptr;
}

namespace {

/// Moments a step must end at: outputs, bends of the plate curve, lift and fan.
std::vector<double> stops(const PlateCurve& plate, const PredictOptions& options, double endS)
{
    std::vector<double> all;
    for (long i = 0; i * options.outputStepS < endS - 1e-9; ++i)
        all.push_back(i * options.outputStepS);
    all.push_back(endS);
    for (double t : plate.timeS)
        if (t > 0 && t < endS)
            all.push_back(t);
    for (const auto& moment : {options.liftAtS, options.fanFromS})
        if (moment && *moment > 0 && *moment < endS)
            all.push_back(*moment);
    std::sort(all.begin(), all.end());
    all.erase(std::unique(all.begin(), all.end(), [](double a, double b) { return b - a < 1e-9; }),
              all.end());
    return all;
}

} // namespace

Prediction predict(const BenchSheet& sheet, const PlateCurve& plate, const PredictOptions& options)
{
    StripModelOptions modelOptions = options;
    modelOptions.plateIsNode = false;
    auto condition = [&](double t) {
        modelOptions.lifted = options.lifted || (options.liftAtS && t >= *options.liftAtS - 1e-9);
        modelOptions.fan = options.fan || (options.fanFromS && t >= *options.fanFromS - 1e-9);
        return std::pair{modelOptions.lifted, modelOptions.fan};
    };
    auto now = condition(0);
    StripModel model = buildStripModel(sheet, modelOptions);
    const double ambientC = options.ambientC.value_or(sheet.air.ambientC);
    const double startC = options.startC.value_or(ambientC);
    const auto nodes = static_cast<Eigen::Index>(model.network.capacityJPerK.size());
    TransientSolver solver(model.network, Eigen::VectorXd::Constant(nodes, startC));

    const double endS = options.endS > 0 ? options.endS : plate.timeS.back();
    Prediction prediction;
    for (const Station& station : model.stations)
        prediction.stations.push_back({station, {}});
    auto output = [&](double t) {
        prediction.timeS.push_back(t);
        prediction.plateC.push_back(plate.at(t));
        for (StationCurve& curve : prediction.stations)
            curve.valueC.push_back(curve.station.valueC(solver.temperaturesC()));
    };
    output(0);

    const std::vector<double> moments = stops(plate, options, endS);
    long outputs = 1;
    for (size_t i = 1; i < moments.size(); ++i) {
        const double from = moments[i - 1], length = moments[i] - from;
        if (const auto next = condition(from); next != now) {
            now = next;
            solver.replaceConductances(buildStripModel(sheet, modelOptions).network);
        }
        const int steps = std::max(1, static_cast<int>(std::ceil(length / options.stepS - 1e-6)));
        for (int s = 0; s < steps; ++s) {
            const double t0 = from + length * s / steps, t1 = from + length * (s + 1) / steps;
            solver.step(length / steps, {ambientC, plate.at(t0), 0}, {ambientC, plate.at(t1), 0});
        }
        if (moments[i] >= std::min(outputs * options.outputStepS, endS) - 1e-9) {
            output(moments[i]);
            ++outputs;
        }
    }
    prediction.energy = solver.energy();
    return prediction;
}

} // namespace stripwright
