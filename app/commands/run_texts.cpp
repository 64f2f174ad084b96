#include "commands/run_texts.h"

#include "materials/json_fields.h"

#include <QString>

#include <algorithm>
#include <array>

namespace stripwright {

namespace {

using nlohmann::json;

bool isControl(unsigned char c)
{
    return (c < 0x20 && c != '\n' && c != '\t') || c == 0x7F;
}

bool isText(const std::string& text)
{
    if (std::ranges::any_of(text, isControl))
        return false;
    try {
        (void)json(text).dump(); // throws at what is no UTF-8
        return true;
    } catch (const json::exception&) {
        return false;
    }
}

template <size_t size> bool isOneOf(const std::array<const char*, size>& names, const std::string& text)
{
    return std::ranges::find(names, text) != names.end();
}

std::string garbledSummary(const RunSummary& run)
{
    const std::array<std::pair<const char*, const std::string*>, 5> texts{{{"key", &run.key},
                                                                           {"title", &run.title},
                                                                           {"start", &run.startedUtc},
                                                                           {"end", &run.endedUtc},
                                                                           {"outcome", &run.outcomeText}}};
    for (const auto& [name, text] : texts)
        if (!isText(*text))
            return std::string("its ") + name + " is no text";
    if (!run.outcome && !run.endedUtc.empty())
        return "its outcome is no word for one";
    std::string digits;
    std::ranges::copy_if(run.startedUtc, std::back_inserter(digits),
                         [](char c) { return c >= '0' && c <= '9'; });
    if (run.key.substr(0, run.key.find('-')) != digits)
        return "its key and its start, " + cut(run.startedUtc, 40) + ", do not belong together";
    return {};
}

// An Event or a BenchEvent.
template <class Kind> bool isEvent(const Kind& event)
{
    static constexpr std::array kinds{"state", "stretch", "card", "interlock", "operator",
                                      "link",  "heater",  "note", "mark"};
    static constexpr std::array severities{"info", "warning", "trip"};
    return isOneOf(kinds, event.kind) && isOneOf(severities, event.severity) && isText(event.text);
}

// Of another version it is no fault that it cannot be read.
std::string garbledPlan(const RecordedRun& run, std::optional<HeatPlan>& plan)
{
    std::vector<Problem> problems;
    const auto document = parseDocument(run.planText, "its plan", "", 0, problems);
    if (!document)
        return problems.front().text();
    const json format = document->is_object() ? document->value("format", json()) : json();
    if (format != "stripwright-heat-plan")
        return "its plan: /format: found " + (format.is_null() ? "nothing" : quoted(format)) +
               ", expected \"stripwright-heat-plan\"";
    try {
        plan = readHeatPlan(run.planText, "its plan");
    } catch (const BadInput& bad) {
        return bad.problems().front().pointer == "/version" ? "" : bad.problems().front().text();
    }
    if (plan->sheet.title != run.summary.title)
        return "its title, \"" + cut(run.summary.title, 60) + "\", is not its plan's, \"" +
               cut(plan->sheet.title, 60) + "\"";
    return {};
}

} // namespace

RunTexts textsOf(const RecordedRun& run)
{
    RunTexts texts;
    texts.garbled = garbledSummary(run.summary);
    const std::string plan = garbledPlan(run, texts.plan);
    if (texts.garbled.empty())
        texts.garbled = plan;
    if (texts.garbled.empty() && !isText(run.plateLinkText))
        texts.garbled = "its plate link is no text";
    for (const Event& event : run.events)
        if (texts.garbled.empty() && !isEvent(event))
            texts.garbled = "event " + std::to_string(event.seq) + " is none that was written";
    return texts;
}

std::string garbledIn(const std::vector<BenchEvent>& events)
{
    for (const BenchEvent& event : events)
        if (!isEvent(event) || !isText(event.atUtc))
            return "what happened between runs: " + printable(cut(event.atUtc, 40)) +
                   " is no event that was written";
    return {};
}

std::string printable(const std::string& text)
{
    std::string clean = QString::fromStdString(text).toStdString(); // what is no UTF-8 is marked
    std::ranges::replace_if(clean, isControl, '?');
    return clean;
}

} // namespace stripwright
