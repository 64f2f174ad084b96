#include "programs/plate_on_shelf.h"

#include "materials/output_file.h"
#include "materials/problem.h"

#include <iostream>
#include <unistd.h>

namespace stripwright {

static std::optional<PlateType> entryOfBefore(const TuneOptions& options, const PlateLink& link)
{
    try {
        const std::vector<PlateType> plates = readPlatesOf(options.shelf);
        if (const PlateType* found = findById(plates, measuredPlateId(link.name)))
            return *found;
    } catch (const BadInput& error) {
        std::cerr
            << error.what()
            << "\nUntil that is put right this plate cannot be put onto your shelf; what is learnt is kept "
               "in its link.\n";
    }
    return {};
}

static PlateSize sizeOf(const PlateType& plate)
{
    return {plate.lengthMm, plate.widthMm, plate.thicknessMm};
}

std::optional<PlaceOnShelf> placeOnShelf(const TuneOptions& options, const PlateLink& link)
{
    PlaceOnShelf place;
    std::string why;
    if (!options.size.empty()) {
        place.size = readPlateSize(options.size, why);
        if (!place.size) {
            std::cerr << "--size: " << why << '\n';
            return {};
        }
    }
    if (options.shelf.empty()) {
        place.size.reset();
        return place;
    }
    place.before = entryOfBefore(options, link);
    if (!place.size && place.before)
        place.size = sizeOf(*place.before);
    if (!place.size && !options.json && isatty(STDIN_FILENO)) {
        std::string typed;
        do {
            if (!why.empty())
                std::cerr << why << '\n';
            std::cerr << "How large is the plate: length along the strip x width x thickness in mm? (Enter "
                         "alone: it is not put onto your shelf) ";
            if (!std::getline(std::cin, typed) || typed.empty())
                break;
        } while (!(place.size = readPlateSize(typed, why)));
    }
    if (!place.size)
        place.why = "not put onto your shelf, where sheets could choose it: its size is not known. "
                    "Say it when it is learnt again (in the terminal --size 100x100x8)";
    return place;
}

// Renamed there by somebody, or of another plate, for an id is the same for "North bench" and "north-bench".
static std::string maybeAnother(const PlaceOnShelf& place, const PlateLink& link)
{
    if (!place.before || place.before->name == measuredPlateName(link.name))
        return {};
    return "the entry that was replaced was called \"" + place.before->name +
           "\": if that is another plate than \"" + link.name +
           "\", give one of the two quite another \"name\" in its link and learn both again";
}

int putOnShelf(const TuneOptions& options, const PlaceOnShelf& place, const PlateLink& link,
               nlohmann::json& said)
{
    if (options.shelf.empty())
        return 0;
    int code = 0;
    std::string why = place.why;
    if (place.size) {
        const PlateType plate =
            measuredPlate(link, *place.size, measuredPlateMaxC(link, options.plateMaxC), place.before);
        try {
            putOwnPlate(options.shelf, plate);
            const std::string another = maybeAnother(place, link);
            said = {{"shelf_id", plate.id},
                    {"shelf_name", plate.name},
                    {"shelf_problem", nullptr},
                    {"shelf_warning", another.empty() ? nlohmann::json() : nlohmann::json(another)}};
            std::cerr << (place.before ? "Replaced on your shelf: " : "Put onto your shelf: ") << plate.id
                      << " (" << plate.name << "); a sheet's \"plate\" can name it\n";
            if (!another.empty())
                std::cerr << "But " << another << '\n';
            return 0;
        } catch (const BadInput& error) {
            why = std::string("not put onto your shelf:\n") + error.what();
            code = 3;
        } catch (const CannotWrite& error) {
            why = std::string("not put onto your shelf: ") + error.what();
            code = 8;
        }
    }
    said = {{"shelf_id", nullptr}, {"shelf_name", nullptr}, {"shelf_problem", why}};
    std::cerr << "Learnt and kept in the link, but " << why << '\n';
    return code;
}

} // namespace stripwright
