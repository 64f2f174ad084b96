#include "programs/connect_talk.h"

#include "link/line_silence.h"

#include <cmath>
#include <cstdio>
#include <iostream>

namespace stripwright {

using nlohmann::json;

static constexpr double everyS = 0.5, everyForPeopleS = 2;

void ConnectTalk::say(const json& line)
{
    std::cout << line.dump() << std::endl;
}

static json inJson(const CandidateRow& row)
{
    static const char* const types[] = {"int16", "uint16", "int32", "float32"};
    static const char* const orders[] = {"ABCD", "CDAB", "BADC", "DCBA"};
    const bool two = row.field.type == RegisterType::Int32 || row.field.type == RegisterType::Float32;
    json raw = json::array({row.words[0]});
    if (two)
        raw.push_back(row.words[1]);
    json line = {{"type", types[static_cast<size_t>(row.field.type)]},
                 {"order", orders[static_cast<size_t>(row.field.order)]},
                 {"scale", row.field.scale},
                 {"offset", row.field.offset},
                 {"raw", raw},
                 {"reads_C", std::isfinite(row.readsC) ? json(row.readsC) : json()},
                 {"sensible", row.sensible && !row.likeEarlier},
                 {"moved_K", row.movedK}};
    if (!row.sensible || row.likeEarlier)
        line["why_not"] = row.sensible ? "has always read as one before it" : row.whyNot;
    return line;
}

void ConnectTalk::sayCandidates()
{
    if (!last_)
        return;
    const CandidateTable& table = *last_;
    if (json_) {
        json list = json::array();
        for (const CandidateRow& row : table.rows())
            list.push_back(inJson(row));
        say({{"kind", "candidates"}, {"list", list}, {"sensible", table.sensible().size()}});
    } else {
        std::fprintf(stderr, "\n%-20s  %-11s  %10s  %8s\n", "sensor as", "raw", "reads", "moved");
        const bool all = table.sensible().empty();
        for (const CandidateRow& row : table.rows())
            if (all || (row.sensible && !row.likeEarlier))
                std::fprintf(stderr, "%-20s  %5d %5d  %8.2f C  %6.2f K  %s\n", inWords(row.field).c_str(),
                             row.words[0], row.words[1], row.readsC, row.movedK, row.whyNot.c_str());
        if (!all)
            std::fprintf(stderr, "%zu more make no sense\n", table.rows().size() - table.sensible().size());
    }
    last_.reset();
}

void ConnectTalk::candidates(const CandidateTable& table)
{
    last_ = table;
    const double nowS = monotonicS();
    if (nowS < nextListS_ || !(json_ || live_))
        return;
    nextListS_ = nowS + (json_ ? everyS : everyForPeopleS);
    sayCandidates();
}

void ConnectTalk::step(const std::string& text)
{
    if (json_)
        say({{"kind", "step"}, {"text", text}});
    else
        std::fprintf(stderr, "\n%s\n", text.c_str());
}

void ConnectTalk::news(std::optional<double> plateC, std::optional<double> duty)
{
    const double nowS = monotonicS();
    if (nowS < nextNewsS_)
        return;
    nextNewsS_ = nowS + everyS;
    if (json_)
        say({{"kind", "news"},
             {"plate_C", plateC ? json(*plateC) : json()},
             {"duty", duty ? json(*duty) : json()}});
    else if (terminal_ && plateC && duty)
        std::fprintf(stderr, "\r%6.1f C  %3.0f %% heat ", *plateC, 100 * *duty);
    else if (terminal_ && plateC)
        std::fprintf(stderr, "\r%6.1f C    ? %% heat ", *plateC);
}

static const char* nameOf(Proof what)
{
    static const char* const names[] = {"write", "sensor", "enable", "watchdog"};
    return names[static_cast<size_t>(what)];
}

void ConnectTalk::leftOpen(Proof what, const std::string& text)
{
    if (json_)
        say({{"kind", "proof"}, {"what", nameOf(what)}, {"ok", false}, {"left_open", true}, {"text", text}});
    else
        std::fprintf(stderr, "\nleft open, not proven, %s: %s\n", nameOf(what), text.c_str());
}

void ConnectTalk::proof(Proof what, bool ok, const std::string& text)
{
    const char* name = nameOf(what);
    if (json_ || what == Proof::Sensor)
        sayCandidates();
    if (json_)
        say({{"kind", "proof"}, {"what", name}, {"ok", ok}, {"text", text}});
    else
        std::fprintf(stderr, "\n%s %s: %s\n", ok ? "proven" : "NOT proven", name, text.c_str());
}

void ConnectTalk::end(const std::vector<std::string>& refused, std::optional<bool> heaterOff,
                      const std::optional<PlateLink>& link)
{
    if (json_) {
        sayCandidates();
        say({{"kind", "end"},
             {"refused", refused},
             {"heater_off", heaterOff ? json(*heaterOff) : json()},
             {"link", link ? json::parse(toJsonText(*link)) : json()}});
        return;
    }
    for (const std::string& refusal : refused)
        std::fprintf(stderr, "Refused: %s\n", refusal.c_str());
}

} // namespace stripwright
