#include "models/plate_to_learn.h"

#include "materials/own_plates.h"
#include "models/connected_plate.h"

#include <QCoreApplication>

#include <algorithm>

namespace stripwright {

using nlohmann::json;

static QString say(const char* text)
{
    return QCoreApplication::translate("plateToLearn", text);
}

static json partOf(const json& object, const char* key)
{
    return object.is_object() ? object.value(key, json()) : json();
}

std::optional<double> learningTopC(const json& link)
{
    constexpr double topC = 180, leastTopC = 100, belowMaxK = 20; // of tune, and room for what shoots over
    const json most = partOf(link, "plate_max_C");
    const double highestC = most.is_number() ? std::min(topC, most.get<double>() - belowMaxK) : topC;
    return highestC >= leastTopC ? std::optional(highestC) : std::nullopt;
}

bool mayGoOnHeating(const json& link)
{
    return link.is_object() && partOf(link, "simulated") != true &&
           connectedPlateOf(link).watchdogProvenS <= 0;
}

QStringList missingToLearn(const PlateToLearn& plate)
{
    QStringList missing;
    if (!plate.link)
        missing += say("the plate warmed and proven");
    else if (!plate.asConnected)
        missing += say("the plate proven again, for what is said of it was changed");
    else if (!learningTopC(*plate.link))
        missing += say("a plate that may get 120 °C: no hotter, and its heat tells too little");
    if (!plate.powerW)
        missing += say("the power of its heater");
    std::string why;
    if (plate.size.trimmed().isEmpty() && !plate.sizeNotKnown)
        missing += say("its size, or that it is not known");
    else if (!plate.sizeNotKnown && !readPlateSize(plate.size.toStdString(), why))
        missing += say("its size: %1").arg(QString::fromStdString(why));
    if (!plate.bare)
        missing += say("your word that it is bare");
    return missing;
}

} // namespace stripwright
