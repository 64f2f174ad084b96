#include "materials/entry_keys.h"
#include "materials/lens_fit.h"

#include <algorithm>

namespace stripwright {

template <class Keys> void keysOf(Keys& keys, LedPackage& led)
{
    keys.id(led.id);
    keys.text("name", led.name);
    keys.number("length_mm", led.lengthMm, within(0.2, 50));
    keys.number("width_mm", led.widthMm, within(0.2, 50));
    keys.number("height_mm", led.heightMm, within(0.1, 20));
    keys.number("pad_length_mm", led.padLengthMm, within(0.1, 50));
    keys.number("pad_width_mm", led.padWidthMm, within(0.1, 50));
    keys.choiceIfAny("body", led.body, {"plastic", "ceramic"});
    keys.numberIfAny("conductivity_W_per_mK", led.conductivityWPerMK, within(0.05, 500));
    keys.numberIfAny("volumetric_heat_J_per_m3K", led.volumetricHeatJPerM3K, within(1e5, 1e7));
    keys.number("body_max_C", led.bodyMaxC, within(60, 400));
    keys.numberIfAny("near_max_s", led.nearMaxS, within(1, 600));
    keys.wholeIfAny("passes_allowed", led.passesAllowed, 1, 20);
    keys.numberIfAny("power_W", led.powerW, within(0, 100));
    keys.numberIfAny("forward_voltage_V", led.forwardVoltageV, within(0, 400));
    keys.numberIfAny("junction_to_pad_K_per_W", led.junctionToPadKPerW, within(0, 1000));
    keys.textIfAny("moisture_level", led.moistureLevel);
    keys.habit(led.habit);
    keys.text("source", led.source);
    static const std::vector<std::string> levels = {"", "1", "2", "2a", "3", "4", "5", "5a", "6"};
    keys.require({"moisture_level"},
                 std::find(levels.begin(), levels.end(), led.moistureLevel) != levels.end(),
                 quoted(nlohmann::json(led.moistureLevel)), "one of 1, 2, 2a, 3, 4, 5, 5a, 6");
}

template <class Keys> void keysOf(Keys& keys, Lens& lens)
{
    keys.id(lens.id);
    keys.text("name", lens.name);
    keys.text("material", lens.material);
    keys.number("height_mm", lens.heightMm, within(0.5, 100));
    keys.number("diameter_mm", lens.diameterMm, within(1, 200));
    keys.whole("foot_count", lens.footCount, 1, 12);
    keys.number("foot_circle_mm", lens.footCircleMm, within(0.5, 200));
    keys.number("foot_diameter_mm", lens.footDiameterMm, within(0.2, 20));
    keys.number("foot_height_mm", lens.footHeightMm, within(0.1, 20));
    keys.number("conductivity_W_per_mK", lens.conductivityWPerMK, within(0.01, 500));
    keys.number("volumetric_heat_J_per_m3K", lens.volumetricHeatJPerM3K, within(1e5, 1e7));
    keys.number("mass_g", lens.massG, within(0.01, 200));
    keys.number("heat_capacity_J_per_kgK", lens.heatCapacityJPerKgK, within(100, 5000));
    keys.number("gap_conductance_W_per_K", lens.gapConductanceWPerK, within(1e-5, 1));
    keys.number("to_air_W_per_K", lens.toAirWPerK, within(1e-5, 1));
    keys.number("foot_max_C", lens.footMaxC, within(40, 400));
    keys.number("body_max_C", lens.bodyMaxC, within(40, 400));
    keys.habit(lens.habit);
    keys.text("source", lens.source);
    keys.require({"foot_circle_mm", "diameter_mm", "foot_diameter_mm"},
                 lens.footCircleMm + lens.footDiameterMm <= lens.diameterMm, lens.footCircleMm,
                 "feet under the lens: at most diameter_mm less foot_diameter_mm, " +
                     quoted(lens.diameterMm - lens.footDiameterMm));
}

static const Accepts holds = within(40, 400), lets = within(40, 500);

// Glues of earlier files, in run logs too, had one end each: max_C to hold, lets_go_C to let go.
static void ends(EntryReader& keys, Glue& glue)
{
    const auto earlier = [&](const char* now, const char* before) {
        return !keys.fields().optional(now) && keys.fields().optional(before) ? before : now;
    };
    keys.number(earlier("hold_C", "max_C"), glue.holdC, holds);
    keys.flagIfAny("lets_go", glue.letsGo);
    if (!glue.letsGo)
        return;
    const char* const low = earlier("release_low_C", "lets_go_C");
    keys.number(low, glue.releaseLowC, lets);
    if (low == std::string("lets_go_C"))
        glue.releaseHighC = glue.releaseLowC;
    else
        keys.number("release_high_C", glue.releaseHighC, lets);
}

static void ends(EntryWriter& keys, Glue& glue)
{
    keys.number("hold_C", glue.holdC, holds);
    keys.flagIfAny("lets_go", glue.letsGo);
    if (!glue.letsGo)
        return;
    keys.number("release_low_C", glue.releaseLowC, lets);
    keys.number("release_high_C", glue.releaseHighC, lets);
}

template <class Keys> void keysOf(Keys& keys, Glue& glue)
{
    keys.id(glue.id);
    keys.text("name", glue.name);
    keys.number("thickness_um", glue.thicknessUm, within(1, 3000));
    keys.number("conductivity_W_per_mK", glue.conductivityWPerMK, within(0.01, 100));
    ends(keys, glue);
    keys.habit(glue.habit);
    keys.text("source", glue.source);
    if (!glue.letsGo)
        return;
    keys.require({"release_low_C", "hold_C"}, glue.releaseLowC >= glue.holdC, glue.releaseLowC,
                 "at least hold_C, " + quoted(glue.holdC));
    keys.require({"release_high_C", "release_low_C"}, glue.releaseHighC >= glue.releaseLowC,
                 glue.releaseHighC, "at least release_low_C, " + quoted(glue.releaseLowC));
}

template <class Keys> static void checkConductivityRange(Keys& keys, const auto& metal)
{
    const double nominal = metal.conductivityWPerMK;
    const double low = metal.conductivityLowWPerMK.value_or(nominal);
    const double high = metal.conductivityHighWPerMK.value_or(nominal);
    keys.require({"conductivity_low_W_per_mK", "conductivity_W_per_mK"}, low <= nominal, low,
                 "at most conductivity_W_per_mK, " + quoted(nominal));
    keys.require({"conductivity_high_W_per_mK", "conductivity_W_per_mK"}, high >= nominal, high,
                 "at least conductivity_W_per_mK, " + quoted(nominal));
}

template <class Keys> void keysOf(Keys& keys, CoreAlloy& alloy)
{
    keys.id(alloy.id);
    keys.text("name", alloy.name);
    keys.number("conductivity_W_per_mK", alloy.conductivityWPerMK, within(1, 500));
    keys.numberIfAny("conductivity_low_W_per_mK", alloy.conductivityLowWPerMK, within(1, 500));
    keys.numberIfAny("conductivity_high_W_per_mK", alloy.conductivityHighWPerMK, within(1, 500));
    keys.number("density_kg_per_m3", alloy.densityKgPerM3, within(1000, 25000));
    keys.number("heat_capacity_J_per_kgK", alloy.heatCapacityJPerKgK, within(100, 2000));
    keys.numberIfAny("heat_capacity_slope_J_per_kgK2", alloy.heatCapacitySlopeJPerKgK2, within(0, 2));
    keys.habit(alloy.habit);
    keys.text("source", alloy.source);
    checkConductivityRange(keys, alloy);
}

/// What the core itself does not state comes from the shelf's alloy of its name, and is habit where it is
/// there.
static void takeFromShelf(EntryReader& keys, Core& core)
{
    const CoreAlloy* shelved = keys.shelved<CoreAlloy>(core.alloy);
    const auto take = [&](const char* key, auto CoreAlloy::*from, auto Core::*to) {
        if (!shelved || keys.states(key))
            return;
        core.*to = shelved->*from;
        if (shelved->habit.of(key) && !core.habit.whole)
            core.habit.values.push_back(key);
    };
    // A range belongs to the nominal it was stated with.
    if (!keys.states("conductivity_W_per_mK")) {
        take("conductivity_low_W_per_mK", &CoreAlloy::conductivityLowWPerMK, &Core::conductivityLowWPerMK);
        take("conductivity_high_W_per_mK", &CoreAlloy::conductivityHighWPerMK, &Core::conductivityHighWPerMK);
    }
    take("conductivity_W_per_mK", &CoreAlloy::conductivityWPerMK, &Core::conductivityWPerMK);
    take("density_kg_per_m3", &CoreAlloy::densityKgPerM3, &Core::densityKgPerM3);
    take("heat_capacity_J_per_kgK", &CoreAlloy::heatCapacityJPerKgK, &Core::heatCapacityJPerKgK);
    take("heat_capacity_slope_J_per_kgK2", &CoreAlloy::heatCapacitySlopeJPerKgK2,
         &Core::heatCapacitySlopeJPerKgK2);
    const std::vector<std::string> named = keys.shelvedIds<CoreAlloy>();
    for (const char* key : {"conductivity_W_per_mK", "density_kg_per_m3", "heat_capacity_J_per_kgK"})
        keys.require({key, "alloy"}, shelved || keys.states(key), "nothing",
                     named.empty() ? "a number"
                                   : "a number, or as alloy one that the shelf knows, " + oneOf(named));
}

static void takeFromShelf(EntryWriter&, Core&) {}

template <class Keys> void keysOf(Keys& keys, Core& core)
{
    keys.text("alloy", core.alloy);
    keys.number("thickness_mm", core.thicknessMm, within(0.2, 10));
    keys.habit(core.habit);
    takeFromShelf(keys, core);
    keys.numberIfAny("conductivity_W_per_mK", core.conductivityWPerMK, within(1, 500));
    keys.numberIfAny("conductivity_low_W_per_mK", core.conductivityLowWPerMK, within(1, 500));
    keys.numberIfAny("conductivity_high_W_per_mK", core.conductivityHighWPerMK, within(1, 500));
    keys.numberIfAny("density_kg_per_m3", core.densityKgPerM3, within(1000, 25000));
    keys.numberIfAny("heat_capacity_J_per_kgK", core.heatCapacityJPerKgK, within(100, 2000));
    keys.numberIfAny("heat_capacity_slope_J_per_kgK2", core.heatCapacitySlopeJPerKgK2, within(0, 2));
    checkConductivityRange(keys, core);
}

template <class Keys> void keysOf(Keys& keys, Dielectric& dielectric)
{
    keys.number("thickness_um", dielectric.thicknessUm, within(5, 1000));
    keys.number("conductivity_W_per_mK", dielectric.conductivityWPerMK, within(0.05, 50));
    keys.numberIfAny("volumetric_heat_J_per_m3K", dielectric.volumetricHeatJPerM3K, within(1e5, 1e7));
    keys.number("max_C", dielectric.maxC, within(60, 500));
    keys.habit(dielectric.habit);
}

template <class Keys> void keysOf(Keys& keys, Copper& copper)
{
    keys.numberIfAny("thickness_um", copper.thicknessUm, within(5, 500));
    keys.numberIfAny("conductivity_W_per_mK", copper.conductivityWPerMK, within(1, 500));
    keys.numberIfAny("volumetric_heat_J_per_m3K", copper.volumetricHeatJPerM3K, within(1e5, 1e7));
    keys.flagIfAny("covers_strip", copper.coversStrip);
    keys.habit(copper.habit);
}

// However the sites were stated, they are one value of the strip, and are written as one.
static void nameSitesOnce(std::vector<std::string>& keys)
{
    const auto isPitched = [](const std::string& key) {
        return key == "first_site_mm" || key == "pitch_mm" || key == "site_count";
    };
    if (std::erase_if(keys, isPitched) > 0)
        keys.push_back("site_x_mm");
}

template <class Keys> static void checkStrip(Keys& keys, const StripType& strip)
{
    keys.require({"led", "width_mm"}, strip.led.padWidthMm <= strip.widthMm,
                 quoted(nlohmann::json(strip.led.id)),
                 "an LED whose pad, " + quoted(strip.led.padWidthMm) + " mm wide, fits width_mm, " +
                     quoted(strip.widthMm));
    keys.require({"glue"}, !strip.lens || strip.glue, "nothing", "the glue that holds the lens");
    keys.require({"lens"}, !strip.glue || strip.lens, "nothing", "the lens that the glue holds");
    // A lens taken on trust, because its file could not be read, has no feet to judge.
    if (!Keys::reading || !strip.lens || strip.lens->footDiameterMm <= 0)
        return;
    std::string expected = "a lens whose feet land on the board.";
    const std::vector<std::string> misfits = lensMisfits(strip);
    for (const std::string& misfit : misfits)
        expected += " " + misfit;
    keys.require(
        {"lens", "width_mm", "led", "length_mm", "site_x_mm", "first_site_mm", "pitch_mm", "site_count"},
        misfits.empty(), quoted(nlohmann::json(strip.lens->id)), expected);
}

template <class Keys> void keysOf(Keys& keys, StripType& strip)
{
    keys.id(strip.id);
    keys.text("name", strip.name);
    keys.number("length_mm", strip.lengthMm, within(10, 5000));
    keys.number("width_mm", strip.widthMm, within(2, 300));
    keys.part("core", strip.core);
    keys.part("dielectric", strip.dielectric);
    keys.partIfAny("copper", strip.copper);
    keys.numberIfAny("joint_thickness_um", strip.jointThicknessUm, within(5, 1000));
    keys.number("emissivity_top", strip.emissivityTop, within(0, 1));
    keys.number("emissivity_underside", strip.emissivityUnderside, within(0, 1));
    keys.number("emissivity_side", strip.emissivitySide, within(0, 1));
    keys.entry("led", strip.led);
    keys.entryIfAny("lens", strip.lens);
    keys.entryIfAny("glue", strip.glue);
    keys.sites(strip.siteXMm, strip.lengthMm, std::max(strip.led.lengthMm, strip.led.padLengthMm));
    keys.habit(strip.habit);
    if (Keys::reading)
        nameSitesOnce(strip.habit.values);
    keys.text("source", strip.source);
    checkStrip(keys, strip);
}

template void keysOf(EntryReader&, LedPackage&);
template void keysOf(EntryWriter&, LedPackage&);
template void keysOf(EntryReader&, Lens&);
template void keysOf(EntryWriter&, Lens&);
template void keysOf(EntryReader&, Glue&);
template void keysOf(EntryWriter&, Glue&);
template void keysOf(EntryReader&, CoreAlloy&);
template void keysOf(EntryWriter&, CoreAlloy&);
template void keysOf(EntryReader&, Core&);
template void keysOf(EntryWriter&, Core&);
template void keysOf(EntryReader&, Dielectric&);
template void keysOf(EntryWriter&, Dielectric&);
template void keysOf(EntryReader&, Copper&);
template void keysOf(EntryWriter&, Copper&);
template void keysOf(EntryReader&, StripType&);
template void keysOf(EntryWriter&, StripType&);

} // namespace stripwright
