#pragma once

#include "messages/wire_names.h"

#include <array>

namespace stripwright {

/// An enumerator's name on the wire and what a person reads.
struct Name {
    const char* wire;
    const char* words;
};

// In the order of the enumerators.
inline constexpr std::array<Name, 7> runStateNames{{{"idle", "idle"},
                                                    {"starting", "waiting for the hands"},
                                                    {"running", "heating by the plan"},
                                                    {"holding", "holding until the plate has caught up"},
                                                    {"stopping", "switching the heater off"},
                                                    {"cooling", "cooling, heater off"},
                                                    {"ended", "ended"}}};
inline constexpr std::array<Name, 4> heaterStateNames{
    {{"unknown", "heater state unknown"},
     {"on", "heater on"},
     {"off_commanded", "heater off commanded, not confirmed"},
     {"off_confirmed", "heater off"}}};
inline constexpr std::array<Name, 3> linkStateNames{
    {{"unknown", "plate not asked yet"}, {"up", "plate answers"}, {"lost", "plate does not answer"}}};
inline constexpr std::array<Name, 3> stripPlaceNames{
    {{"on_plate", "strip on the plate"},
     {"lift_not_said", "strip taken to lie on the plate: its lifting was not confirmed"},
     {"lifted", "strip lifted"}}};
inline constexpr std::array<Name, 5> outcomeNames{{{"completed", "completed"},
                                                   {"stopped_by_operator", "stopped by the operator"},
                                                   {"stopped_by_limit", "stopped by a limit"},
                                                   {"interrupted", "interrupted"},
                                                   {"failed", "failed"}}};

} // namespace stripwright
