#pragma once

#include <nlohmann/json.hpp>

#include <QStringList>

#include <optional>

namespace stripwright {

/// What stands before the heat of a plate can be learnt.
struct PlateToLearn {
    const nlohmann::json* link = nullptr; ///< Of the plate as it was connected; none: it was not yet.
    bool asConnected = true;              ///< The form still says what the link does.
    bool bare = false;                    ///< Somebody has said so, and stays with it.
    std::optional<double> powerW;
    QString size;              ///< As typed.
    bool sizeNotKnown = false; ///< Somebody has said so.
};

/// In words, in the order in which one would do it; empty: nothing.
QStringList missingToLearn(const PlateToLearn& plate);

/// How hot the plate is made to learn its heat; none: no plate that may get no hotter than this one.
std::optional<double> learningTopC(const nlohmann::json& link);

/// Whether nothing is known to end the heat of this plate when the computer dies: nobody has seen it cut its
/// heater, and it is no simulated one.
bool mayGoOnHeating(const nlohmann::json& link);

} // namespace stripwright
