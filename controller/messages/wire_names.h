#pragma once

#include "messages/messages.h"

#include <string_view>

namespace stripwright {

/// The stable one-word names that stand in messages and in the run log; inWords() is for people and may
/// change.
const char* wireName(RunState state);
const char* wireName(HeaterState heater);
const char* wireName(LinkState link);
const char* wireName(StripPlace place);
const char* wireName(Outcome outcome);

std::optional<Outcome> outcomeNamed(std::string_view name);

} // namespace stripwright
