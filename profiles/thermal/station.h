#pragma once

#include <compare>
#include <optional>
#include <string>
#include <string_view>

namespace stripwright {

enum class StationKind {
    Plate,
    Sensor,
    Strip, ///< Core at a place along x, not at a site.
    Joint,
    Body,    ///< Top of the LED that is there.
    Glue,    ///< Feet of a lens on the plate's side.
    FarFoot, ///< Glue of the coldest feet of a lens to be released.
    Lens,
    Dielectric, ///< Core under a site's pads.
    Block,      ///< A sink block, counted and not at a site.
    Spare,      ///< Core under the new LED that warms for a site.
    NewLed      ///< Body of the LED set down at a site, from its set-down on; the heat model has none.
};

/// What the names of its stations begin with: "joint".
std::string_view nameOf(StationKind kind);

/// Which point a limit, a planned curve or a live model is about.
struct StationId {
    StationKind kind = StationKind::Plate;
    int site = 0; ///< From 1 at the connector end; 0: of the plate, its sensor, and what is not at a site.

    auto operator<=>(const StationId&) const = default;

    /// As files and columns have it: "joint_6", "plate", "farfoot_4". Strip and block stations, several of
    /// which may have one id, have names of their own (Station::name).
    std::string name() const;

    /// The other way round, and nothing else: no "joint", "joint_06", "plate_1", "strip_210".
    static std::optional<StationId> named(std::string_view name);

    static std::string
    namesInWords(); ///< What named() takes: "plate, sensor, or of a site N one of joint_N, ...".
};

inline StationId jointOf(int site)
{
    return {StationKind::Joint, site};
}

} // namespace stripwright
