#include "set_down_plate.h"

#include <algorithm>
#include <cmath>
#include <stdexcept>

namespace stripwright::figures {

namespace {

StripModelOptions fineOptions(std::vector<SpareLed> spares)
{
    StripModelOptions options;
    options.plateIsNode = true;
    options.cellMm = 1;
    options.bodyLumps = 8;
    options.spares = std::move(spares);
    return options;
}

Eigen::VectorXd allAt(const StripModel& model, double temperatureC)
{
    return Eigen::VectorXd::Constant(static_cast<Eigen::Index>(model.network.capacityJPerK.size()),
                                     temperatureC);
}

} // namespace

SetDownPlate::SetDownPlate(const BenchSheet& truth, std::vector<SpareLed> spares)
    : sheet_(truth), options_(fineOptions(std::move(spares))), model_(buildStripModel(sheet_, options_)),
      solver_(std::in_place, model_.network, allAt(model_, truth.air.ambientC))
{
    // Both cross the same area.
    const double solder = truth.strip.jointThicknessUm * 1e-3 / 2 / truth.paste.alloy.conductivityWPerMK;
    const double lump =
        truth.strip.led.heightMm / options_.bodyLumps / 2 / truth.strip.led.conductivityWPerMK;
    solderShare_ = solder / (solder + lump);
}

void SetDownPlate::advance(double dtS, double duty)
{
    const Drive drive{sheet_.air.ambientC, 0, sheet_.plate.powerW * std::clamp(duty, 0.0, 1.0)};
    solver_->step(dtS, drive, drive);
}

void SetDownPlate::rebuild()
{
    solver_->replaceConductances(buildStripModel(sheet_, options_).network);
}

void SetDownPlate::setFan(bool on)
{
    if (options_.fan == on)
        return;
    options_.fan = on;
    rebuild();
}

void SetDownPlate::setStripOn(bool on)
{
    if (options_.lifted == !on)
        return;
    options_.lifted = !on;
    rebuild();
}

SetDownPlate::Site SetDownPlate::nodesOf(int site) const
{
    const Station* joint = model_.find(jointOf(site));
    const Station* body = model_.find({StationKind::Body, site});
    const Site nodes{joint->shares.front().node, body->shares.front().node, joint->shares.front().node - 1};
    if (nodes.bottom - nodes.top + 1 != options_.bodyLumps)
        throw std::logic_error("an LED's lumps do not stand before its joint in the network");
    return nodes;
}

void SetDownPlate::setDown(int site, double startC)
{
    const Site nodes = nodesOf(site);
    Eigen::VectorXd temperaturesC = solver_->temperaturesC();
    for (int node = nodes.top; node <= nodes.bottom; ++node)
        temperaturesC[node] = startC;
    solver_.emplace(buildStripModel(sheet_, options_).network, temperaturesC);
}

double SetDownPlate::plateC() const
{
    return solver_->temperaturesC()[model_.plateNode];
}

double SetDownPlate::sensorC() const
{
    return solver_->temperaturesC()[model_.sensorNode];
}

double SetDownPlate::spareC(int site) const
{
    const StationId spare{StationKind::Spare, site};
    return model_.find(spare) ? stationC(spare) : NAN;
}

double SetDownPlate::stationC(StationId id) const
{
    const Station* station = model_.find(id);
    return station ? station->valueC(solver_->temperaturesC()) : NAN;
}

double SetDownPlate::underLedC(int site) const
{
    const Site nodes = nodesOf(site);
    const double jointC = solver_->temperaturesC()[nodes.joint];
    return jointC + solderShare_ * (solver_->temperaturesC()[nodes.bottom] - jointC);
}

} // namespace stripwright::figures
