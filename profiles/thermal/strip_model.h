#pragma once

#include "materials/bench_sheet.h"
#include "thermal/heat_network.h"
#include "thermal/station.h"

#include <Eigen/Core>
#include <span>

namespace stripwright {

/// Contact to assume under the strip.
enum class ContactLevel { Low, Nominal, High };

/// A point whose temperature is watched: a weighted sum of node temperatures.
struct Station {
    std::string name; ///< "joint_6", "strip_210", "plate": the column name without "_C".
    StationKind kind = StationKind::Strip;
    int site = 0;   ///< As StationId.
    double xMm = 0; ///< From the connector end.
    struct Share {
        int node;
        double weight;
    };
    std::vector<Share> shares;

    StationId id() const { return {kind, site}; }
    double valueC(const Eigen::VectorXd& temperaturesC) const;
};

/// A new LED that lies on the strip to warm, for a site that it will be set down at.
struct SpareLed {
    int site = 0;
    double xMm = 0; ///< From the connector end.
    bool operator==(const SpareLed&) const = default;
};

struct StripModelOptions {
    ContactLevel contact = ContactLevel::Nominal;
    double cellMm = 2.0; ///< Longest cell along the strip.
    int bodyLumps = 4;
    bool plateIsNode =
        false; ///< Plate as heater, body and sensor nodes driven by power, not by a given curve.
    std::vector<double> stripXMm; ///< Extra core stations.
    std::vector<SpareLed> spares; ///< Each a station "spare_6": the core under it, which it follows.
    double contactFactor = 1,
           lossFactor = 1; ///< Scales of conductance to the plate and of all losses to air.
    double filmFactor = 1; ///< Scale of the strip's films alone: still air is known to about a fifth.
    std::optional<double> coreWPerMK; ///< Conductivity of the core; absent: the sheet's.
    bool lifted = false;              ///< Strip held in the air above the plate.
    bool fan = false; ///< Fan blows: plate.fanLossWPerK more, spread over plate and strip top alike.
};

/// Strip, sites, blocks and, if asked, the plate, as a network with its stations.
///
/// The core is a row of finite volumes along x: conduction k A / dx (copper's share where it covers), contact
/// by exact overlap of cell and plate, films and radiation on top, underside, sides and ends. Each site hangs
/// on its cells: dielectric, joint, body lumps; each lens that is there: feet, glue, optic. A lens to be
/// released has a station more, "farfoot_6": the glue of its coldest feet.
struct StripModel {
    HeatNetwork network;
    std::vector<Station> stations;
    int plateNode = -1; ///< Plate body, if it is a node.
    int sensorNode = -1;

    const Station* find(StationId id) const; ///< Null if there is none.
};

/// Copper through which a joint reaches the core [m²]: its pad, or where copper covers the strip, that and a
/// rim in which heat runs sideways before it crosses the dielectric (decay length of a fin on a resistive
/// layer).
double heatedCopperM2(const StripType& strip);

StripModel buildStripModel(const BenchSheet& sheet, const StripModelOptions& options = {});

} // namespace stripwright
