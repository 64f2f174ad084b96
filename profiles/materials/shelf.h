#pragma once

#include "materials/materials.h"

#include <filesystem>
#include <span>

namespace stripwright {

/// Everything that can be named by id in a bench sheet. Immutable once read.
struct Shelf {
    std::vector<Alloy> alloys;
    std::vector<Paste> pastes;
    std::vector<LedPackage> leds;
    std::vector<Lens> lenses;
    std::vector<Glue> glues;
    std::vector<CoreAlloy> coreAlloys;
    std::vector<StripType> strips;
    std::vector<PlateType> plates;
    std::vector<ContactCondition> contacts;
    std::vector<SinkBlock> sinkBlocks;
};

/// Entry of `entries` with this id, or null.
template <class Entry> const Entry* findById(const std::vector<Entry>& entries, const std::string& id)
{
    for (const Entry& entry : entries)
        if (entry.id == id)
            return &entry;
    return nullptr;
}

/// Reads alloys.json, pastes.json, leds.json, lenses.json, glues.json, core-alloys.json, strips.json,
/// plates.json, contacts.json and sink-blocks.json of each folder, in order; an entry of a later folder
/// replaces one of the same id. The first folder must hold them all, later ones any of them, or need not
/// exist. Throws BadInput with every problem of every file; a whole shelf or none.
Shelf readShelf(std::span<const std::filesystem::path> folders);

/// The plates of one folder's plates.json alone; none if there is no such file. Throws BadInput.
std::vector<PlateType> readPlatesOf(const std::filesystem::path& folder);

} // namespace stripwright
