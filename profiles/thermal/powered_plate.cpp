#include "thermal/powered_plate.h"

#include <algorithm>
#include <cmath>
#include <limits>

namespace stripwright {

// Heat is taken through a link of this size to a body just as cold as it must be.
static constexpr double burdenWPerK = 0.01;

struct PoweredPlate::Work {
    BenchSheet sheet;
    StripModelOptions options;
    double powerW;
    StripModel model;
    TransientSolver solver;
    bool burdened = false;
    double takenW = 0;

    Work(const BenchSheet& of, const TruthFactors& truth, double cellMm)
        : sheet(of), options(optionsFor(truth, cellMm)), powerW(of.plate.powerW * truth.power),
          model(buildStripModel(sheet, options)),
          solver(model.network,
                 Eigen::VectorXd::Constant(static_cast<Eigen::Index>(model.network.capacityJPerK.size()),
                                           of.air.ambientC))
    {
    }

    static StripModelOptions optionsFor(const TruthFactors& truth, double cellMm)
    {
        StripModelOptions options;
        options.plateIsNode = true;
        options.contactFactor = truth.contact;
        options.lossFactor = truth.losses;
        options.cellMm = cellMm;
        return options;
    }

    void rebuild()
    {
        HeatNetwork network = buildStripModel(sheet, options).network;
        if (burdened)
            network.plateLinks.push_back({model.plateNode, burdenWPerK});
        solver.replaceConductances(std::move(network));
    }
};

PoweredPlate::PoweredPlate(const BenchSheet& sheet, const TruthFactors& truth, double cellMm)
    : work_(std::make_unique<Work>(sheet, truth, cellMm))
{
}

PoweredPlate::~PoweredPlate() = default;
PoweredPlate::PoweredPlate(PoweredPlate&&) noexcept = default;

void PoweredPlate::advance(double dtS, double duty, double supply)
{
    const double bodyC = plateC() - work_->takenW / burdenWPerK;
    const Drive drive{work_->sheet.air.ambientC, bodyC, supply * work_->powerW * std::clamp(duty, 0.0, 1.0)};
    work_->solver.step(dtS, drive, drive);
}

void PoweredPlate::setFan(bool on)
{
    if (work_->options.fan == on)
        return;
    work_->options.fan = on;
    work_->rebuild();
}

void PoweredPlate::setStripOn(bool on)
{
    if (work_->options.lifted == !on)
        return;
    work_->options.lifted = !on;
    work_->rebuild();
}

void PoweredPlate::setHeatTakenW(double takenW)
{
    work_->takenW = takenW;
    if (work_->burdened || takenW == 0)
        return;
    work_->burdened = true;
    work_->rebuild();
}

double PoweredPlate::plateC() const
{
    return work_->solver.temperaturesC()[work_->model.plateNode];
}

double PoweredPlate::sensorC() const
{
    return work_->solver.temperaturesC()[work_->model.sensorNode];
}

const std::vector<Station>& PoweredPlate::stations() const
{
    return work_->model.stations;
}

double PoweredPlate::stationC(StationId id) const
{
    const Station* station = work_->model.find(id);
    return station ? station->valueC(work_->solver.temperaturesC())
                   : std::numeric_limits<double>::quiet_NaN();
}

EnergyBalance PoweredPlate::energy() const
{
    return work_->solver.energy();
}

} // namespace stripwright
