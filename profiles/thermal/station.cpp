#include "thermal/station.h"

#include <array>
#include <charconv>

namespace stripwright {

namespace {

/// What follows the name of a kind.
enum class Number { None, Site, Other };

struct KindName {
    StationKind kind;
    std::string_view name;
    Number number;
};

constexpr std::array<KindName, 12> kindNames = {{{StationKind::Plate, "plate", Number::None},
                                                 {StationKind::Sensor, "sensor", Number::None},
                                                 {StationKind::Strip, "strip", Number::Other},
                                                 {StationKind::Joint, "joint", Number::Site},
                                                 {StationKind::Body, "body", Number::Site},
                                                 {StationKind::Glue, "glue", Number::Site},
                                                 {StationKind::FarFoot, "farfoot", Number::Site},
                                                 {StationKind::Lens, "lens", Number::Site},
                                                 {StationKind::Dielectric, "dielectric", Number::Site},
                                                 {StationKind::Block, "block", Number::Other},
                                                 {StationKind::Spare, "spare", Number::Site},
                                                 {StationKind::NewLed, "newled", Number::Site}}};

constexpr bool isByKind()
{
    for (size_t i = 0; i < kindNames.size(); ++i)
        if (kindNames[i].kind != static_cast<StationKind>(i))
            return false;
    return kindNames.back().kind == StationKind::NewLed;
}
static_assert(isByKind());

} // namespace

std::string_view nameOf(StationKind kind)
{
    return kindNames[static_cast<size_t>(kind)].name;
}

std::string StationId::name() const
{
    const KindName& of = kindNames[static_cast<size_t>(kind)];
    std::string text(of.name);
    return of.number == Number::Site ? text + "_" + std::to_string(site) : text;
}

std::optional<StationId> StationId::named(std::string_view name)
{
    const size_t cut = name.find('_');
    StationId id;
    if (cut != std::string_view::npos) {
        const std::string_view digits = name.substr(cut + 1);
        const auto [end, error] = std::from_chars(digits.data(), digits.data() + digits.size(), id.site);
        if (error != std::errc() || id.site < 1)
            return {};
    }
    for (const KindName& of : kindNames) {
        id.kind = of.kind;
        if (of.number != Number::Other && of.name == name.substr(0, cut))
            return id.name() == name ? std::optional(id) : std::nullopt; // else a number too many, or none
    }
    return {};
}

std::string StationId::namesInWords()
{
    std::string words, ofSites;
    for (const KindName& of : kindNames) {
        if (of.number == Number::None)
            words += std::string(of.name) + ", ";
        if (of.number == Number::Site)
            ofSites += (ofSites.empty() ? "" : ", ") + std::string(of.name) + "_N";
    }
    return words + "or of a site N one of " + ofSites;
}

} // namespace stripwright
