#include "materials/bow_contact.h"
#include "materials/entry_keys.h"

namespace stripwright {

template <class Keys> static void keysOf(Keys& keys, OwnLoopFigures& loop)
{
    keys.number("gain_per_K", loop.gainPerK, within(1e-4, 100));
    keys.number("integral_s", loop.integralS, within(0.1, 1e5));
    keys.numberIfAny("derivative_s", loop.derivativeS, within(0, 1000));
    keys.numberIfAny("most_duty", loop.mostDuty, within(0.01, 1));
    keys.numberIfAny("cut_after_silence_s", loop.cutAfterS, within(0.1, 120));
    keys.numberIfAny("ramp_C_per_s", loop.rampCPerS, within(0.01, 100));
}

template <class Keys> void keysOf(Keys& keys, PlateType& plate)
{
    keys.id(plate.id);
    keys.text("name", plate.name);
    keys.number("length_mm", plate.lengthMm, within(5, 2000));
    keys.number("width_mm", plate.widthMm, within(5, 2000));
    keys.number("thickness_mm", plate.thicknessMm, within(0.5, 100));
    keys.number("power_W", plate.powerW, within(1, 20000));
    keys.number("heat_capacity_J_per_K", plate.heatCapacityJPerK, within(1, 1e5));
    keys.number("loss_W_per_K", plate.lossWPerK, within(0.001, 100));
    keys.number("radiating_area_m2", plate.radiatingAreaM2, within(0, 10));
    keys.numberIfAny("fan_loss_W_per_K", plate.fanLossWPerK, within(0, 100));
    keys.numberIfAny("loss_range_share", plate.lossRangeShare, within(0.01, 0.5));
    keys.number("element_lag_s", plate.elementLagS, within(0, 300));
    keys.number("sensor_lag_s", plate.sensorLagS, within(0, 300));
    keys.number("dead_time_s", plate.deadTimeS, within(0, 60));
    keys.number("max_C", plate.maxC, within(40, 500));
    keys.partIfAny("own_loop", plate.ownLoop);
    keys.habit(plate.habit);
    keys.text("source", plate.source);
}

template <class Keys> void keysOf(Keys& keys, ContactSegment& segment)
{
    keys.number("start_mm", segment.startMm, within(0, 5000));
    keys.number("end_mm", segment.endMm, within(0, 5000));
    keys.number("conductance_W_per_m2K", segment.conductanceWPerM2K, within(1, 1e6));
    keys.require({"end_mm", "start_mm"}, segment.startMm < segment.endMm, segment.endMm,
                 "more than start_mm, " + quoted(segment.startMm));
}

// A measured bow is all that stands there then; the rest follows from it.
static bool bowed(EntryReader& keys, ContactCondition& contact)
{
    if (!keys.states("bow_mm"))
        return false;
    double bowMm = 0;
    keys.number("bow_mm", bowMm, within(leastBowMm, mostBowMm));
    if (keys.sound("bow_mm"))
        contact = bowedContact(bowMm);
    return true;
}

static bool bowed(EntryWriter&, ContactCondition&)
{
    return false;
}

template <class Keys> void keysOf(Keys& keys, ContactCondition& contact)
{
    if (bowed(keys, contact))
        return;
    keys.id(contact.id);
    keys.text("name", contact.name);
    keys.number("low_W_per_m2K", contact.lowWPerM2K, within(1, 1e6));
    keys.number("nominal_W_per_m2K", contact.nominalWPerM2K, within(1, 1e6));
    keys.number("high_W_per_m2K", contact.highWPerM2K, within(1, 1e6));
    keys.partsIfAny("segments", contact.segments, 100);
    keys.flagIfAny("bare", contact.bare);
    keys.numberIfAny("max_C", contact.maxC, within(40, 1000));
    keys.habit(contact.habit);
    keys.text("source", contact.source);
    keys.require({"low_W_per_m2K", "nominal_W_per_m2K"}, contact.lowWPerM2K <= contact.nominalWPerM2K,
                 contact.lowWPerM2K, "at most nominal_W_per_m2K, " + quoted(contact.nominalWPerM2K));
    keys.require({"high_W_per_m2K", "nominal_W_per_m2K"}, contact.nominalWPerM2K <= contact.highWPerM2K,
                 contact.highWPerM2K, "at least nominal_W_per_m2K, " + quoted(contact.nominalWPerM2K));
    keys.require({"max_C", "bare"}, !contact.bare || !contact.maxC, contact.maxC.value_or(0),
                 "no such key where \"bare\" is true: there is nothing between strip and plate");
    for (size_t i = 1; i < contact.segments.size(); ++i) {
        const std::string here = "segments/" + std::to_string(i),
                          before = "segments/" + std::to_string(i - 1);
        keys.require({here + "/start_mm", before},
                     contact.segments[i - 1].endMm <= contact.segments[i].startMm,
                     contact.segments[i].startMm,
                     "at least the end of the segment before, " + quoted(contact.segments[i - 1].endMm));
    }
}

template <class Keys> void keysOf(Keys& keys, SinkBlock& block)
{
    keys.id(block.id);
    keys.text("name", block.name);
    keys.number("length_mm", block.lengthMm, within(1, 500));
    keys.number("heat_capacity_J_per_K", block.heatCapacityJPerK, within(0.1, 1e5));
    keys.number("conductance_W_per_m2K", block.conductanceWPerM2K, within(1, 1e6));
    keys.number("loss_W_per_K", block.lossWPerK, within(0, 100));
    keys.habit(block.habit);
    keys.text("source", block.source);
}

template void keysOf(EntryReader&, PlateType&);
template void keysOf(EntryWriter&, PlateType&);
template void keysOf(EntryReader&, ContactSegment&);
template void keysOf(EntryWriter&, ContactSegment&);
template void keysOf(EntryReader&, ContactCondition&);
template void keysOf(EntryWriter&, ContactCondition&);
template void keysOf(EntryReader&, SinkBlock&);
template void keysOf(EntryWriter&, SinkBlock&);

} // namespace stripwright
