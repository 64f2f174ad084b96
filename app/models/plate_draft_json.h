#pragma once

#include "models/plate_draft.h"

namespace stripwright {

/// The draft as a plate link document. What missingIn() names is left out, and what was proven and learnt of
/// the plate it was read from once the draft says another one.
nlohmann::json toJson(const PlateDraft& draft);

/// Reads a plate link document, whole or a draft, for going on from it. Throws nlohmann::json::exception
/// where a key holds another kind of value than it must.
PlateDraft draftOf(const nlohmann::json& link);

/// Reads the file. Nothing if it cannot be read or is no plate link; `why` then says what is wrong.
std::optional<PlateDraft> readPlateDraft(const QString& file, QString& why);

} // namespace stripwright
