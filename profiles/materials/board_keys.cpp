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
    keys.flagIfAny("habit", led.habit);
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
    keys.flagIfAny("habit", lens.habit);
    keys.text("source", lens.source);
    keys.require({"foot_circle_mm", "diameter_mm", "foot_diameter_mm"},
                 lens.footCircleMm + lens.footDiameterMm <= lens.diameterMm, lens.footCircleMm,
                 "feet under the lens: at most diameter_mm less foot_diameter_mm, " +
                     quoted(lens.diameterMm - lens.footDiameterMm));
}

template <class Keys> void keysOf(Keys& keys, Glue& glue)
{
    keys.id(glue.id);
    keys.text("name", glue.name);
    keys.number("thickness_um", glue.thicknessUm, within(1, 3000));
    keys.number("conductivity_W_per_mK", glue.conductivityWPerMK, within(0.01, 100));
    keys.number("max_C", glue.maxC, within(40, 400));
    keys.flagIfAny("lets_go", glue.letsGo);
    if (glue.letsGo)
        keys.number("lets_go_C", glue.letsGoC, within(40, 500));
    keys.flagIfAny("habit", glue.habit);
    keys.text("source", glue.source);
    if (glue.letsGo)
        keys.require({"lets_go_C", "max_C"}, glue.letsGoC >= glue.maxC, glue.letsGoC,
                     "at least max_C, " + quoted(glue.maxC));
}

template <class Keys> void keysOf(Keys& keys, Core& core)
{
    keys.text("alloy", core.alloy);
    keys.number("thickness_mm", core.thicknessMm, within(0.2, 10));
    keys.number("conductivity_W_per_mK", core.conductivityWPerMK, within(1, 500));
    keys.number("density_kg_per_m3", core.densityKgPerM3, within(1000, 25000));
    keys.number("heat_capacity_J_per_kgK", core.heatCapacityJPerKgK, within(100, 2000));
    keys.numberIfAny("heat_capacity_slope_J_per_kgK2", core.heatCapacitySlopeJPerKgK2, within(0, 2));
}

template <class Keys> void keysOf(Keys& keys, Dielectric& dielectric)
{
    keys.number("thickness_um", dielectric.thicknessUm, within(5, 1000));
    keys.number("conductivity_W_per_mK", dielectric.conductivityWPerMK, within(0.05, 50));
    keys.numberIfAny("volumetric_heat_J_per_m3K", dielectric.volumetricHeatJPerM3K, within(1e5, 1e7));
    keys.number("max_C", dielectric.maxC, within(60, 500));
}

template <class Keys> void keysOf(Keys& keys, Copper& copper)
{
    keys.numberIfAny("thickness_um", copper.thicknessUm, within(5, 500));
    keys.numberIfAny("conductivity_W_per_mK", copper.conductivityWPerMK, within(1, 500));
    keys.numberIfAny("volumetric_heat_J_per_m3K", copper.volumetricHeatJPerM3K, within(1e5, 1e7));
    keys.flagIfAny("covers_strip", copper.coversStrip);
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
    keys.flagIfAny("habit", strip.habit);
    keys.text("source", strip.source);
    checkStrip(keys, strip);
}

template void keysOf(EntryReader&, LedPackage&);
template void keysOf(EntryWriter&, LedPackage&);
template void keysOf(EntryReader&, Lens&);
template void keysOf(EntryWriter&, Lens&);
template void keysOf(EntryReader&, Glue&);
template void keysOf(EntryWriter&, Glue&);
template void keysOf(EntryReader&, Core&);
template void keysOf(EntryWriter&, Core&);
template void keysOf(EntryReader&, Dielectric&);
template void keysOf(EntryWriter&, Dielectric&);
template void keysOf(EntryReader&, Copper&);
template void keysOf(EntryWriter&, Copper&);
template void keysOf(EntryReader&, StripType&);
template void keysOf(EntryWriter&, StripType&);

} // namespace stripwright
