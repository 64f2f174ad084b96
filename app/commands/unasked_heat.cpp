#include "commands/unasked_heat.h"

#include <algorithm>

namespace stripwright {

static constexpr const char* itsStart = "unexpected heat";
static constexpr double fallenK = 5; // by so much the plate has turned round

void UnaskedHeat::take(const Event& event)
{
    if (event.severity != "trip" || !event.text.starts_with(itsStart))
        return;
    text_ = event.text;
    highestC_.reset();
}

std::string UnaskedHeat::text(const Status& status)
{
    if (!text_.empty() && status.sensorC) {
        highestC_ = std::max(highestC_.value_or(*status.sensorC), *status.sensorC);
        if (*status.sensorC < *highestC_ - fallenK)
            text_.clear();
    }
    return !text_.empty() ? text_ : status.trip && status.trip->causeSeen ? status.trip->text : std::string();
}

} // namespace stripwright
