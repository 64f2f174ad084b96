#pragma once

#include "commissioning/candidate_table.h"

#include <memory>

namespace stripwright {

enum class Proof { Write, Sensor, Enable, Watchdog };

/// What a commissioning needs of the world around it: a line, time, and somebody to tell.
class Surroundings {
public:
    virtual ~Surroundings() = default;

    virtual std::unique_ptr<Plate> open(const PlateLink& link) = 0; ///< Throws LinkError.
    /// While the guardian counts the time: some second at most. Throws LinkError.
    virtual std::unique_ptr<Plate> openAgain(const PlateLink& link) = 0;
    /// No more than its line, whatever else is wrong with the plate. Throws LinkError if there is none.
    virtual std::unique_ptr<Plate> openToTurnOff(const PlateLink& link) = 0;
    virtual double plantS() = 0;
    virtual double wallS() = 0;
    /// Called at the end of each cycle, and every 0.5 s while nothing else is done.
    virtual void waitUntil(double plantS) = 0;
    virtual bool stopped() = 0; ///< By the operator.

    virtual void tellCandidates(const CandidateTable& table) = 0; ///< After every reading.
    virtual void tellStep(const std::string& text) = 0;
    /// After every cycle of heat. `duty`: as read back, or as written where that is what drives the plate;
    /// none: it has a loop of its own and does not tell.
    virtual void tellNews(std::optional<double> plateC, std::optional<double> duty) = 0;
    virtual void tellProof(Proof what, bool ok, const std::string& text) = 0;
    /// Neither proven nor disproven, and why.
    virtual void tellLeftOpen(Proof what, const std::string& text) = 0;
};

} // namespace stripwright
