#pragma once

#include "bench/register_device.h"

#include <fstream>

namespace stripwright {

/// What really happens on a simulated plate, as a table: a row every 0.1 s of plant time and at every event,
/// each row on disk before the next. Columns: wall_s (monotonic clock), plant_s, duty (as commanded), heat
/// (what the heater gets, 0 to 1), plate_C, joint_C (of the first target), lens_C (of the lens left on
/// nearest to a target), shown_C, and event: "fault NAME", "off frame" (a request to end the heat came,
/// whether or not a fault kept it from being heard), "on frame", "heat off", "heat on", "watchdog".
class PlateTrace {
public:
    /// Throws std::runtime_error if it cannot be written.
    PlateTrace(const std::string& file, const SimulatedPlate& plate, const RegisterDevice& device,
               const BenchSheet& sheet);

    void follow(); ///< After every step and every round of requests.

private:
    void write(const std::string& event);

    const SimulatedPlate& plate_;
    const RegisterDevice& device_;
    std::ofstream out_;
    std::optional<StationId> joint_, lens_; ///< None: there is none.
    size_t faultsSaid_ = 0;
    std::optional<bool> framesHeat_;
    bool heats_ = false, tripped_ = false;
    double nextS_ = 0;
};

} // namespace stripwright
