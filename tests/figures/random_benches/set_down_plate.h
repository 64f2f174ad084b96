#pragma once

#include "thermal/strip_model.h"
#include "thermal/transient_solver.h"

#include <optional>

namespace stripwright::figures {

/// Plate and strip driven by duty, in cells of 1 mm and LED bodies of eight lumps where a plan has 2 mm and
/// four; an LED that is set down is cold in the network itself, so that its pad dips by conduction.
class SetDownPlate {
public:
    explicit SetDownPlate(const BenchSheet& truth, std::vector<SpareLed> spares);

    void advance(double dtS, double duty);
    void setFan(bool on);
    void setStripOn(bool on);
    void setDown(int site, double startC); ///< A new LED, all of it at startC.

    double plateC() const;
    double sensorC() const;
    double spareC(int site) const; ///< Strip where its spare lies; NaN: none does.
    double stationC(StationId id) const;
    double underLedC(int site) const; ///< Face between solder and LED.

private:
    struct Site {
        int joint, top, bottom; ///< Nodes; the body's lumps are numbered from top to bottom.
    };
    Site nodesOf(int site) const;
    void rebuild();

    BenchSheet sheet_;
    StripModelOptions options_;
    StripModel model_;
    std::optional<TransientSolver> solver_;
    double solderShare_; ///< Of the resistance between joint and lowest lump that is solder.
};

} // namespace stripwright::figures
