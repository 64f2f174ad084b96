#pragma once

#include "materials/shelf.h"

#include <nlohmann/json_fwd.hpp>

namespace stripwright {

/// What one heat is for.
enum class HeatKind {
    Swap,    ///< Old LED lifted off and new one set down in the same heat.
    Fit,     ///< Pads are bare and pasted, the new LED stands on them from the start.
    Remove,  ///< The old LED comes off, nothing goes on.
    Release, ///< Glue of chosen lenses is warmed until they come off by hand; every joint stays solid.
    Bake,    ///< LED bodies are dried before a hotter heat; nobody touches the strip.
};

/// How a Swap gets its new joint. Paste is never put onto a hot pad: its solvents boil at once, spatter and
/// lift the LED.
enum class SwapWay {
    SolderLeft, ///< New LED, fluxed and cold, onto the solder that the old one left; its joint is old solder.
    TinnedLed,  ///< The same with an LED tinned beforehand with the sheet's solder; half of it is old.
    WarmedLed,  ///< As SolderLeft; the LED lies on the strip's overhang from the start and is warm by then.
    ChargeLaidCold, ///< A charge of the sheet's solder is laid against the old joint before the heat, and
                    ///< melts with it.
    TwoHeats,       ///< Removed in one heat; fitted with paste, from cold, in another.
};

bool solders(HeatKind heat);     ///< A joint is made: Swap and Fit.
bool meltsJoints(HeatKind heat); ///< Swap, Fit and Remove.

enum class SiteState {
    Good,
    Replace,
    Later, ///< To be replaced in another heat of the same job: dead, its lens off, no work for the hands in
           ///< this one.
};

/// How long the hands take at the hot strip [s]. A motion-time table (reach, grasp, move, position, release)
/// gives 1.2 s for a lift and 2.2 to 3.2 s for a placement by trained hands on a cold bench; the values here
/// are trade habit: bench reports span 2 to 8 s and 4 to 15 s.
struct Hands {
    enum class Pace { Usual, Quick, Careful, Measured };
    Pace pace = Pace::Usual;
    double firstS = 5; ///< Once: see that every joint shines, nudge, take the tweezers.
    double liftS = 5;  ///< A site in a Remove heat.
    double siteS = 15; ///< A site in a Swap heat: lift, flux, set down.
    bool operator==(const Hands&) const = default;
};
Hands handsOf(Hands::Pace pace); ///< Measured: as usual, for the caller to fill.
enum class LensState {
    On,
    Off,
    Release, ///< Comes off in a Release heat; counts as off in every other.
};

/// One LED position of the strip on the bench.
struct SiteOnBench {
    int site = 0; ///< From 1 at the connector end.
    SiteState state = SiteState::Good;
    LensState lens = LensState::On;  ///< A site marked Replace has its lens off in every heat but a Release,
                                     ///< where a lens that is on there is released.
    std::optional<int> passesBefore; ///< Reflow passes so far, the factory's included; absent: 1.
    bool refitted = false; ///< Soldered anew before this heat in the sheet's own way: its joint is no longer
                           ///< of the old alloy.
    std::string note;
    bool operator==(const SiteOnBench&) const = default;
};

/// Under the strip like the plate: on top stand LEDs and lenses.
struct PlacedSinkBlock {
    SinkBlock block;
    double startMm = 0; ///< Its edge nearest the connector end.
    bool operator==(const PlacedSinkBlock&) const = default;
};

/// Air around the strip. The films exclude radiation, which emissivities of the strip type add.
struct Air {
    double ambientC = 23;
    double filmTopWPerM2K = 0, filmUndersideWPerM2K = 0, filmSideWPerM2K = 0;
    double ambientRangeK = 5;    ///< The room may be this much warmer or colder during the heat; > 0.
    double filmRangeShare = 0.2; ///< Films may be off by this share of themselves either way; > 0.
    bool operator==(const Air&) const = default;
};

struct Cooling {
    bool fan = false; ///< A fan blows over the plate from heater-off on.
    std::optional<double>
        liftBelowC; ///< Strip is lifted off when its hottest target joint has fallen below this.
    bool acceptsMovingMolten = false; ///< Required to lift above the joint's movable temperature.
    bool operator==(const Cooling&) const = default;
};

/// How the strip is held where it lights.
enum class Seat {
    InAir,           ///< Air moves freely over both faces.
    OnMetal,         ///< Screwed or clamped on a large metal part.
    InClosedProfile, ///< In a closed aluminium profile of about its own width, which hangs in air.
};

/// How the strip runs once it is repaired.
struct Service {
    Seat seat = Seat::InAir;
    double surroundingsC =
        35;                ///< Of what takes the heat: the air around strip or profile, or the metal part.
    double driveShare = 1; ///< Of the LED's nominal power.
    bool operator==(const Service&) const = default;
};

/// What an old joint of unknown alloy may be, of the alloys in common use: it melts at the latest as
/// Sn99.3Cu0.7 and at the earliest as Sn42Bi58.
constexpr double highestOldLiquidusC = 227, lowestOldLiquidusC = 138;

/// What a Bake heat goes by.
struct Bake {
    std::optional<double> overFloorLifeH; ///< Hours by which the floor life was exceeded; absent: unknown,
                                          ///< taken as saturated.
    std::optional<double> temperatureC; ///< One of bakeTemperaturesC; absent: the hottest that everything on
                                        ///< the strip survives.
    bool operator==(const Bake&) const = default;
};

constexpr double spareClearMm = 10; ///< Bare plate, or the strip over its edge, is no place to warm an LED.

/// One strip, one repair: what a plan is made from. Every shelf entry is resolved.
struct BenchSheet {
    std::string title;
    HeatKind heat = HeatKind::Swap;
    SwapWay way = SwapWay::SolderLeft; ///< Of a Swap only.
    Hands hands;
    std::optional<double> spareMm; ///< Where a warmed LED lies, from the connector end, spareClearMm or more
                                   ///< off the plate; absent: chosen by rule.
    Paste paste;
    std::optional<Alloy> oldAlloy; ///< Absent: unknown.
    StripType strip;
    PlateType plate;
    ContactCondition contact;
    double plateStartMm = 0; ///< Plate edge nearest the connector end, on the strip's scale; may be < 0.
    std::vector<PlacedSinkBlock> sinkBlocks;
    Air air;
    Cooling cooling;
    std::optional<Service> service; ///< Absent: the joint's running temperature is not estimated.
    Bake bake;
    std::vector<SiteOnBench> sites; ///< One for every site of the strip, in order.
    /// Target beside whose joint a thermocouple lies on the strip for the whole heat. It stays off LED and
    /// solder, so it reads the core. Absent: none.
    std::optional<int> stripSensorSite;
    std::vector<std::string> overrides; ///< Refusals the sheet overrides by name: "bismuth-over-lead",
                                        ///< "lead-over-bismuth", "lens-foot-softens".

    /// Solder of the sheet's paste goes into the new joint: as paste, on a tinned LED or as a charge.
    bool usesFreshSolder() const
    {
        return heat == HeatKind::Fit ||
               (heat == HeatKind::Swap && way != SwapWay::SolderLeft && way != SwapWay::WarmedLed);
    }
    double plateEndMm() const { return plateStartMm + plate.lengthMm; }
    /// Puts the plate elsewhere; a spare that would not be clear of it there is laid by rule.
    void movePlateTo(double startMm);
    bool spareIsClear() const;          ///< On the strip and off the plate, or laid by rule.
    bool lensIsThere(int site) const;   ///< At the start of the heat.
    bool lensToRelease(int site) const; ///< There, and to come off in this heat.
    bool lensStaysOn(int site) const;   ///< There, and to be kept unharmed.
    bool isTarget(int site) const;
    bool overridden(const std::string& name) const;
    std::vector<int> targets() const; ///< Sites marked Replace; in a Release heat those of the lenses to
                                      ///< come off.
    bool operator==(const BenchSheet&) const = default;
};

/// Reads a bench sheet. Shelf entries may be named by id or given as inline objects of the shelf's own shape,
/// a contact also by its measured bow over the plate, {"bow_mm": 0.15}, see bow_contact.h. `fileName` is only
/// used in messages. Throws BadInput with every problem.
BenchSheet readBenchSheet(const std::string& text, const std::string& fileName, const Shelf& shelf);

/// Same from a parsed value that stands at `pointer` of a larger document, e.g. the sheet inside a plan.
BenchSheet readBenchSheet(const nlohmann::json& value, const std::string& fileName,
                          const std::string& pointer, const Shelf& shelf);

/// The sheet with every shelf entry inline, so that it reads back with an empty shelf. Round-trips exactly.
nlohmann::json toJson(const BenchSheet& sheet);

/// The sheet as a user would write it: entries that the shelf holds unchanged are named by id.
nlohmann::json toJsonById(const BenchSheet& sheet, const Shelf& shelf);

/// Free-convection films of a horizontal strip of this width at 150 °C in air of 25 °C.
Air stillAir(double stripWidthMm, double ambientC);

} // namespace stripwright
