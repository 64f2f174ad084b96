#pragma once

#include <algorithm>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace stripwright {

/// Which values of an object in a file are trade habit or own estimate, stated by no source: editable
/// defaults, shown as such, never limits. In the file `"habit": true`, or a list of the object's own keys. A
/// part inside an entry, or a window, marks its own.
struct Habit {
    bool whole = false;              ///< All of them, those of its parts too.
    std::vector<std::string> values; ///< By their keys in the file, e.g. "foot_max_C".

    bool of(std::string_view key) const
    {
        return whole || std::find(values.begin(), values.end(), key) != values.end();
    }
    bool any() const { return whole || !values.empty(); }
    bool operator==(const Habit&) const = default;
};

/// A range a value must stay in. A missing side means none is stated, never "off".
struct Window {
    std::optional<double> min;
    std::optional<double> max;
    bool minIsHabit =
        false; ///< Trade habit without a source: an editable default, shown as such, never a limit.
    bool maxIsHabit = false;
    bool operator==(const Window&) const = default;
};

/// Shares of an alloy by mass, 0 to 1; what is not named here is left out.
struct Composition {
    double tinShare = 0, bismuthShare = 0, leadShare = 0, silverShare = 0, copperShare = 0;
    bool operator==(const Composition&) const = default;
};

struct Alloy {
    std::string id;
    std::string name;
    double solidusC = 0;
    double liquidusC = 0;
    double movableAboveC = 0; ///< Lowest temperature at which a joint of it may still move [°C]; <= solidus.
    bool hasBismuth = false;
    bool hasLead = false;
    double densityKgPerM3 = 0;
    double heatCapacityJPerKgK = 0;
    double conductivityWPerMK = 0;
    std::optional<Composition> composition; ///< Absent: what it does in a mixed joint is not worked out.
    Habit habit;
    std::string source;
    bool operator==(const Alloy&) const = default;
};

/// What the maker of a paste asks of the joint's own temperature, not of the plate's.
struct Paste {
    std::string id;
    std::string name;
    Alloy alloy;
    double countLiquidusC =
        0;            ///< Time above liquidus counts from here [°C]; absent in the file: the alloy's.
    Window rampCPerS; ///< Steepest heating over a 10 s window.
    Window soakBandC; ///< Soak counts from first crossing of min to first crossing of max.
    Window soakTimeS;
    Window aboveLiquidusS;
    Window peakC;
    Window coolingCPerS; ///< min: mean from peak to liquidus; max: steepest over a 10 s window. Positive
                         ///< numbers.
    Window timeToPeakS;  ///< From 25 °C (or start + 5 K) to peak.
    Habit habit;         ///< Of values outside the windows.
    std::string source;
    bool operator==(const Paste&) const = default;
};

enum class BodyMaterial { Plastic, Ceramic };

struct LedPackage {
    std::string id;
    std::string name;
    double lengthMm = 0, widthMm = 0, heightMm = 0; ///< Body; length along the strip.
    double padLengthMm = 0, padWidthMm = 0;         ///< Copper pad on the board, centred under the body.
    BodyMaterial body = BodyMaterial::Plastic;
    double conductivityWPerMK = 1.0;
    double volumetricHeatJPerM3K = 1.9e6;
    double bodyMaxC = 0;   ///< Classification temperature at body top.
    double nearMaxS = 30;  ///< Longest time within 5 K of bodyMaxC.
    int passesAllowed = 2; ///< Reflow passes in its life, the factory's included.
    double powerW = 0;
    double forwardVoltageV = 0;    ///< 0: not stated.
    double junctionToPadKPerW = 0; ///< 0: not stated.
    std::string moistureLevel;     ///< "1" ... "6", "2a", "5a"; empty: not stated.
    Habit habit;
    std::string source;
    bool operator==(const LedPackage&) const = default;
};

struct Lens {
    std::string id;
    std::string name;
    std::string material;
    double heightMm = 0, diameterMm = 0;
    int footCount = 3;
    double footCircleMm = 0; ///< Diameter of the circle through the foot centres.
    double footDiameterMm = 0;
    double footHeightMm = 0;
    double conductivityWPerMK = 0;
    double volumetricHeatJPerM3K = 0;
    double massG = 0;
    double heatCapacityJPerKgK = 0;
    double gapConductanceWPerK = 0; ///< Air gap and radiation between strip top and optic, whole lens [W/K].
    double toAirWPerK = 0;          ///< Optic to ambient [W/K].
    double footMaxC = 0;            ///< Cap at the foot's contact end.
    double bodyMaxC = 0;            ///< Cap of the optic.
    Habit habit;
    std::string source;
    bool operator==(const Lens&) const = default;
};

struct Glue {
    std::string id;
    std::string name;
    double thicknessUm = 0;
    double conductivityWPerMK = 0;
    double holdC = 0;        ///< Where the bond must hold it is trusted up to here.
    bool letsGo = true;      ///< False: no heat that a strip survives softens it, it must be cut; the release
                             ///< below is then not stated.
    double releaseLowC = 0;  ///< May come off by hand from here; >= holdC.
    double releaseHighC = 0; ///< Does come off by hand here, whatever the grade; >= releaseLowC.
    Habit habit;
    std::string source;
    bool operator==(const Glue&) const = default;
};

/// What a core of a named alloy, or of one that bears no mark, is reckoned as.
struct CoreAlloy {
    std::string id; ///< As boards name it: "5052"; "unmarked".
    std::string name;
    double conductivityWPerMK = 0;
    std::optional<double> conductivityLowWPerMK,
        conductivityHighWPerMK; ///< Where it may be off; absent: as the nominal.
    double densityKgPerM3 = 0;
    double heatCapacityJPerKgK = 0;       ///< At 25 °C.
    double heatCapacitySlopeJPerKgK2 = 0; ///< Rise of it a kelvin.
    Habit habit;
    std::string source;
    bool operator==(const CoreAlloy&) const = default;
};

struct Core {
    std::string alloy; ///< Of the shelf's core alloys, or any other.
    double thicknessMm = 0;
    double conductivityWPerMK = 0;
    std::optional<double> conductivityLowWPerMK,
        conductivityHighWPerMK; ///< Low <= nominal <= high; absent: as the nominal.
    double densityKgPerM3 = 0;
    double heatCapacityJPerKgK = 0;       ///< At 25 °C.
    double heatCapacitySlopeJPerKgK2 = 0; ///< Rise of it a kelvin.
    Habit habit;
    bool operator==(const Core&) const = default;
};

struct Dielectric {
    double thicknessUm = 0;
    double conductivityWPerMK = 0;
    double volumetricHeatJPerM3K = 2.0e6;
    double maxC = 0;
    Habit habit;
    bool operator==(const Dielectric&) const = default;
};

struct Copper {
    double thicknessUm = 35;
    double conductivityWPerMK = 390;
    double volumetricHeatJPerM3K = 3.45e6;
    bool coversStrip = true; ///< False: copper only under each site's pad.
    Habit habit;
    bool operator==(const Copper&) const = default;
};

/// One board as it comes: everything that repeats from strip to strip.
struct StripType {
    std::string id;
    std::string name;
    double lengthMm = 0, widthMm = 0;
    Core core;
    Dielectric dielectric;
    Copper copper;
    double jointThicknessUm = 80;
    double emissivityTop = 0, emissivityUnderside = 0, emissivitySide = 0;
    LedPackage led;
    std::optional<Lens> lens;
    std::optional<Glue> glue;    ///< Present whenever lens is.
    std::vector<double> siteXMm; ///< LED centres from the connector end, ascending; site n is [n-1].
    Habit habit;
    std::string source;
    bool operator==(const StripType&) const = default;
};

inline bool dielectricCapIsHabit(const StripType& strip)
{
    return strip.habit.whole || strip.dielectric.habit.of("max_C");
}

/// The loop inside a plate that is driven by its set-point, with no ramp of its own on:
///
///     duty = gain (set-point - reading) + integral - gain derivativeS d(reading)/dt, within 0 and mostDuty
///
/// the integral standing still while it would drive the duty further out of these.
struct OwnLoopFigures {
    double gainPerK = 0;             ///< Share of the heater's power a kelvin.
    double integralS = 0;            ///< Time in which an error that stays gives its share once more.
    double derivativeS = 0;          ///< On the reading.
    double mostDuty = 1;             ///< Share of the power that the loop ever gives.
    std::optional<double> cutAfterS; ///< Silence after which this plate was found cut; none: it may heat on.
    /// Fastest that the set-point it works by moves to the one it was told, from the reading on when heat
    /// begins; none: at once.
    std::optional<double> rampCPerS;
    bool operator==(const OwnLoopFigures&) const = default;
};

struct PlateType {
    std::string id;
    std::string name;
    double lengthMm = 0, widthMm = 0, thicknessMm = 0; ///< length along the strip.
    double powerW = 0;
    double heatCapacityJPerK = 0;
    double lossWPerK = 0;        ///< Linear part of the loss to ambient.
    double radiatingAreaM2 = 0;  ///< Area times emissivity, to surroundings at ambient [m²].
    double fanLossWPerK = 0;     ///< Added while the fan blows; 0: a fan was never measured for it.
    double lossRangeShare = 0.1; ///< Losses may be off by this share of themselves either way; > 0.
    double elementLagS = 0;      ///< Heating element to body.
    double sensorLagS = 0;
    double deadTimeS = 0;
    double maxC = 0; ///< Highest plate temperature ever planned or allowed.
    std::optional<OwnLoopFigures>
        ownLoop; ///< Of a plate driven by its set-point; none: its heater does as told.
    Habit habit;
    std::string source;
    bool operator==(const PlateType&) const = default;
};

/// A stretch of the strip's underside with its own conductance to the plate.
struct ContactSegment {
    double startMm = 0, endMm = 0; ///< From the connector end.
    double conductanceWPerM2K = 0;
    bool operator==(const ContactSegment&) const = default;
};

struct ContactCondition {
    std::string id;
    std::string name;
    double lowWPerM2K = 0, nominalWPerM2K = 0, highWPerM2K = 0;
    std::vector<ContactSegment> segments; ///< Nominal values along the strip; empty: uniform over the plate.
    bool bare = false;          ///< Nothing but air between strip and plate: nothing there that heat spoils.
    std::optional<double> maxC; ///< What lies between them stands so much, on the plate's side; absent: not
                                ///< stated, which says nothing unless bare.
    Habit habit;
    std::string source;
    bool operator==(const ContactCondition&) const = default;
};

struct SinkBlock {
    std::string id;
    std::string name;
    double lengthMm = 0; ///< Along the strip; it spans the strip's width.
    double heatCapacityJPerK = 0;
    double conductanceWPerM2K = 0; ///< Between strip and block.
    double lossWPerK = 0;          ///< Block to ambient.
    Habit habit;
    std::string source;
    bool operator==(const SinkBlock&) const = default;
};

} // namespace stripwright
