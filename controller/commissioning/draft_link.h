#pragma once

#include "link/plate_link.h"

namespace stripwright {

/// A plate link file whose sensor may still lack its type, order and scale.
struct DraftLink {
    PlateLink link; ///< Whole but for those of `link.sensor` that were not given.
    std::optional<RegisterType> type;
    std::optional<WordOrder> order;
    std::optional<double> scale;

    bool meaningGiven() const { return type && order && scale; }
};

/// Throws BadInput with every problem of the file.
DraftLink readDraftLink(const std::string& text, const std::string& fileName);

/// The draft's link with a sensor that reads so. Raw values for "no sensor" that the type cannot hold are
/// left out, since they cannot come.
PlateLink linkWithSensor(const DraftLink& draft, const RegisterField& sensor);

} // namespace stripwright
