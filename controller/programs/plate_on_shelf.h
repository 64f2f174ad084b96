#pragma once

#include "programs/programs.h"
#include "tuning/measured_plate.h"

#include <nlohmann/json.hpp>

namespace stripwright {

/// Where a plate that is to be tuned will stand on the user's shelf; found out before it is heated.
struct PlaceOnShelf {
    std::optional<PlateSize> size;   ///< None: it does not go onto the shelf; `why` says so.
    std::optional<PlateType> before; ///< Its entry of an earlier time.
    std::string why;
};

/// The size as given, or as its entry has it, or as somebody at the terminal types it. Nothing, after
/// complaining on standard error, for a size that is none.
std::optional<PlaceOnShelf> placeOnShelf(const TuneOptions& options, const PlateLink& link);

/// Puts it there and says so, or why not, on standard error; returns the exit code: 0, 3 for a shelf file
/// that cannot be read, 8 for one that cannot be written. `said`: the same for a program that reads along.
int putOnShelf(const TuneOptions& options, const PlaceOnShelf& place, const PlateLink& link,
               nlohmann::json& said);

} // namespace stripwright
