#pragma once

#include "thermal/strip_model.h"
#include "thermal/transient_solver.h"

namespace stripwright {

/// How a real plate and strip differ from the sheet.
struct TruthFactors {
    double contact = 1; ///< On the nominal conductance to the plate.
    double losses = 1;  ///< On every loss to air, the plate's included.
    double power = 1;   ///< On the heater.
};

/// Plate and strip driven by heater duty, stepped in time: heater element, body and sensor as lumps, the
/// strip on top. The sensor's dead time is not in it; the caller delays the reading.
class PoweredPlate {
public:
    explicit PoweredPlate(const BenchSheet& sheet, const TruthFactors& truth = {}, double cellMm = 2.0);
    ~PoweredPlate();
    PoweredPlate(PoweredPlate&&) noexcept;

    /// dtS > 0, duty 0 to 1 held over the step; `supply` is a further factor on the heater's power.
    void advance(double dtS, double duty, double supply = 1);
    void setFan(bool on);
    void setStripOn(bool on);          ///< False: lifted off the plate.
    void setHeatTakenW(double takenW); ///< Out of the plate's body, by what the model does not know.

    double plateC() const;
    double sensorC() const;
    const std::vector<Station>& stations() const;
    double stationC(StationId id) const; ///< NaN if there is none.
    EnergyBalance energy() const;

private:
    struct Work;
    std::unique_ptr<Work> work_;
};

} // namespace stripwright
