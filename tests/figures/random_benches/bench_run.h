#pragma once

#include "drawn_bench.h"

#include "planner/heat_plan.h"

namespace stripwright::figures {

/// A limit that a run did not keep.
struct Broken {
    std::string id;
    double by = 0; ///< In the limit's unit, > 0; NaN: it could not be measured.
};

/// What became of one heat; sourced limits only.
struct BenchRun {
    std::vector<Broken> joints; ///< Not molten when its LED was lifted, not wetted, windows of paste.
    std::vector<Broken> bodies; ///< LEDs, new and kept, and the dielectric.
    std::vector<Broken> lenses; ///< Lens, foot and glue.
    bool jobDone() const { return joints.empty() && bodies.empty(); }
};

/// The plate follows the plan's curve by feed-forward and PID on its sensor, coasts by its own losses, and is
/// cooled and lifted off as planned. Hands go by the cards: none before its time, a late one shifts the next.
BenchRun runBench(const HeatPlan& plan, const BenchSheet& truth, const DrawnHands& hands);

} // namespace stripwright::figures
