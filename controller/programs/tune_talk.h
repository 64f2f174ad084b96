#pragma once

#include "programs/programs.h"
#include "tuning/tune_plate.h"

#include <atomic>

namespace stripwright {

/// What a tuning has learnt, or why nothing: one JSON object on standard output, or lines for people.
/// `question`: of a power that the climb makes doubtful; `sized`: somebody has said how large the plate is.
void sayResult(const TuneOptions& options, const TuningResult& result,
               const std::optional<IdentifiedPlate>& before, const std::optional<std::string>& question,
               bool sized);

/// Asks whether the operator stands by a typed power that the climb makes doubtful, with the heater off and
/// the guardian kept awake. Who is not at the `keyboard` (-1: there is none), or does not say y, does not:
/// then nothing is learnt. Without a word for those who read JSON: they are told.
void questionPower(const TuneOptions& options, const std::optional<std::string>& question, int keyboard,
                   int heartbeat, const std::atomic<int>& stop, TuningResult& result);

} // namespace stripwright
