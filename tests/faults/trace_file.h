#pragma once

#include "rows.h"

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

namespace stripwright::faults {

/// What the plate says really happened: the file of its --trace.
struct Trace {
    struct Row {
        double wallS = 0, plantS = 0, duty = 0, heat = 0, plateC = 0, jointC = 0, lensC = 0, shownC = 0;
        std::string event;
    };
    std::vector<Row> rows;

    const Row* faultBegan() const; ///< The first fault; null: none did.
    /// The row from which on, until heat is asked to end, it is so all the time; null: it is not.
    const Row* countsFrom(CountsFrom what, double sinceWallS) const;
    const Row& at(double wallS) const; ///< The last row that is not later.

    /// The first request to end the heat since then that no later one took back; null: none.
    const Row* offFrame(double sinceWallS) const;
    /// From when on the heater got nothing any more; null: it still does at the end. At `sinceWallS` at the
    /// earliest.
    const Row* heatEnded(double sinceWallS) const;
    bool says(const std::string& event, double sinceWallS) const;
    bool heated(double sinceWallS) const; ///< At any time since.
};

Trace readTrace(const std::filesystem::path& file);

} // namespace stripwright::faults
