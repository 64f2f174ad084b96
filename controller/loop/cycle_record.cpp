#include "loop/cycle_record.h"

#include "messages/solder_mark_text.h"

#include <cmath>

namespace stripwright {

Sample sampleOf(const CycleRecord& record, const std::vector<std::string>& channelNames)
{
    Sample sample{.seq = record.sampleSeq,
                  .timeS = record.timeS,
                  .profileS = record.profileS,
                  .sensorC = record.sensorC,
                  .referenceC = record.referenceC,
                  .expectedC = record.expectedC,
                  .duty = record.duty,
                  .jointLowC = record.jointLowC,
                  .jointNominalC = record.jointNominalC,
                  .jointHighC = record.jointHighC};
    for (size_t i = 0; i < static_cast<size_t>(record.extraCount) && i < channelNames.size(); ++i)
        if (std::isfinite(record.extraC[i]))
            sample.extra.emplace_back(channelNames[i], record.extraC[i]);
    return sample;
}

Event messageOf(const LoopEvent& event)
{
    static constexpr const char* kinds[] = {"state", "stretch", "card", "interlock", "operator",
                                            "link",  "heater",  "note", markKind};
    static constexpr const char* severities[] = {"info", "warning", "trip"};
    return {.seq = event.seq,
            .timeS = event.timeS,
            .kind = kinds[static_cast<size_t>(event.kind)],
            .severity = severities[static_cast<size_t>(event.severity)],
            .text = event.text.data()};
}

Status statusOf(const CycleRecord& record, const std::string& cardId, const std::string& runKey)
{
    std::optional<Trip> trip;
    if (record.tripLatched)
        trip = Trip{record.tripText.data(), record.tripAcknowledged, record.causeSeen};
    return {.state = record.state,
            .heater = record.heater,
            .link = record.link,
            .linkText = record.linkText.data(),
            .sensorC = record.sensorC,
            .timeS = record.timeS,
            .profileS = record.profileS,
            .endS = record.endS,
            .card = cardId,
            .runKey = runKey,
            .outcome = record.outcome,
            .outcomeText = record.outcomeText.data(),
            .trip = trip,
            .strip = record.strip};
}

} // namespace stripwright
