#include "at_the_plate/said_line.h"

#include "models/wording.h"

#include <algorithm>
#include <cmath>

namespace stripwright {

using nlohmann::json;

json partOf(const json& line, const char* key)
{
    return line.is_object() && line.contains(key) ? line.at(key) : json();
}

bool saysYes(const json& line, const char* key)
{
    const json part = partOf(line, key);
    return part.is_boolean() && part.get<bool>();
}

QString figureOf(const json& line, const char* key, int decimals, double times)
{
    const json part = partOf(line, key);
    return part.is_number() ? figure(times * part.get<double>(), decimals) : QStringLiteral("–");
}

QString wholePercent(const json& line, const char* key)
{
    const json part = partOf(line, key);
    return part.is_number() ? figure(std::max(1.0, std::ceil(100 * part.get<double>())), 0)
                            : QStringLiteral("–");
}

QString textOf(const json& line, const char* key)
{
    const json part = partOf(line, key);
    return part.is_string() ? QString::fromStdString(part.get<std::string>()) : QString();
}

} // namespace stripwright
