#pragma once

#include <nlohmann/json.hpp>

#include <QString>

namespace stripwright {

// A program's line may have any shape: what is not as it should be reads as nothing, never as zero.

nlohmann::json partOf(const nlohmann::json& line, const char* key);
bool saysYes(const nlohmann::json& line, const char* key);
QString textOf(const nlohmann::json& line, const char* key);
QString figureOf(const nlohmann::json& line, const char* key, int decimals, double times = 1); ///< "–": none.
/// Of an uncertainty, which is never none: a percent at least.
QString wholePercent(const nlohmann::json& line, const char* key);

} // namespace stripwright
