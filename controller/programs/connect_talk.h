#pragma once

#include "commissioning/commission_plate.h"

#include <nlohmann/json.hpp>

namespace stripwright {

/// What connect says: one JSON object a line on standard output, or lines for people on standard error.
class ConnectTalk {
public:
    /// `terminal`: standard error is one.
    ConnectTalk(bool json, bool live, bool terminal) : json_(json), live_(live), terminal_(terminal) {}

    void candidates(const CandidateTable& table); ///< About twice a second; `live`: for people too.
    void step(const std::string& text);
    void news(std::optional<double> plateC, std::optional<double> duty);
    void proof(Proof what, bool ok, const std::string& text);
    void leftOpen(Proof what, const std::string& text);
    void end(const std::vector<std::string>& refused, std::optional<bool> heaterOff,
             const std::optional<PlateLink>& link);

private:
    void say(const nlohmann::json& line);
    void sayCandidates();

    const bool json_, live_, terminal_;
    double nextListS_ = 0, nextNewsS_ = 0;
    std::optional<CandidateTable> last_; // not said yet
};

} // namespace stripwright
