#pragma once

#include "materials/shelf.h"

namespace stripwright {

/// The id by which a plate of this name stands on the shelf once it was measured: "North bench, left" is
/// "north-bench-left-measured". One with letters that no id may have gets eight digits of its own, so that no
/// two such names share an id. No entry that ships has such an id.
std::string measuredPlateId(const std::string& name);

/// Puts a plate into plates.json of the user's own shelf, in place of the entry of the same id if there is
/// one; all others stay as they are, and the file is made if there is none. Throws BadInput with every
/// problem of that file or of the plate, CannotWrite if it cannot be written; the old file then stands.
void putOwnPlate(const std::filesystem::path& folder, const PlateType& plate);

/// Reads "100 x 100 x 8", with x, × or * and with or without mm: length along the strip, width, thickness.
/// Nothing if it is no such size or beyond what an entry may say; `why` then says what was expected.
struct PlateSize {
    double lengthMm = 0, widthMm = 0, thicknessMm = 0;
    bool operator==(const PlateSize&) const = default;
};
std::optional<PlateSize> readPlateSize(const std::string& typed, std::string& why);

} // namespace stripwright
