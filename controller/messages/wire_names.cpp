#include "messages/names.h"

namespace stripwright {

template <class Names, class Value> static const Name& nameOf(const Names& names, Value value)
{
    return names.at(static_cast<size_t>(value));
}

const char* wireName(RunState state)
{
    return nameOf(runStateNames, state).wire;
}

const char* wireName(HeaterState heater)
{
    return nameOf(heaterStateNames, heater).wire;
}

const char* wireName(LinkState link)
{
    return nameOf(linkStateNames, link).wire;
}

const char* wireName(StripPlace place)
{
    return nameOf(stripPlaceNames, place).wire;
}

const char* wireName(Outcome outcome)
{
    return nameOf(outcomeNames, outcome).wire;
}

const char* inWords(RunState state)
{
    return nameOf(runStateNames, state).words;
}

const char* inWords(HeaterState heater)
{
    return nameOf(heaterStateNames, heater).words;
}

const char* inWords(LinkState link)
{
    return nameOf(linkStateNames, link).words;
}

const char* inWords(StripPlace place)
{
    return nameOf(stripPlaceNames, place).words;
}

const char* inWords(Outcome outcome)
{
    return nameOf(outcomeNames, outcome).words;
}

std::string inWords(Outcome outcome, const std::string& text)
{
    const std::string words = inWords(outcome);
    return text.empty() ? words : text.starts_with(words) ? text : words + ": " + text;
}

std::optional<Outcome> outcomeNamed(std::string_view name)
{
    for (size_t i = 0; i < outcomeNames.size(); ++i)
        if (name == outcomeNames[i].wire)
            return static_cast<Outcome>(i);
    return std::nullopt;
}

} // namespace stripwright
