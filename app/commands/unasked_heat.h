#pragma once

#include "messages/messages.h"

#include <string>

namespace stripwright {

/// What has tripped and is still there, or came after the first cause: heat that nobody asked for is told for
/// as long as the plate does not fall, whatever the heater's state is called meanwhile.
class UnaskedHeat {
public:
    void take(const Event& event);
    std::string text(const Status& status); ///< Empty: nothing of the kind.

private:
    std::string text_;
    std::optional<double> highestC_;
};

} // namespace stripwright
