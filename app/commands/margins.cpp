#include "commands/margins.h"

#include "commands/wrapped.h"
#include "models/wording.h"

#include <algorithm>
#include <cmath>

namespace stripwright {

namespace {

using Line = std::array<QString, 5>;

QString whatOf(const MarginRow& row)
{
    return QString::fromStdString(row.limit.what) + (row.limit.habit ? " (trade habit)" : "");
}

Line lineOf(const MarginRow& row)
{
    return {whatOf(row), allowedText(row.limit), spanText(row), marginText(row.limit, row.margin),
            inWords(stateOf(row))};
}

/// Line by line where the table is too wide.
void printList(std::ostream& out, const std::vector<MarginRow>& rows, bool byContact)
{
    qsizetype widest = 0;
    for (const MarginRow& row : rows)
        widest = std::max(widest, marginText(row.limit, row.margin).size());
    const auto lead = [&](const QString& margin, const QString& state) {
        constexpr qsizetype stateWidth = 14; // "habit missed"
        return (margin.leftJustified(widest + 2) + state.leftJustified(stateWidth)).toStdString();
    };
    printWrapped(out, lead("margin", ""),
                 std::string("limit: ") + (byContact ? "coldest · as stated · hottest" : "value") +
                     ", allowed");
    for (const MarginRow& row : rows)
        printWrapped(out, lead(marginText(row.limit, row.margin), inWords(stateOf(row))),
                     (whatOf(row) + ": " + spanText(row) + ", " + allowedText(row.limit)).toStdString());
}

} // namespace

void printMargins(std::ostream& out, const std::vector<MarginRow>& rows)
{
    const bool byContact =
        std::any_of(rows.begin(), rows.end(), [](const MarginRow& row) { return row.low; });
    std::vector<Line> lines{
        {"limit", "allowed", byContact ? "coldest · as stated · hottest" : "value", "margin", ""}};
    for (const MarginRow& row : rows)
        lines.push_back(lineOf(row));
    std::array<qsizetype, 5> widths{};
    for (const Line& line : lines)
        for (size_t column = 0; column < line.size(); ++column)
            widths[column] = std::max(widths[column], line[column].size());
    constexpr qsizetype gap = 2;
    qsizetype width = -gap;
    for (const qsizetype one : widths)
        width += one + gap;
    if (width > columnsOf(out)) {
        printList(out, rows, byContact);
        return;
    }
    for (const Line& line : lines) {
        QString text;
        for (size_t column = 0; column < line.size(); ++column)
            text += line[column].leftJustified(widths[column] + gap);
        out << text.trimmed().toStdString() << '\n';
    }
}

nlohmann::ordered_json marginsJson(const std::vector<MarginRow>& rows)
{
    const auto orNull = [](const std::optional<double>& value) {
        return value && std::isfinite(*value) ? nlohmann::ordered_json(*value) : nlohmann::ordered_json();
    };
    nlohmann::ordered_json all = nlohmann::ordered_json::array();
    for (const MarginRow& row : rows)
        all.push_back({{"id", row.limit.id},
                       {"station", row.limit.station.name()},
                       {"what", row.limit.what},
                       {"unit", row.limit.unit()},
                       {"min", orNull(row.limit.min)},
                       {"max", orNull(row.limit.max)},
                       {"habit", row.limit.habit},
                       {"low", orNull(row.low)},
                       {"nominal", orNull(row.nominal)},
                       {"high", orNull(row.high)},
                       {"margin", orNull(row.margin)},
                       {"normalised_margin", orNull(row.normalisedMargin)},
                       {"kept", row.margin >= 0}});
    return all;
}

bool everyLimitKept(const std::vector<MarginRow>& rows)
{
    return !rows.empty() && std::none_of(rows.begin(), rows.end(), [](const MarginRow& row) {
        return !row.limit.habit && !(row.margin >= 0);
    });
}

} // namespace stripwright
