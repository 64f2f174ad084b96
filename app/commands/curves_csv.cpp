#include "commands/curves_csv.h"

#include "materials/problem.h"

#include <algorithm>
#include <charconv>
#include <cmath>
#include <map>

namespace stripwright {

namespace {

constexpr double lowestC = -100, highestC = 600; // No plate of this kind leaves it; a typing error does.
constexpr size_t longestCurve = 1'000'000;

std::vector<std::string> cellsOf(std::string line)
{
    if (!line.empty() && line.back() == '\r')
        line.pop_back();
    std::vector<std::string> cells(1);
    for (const char c : line)
        if (c == ',')
            cells.emplace_back();
        else
            cells.back() += c;
    for (std::string& cell : cells) {
        const auto first = cell.find_first_not_of(" \t\""), last = cell.find_last_not_of(" \t\"");
        cell = first == std::string::npos ? "" : cell.substr(first, last - first + 1);
    }
    return cells;
}

std::vector<std::string> linesOf(const std::string& text)
{
    std::vector<std::string> lines;
    size_t from = text.starts_with("\xEF\xBB\xBF") ? 3 : 0;
    while (from < text.size()) {
        const size_t end = std::min(text.find('\n', from), text.size());
        lines.push_back(text.substr(from, end - from));
        from = end + 1;
    }
    return lines;
}

std::optional<double> numberIn(const std::string& cell)
{
    double value = 0;
    const auto [end, error] = std::from_chars(cell.data(), cell.data() + cell.size(), value);
    if (error != std::errc() || end != cell.data() + cell.size() || !std::isfinite(value))
        return {};
    return value;
}

class CurveReader {
public:
    explicit CurveReader(std::string file) : file_(std::move(file)) {}

    void header(const std::string& line)
    {
        const auto names = cellsOf(line);
        if (names.front() != "time_s")
            report(1, "", names.front().empty() ? "nothing" : "\"" + names.front() + "\"",
                   "\"time_s\" as the first column");
        const auto plate = std::find(names.begin(), names.end(), "plate_C");
        if (plate == names.end())
            report(1, "", "no column plate_C", "a column \"plate_C\", cells parted by commas");
        plateColumn_ = static_cast<size_t>(plate - names.begin());
    }

    void row(size_t number, const std::string& line)
    {
        const auto cells = cellsOf(line);
        if (cells.size() == 1 && cells[0].empty())
            return;
        const std::string plateCell = plateColumn_ < cells.size() ? cells[plateColumn_] : "";
        if (plateCell.empty() && plateColumn_ < cells.size())
            return;
        const auto seconds = numberIn(cells[0]), plateC = numberIn(plateCell);
        if (!seconds || *seconds < 0)
            report(number, "/time_s", quotedCell(cells[0]), "a time in seconds, at least 0");
        else if (!curve_.timeS.empty() && *seconds <= curve_.timeS.back())
            report(number, "/time_s", cells[0],
                   "a time after the row before, above " + shortNumber(curve_.timeS.back(), 6));
        if (!plateC || *plateC < lowestC || *plateC > highestC)
            report(number, "/plate_C", quotedCell(plateCell),
                   "a temperature from " + shortNumber(lowestC, 0) + " to " + shortNumber(highestC, 0) + " °C");
        if (seconds && plateC) {
            curve_.timeS.push_back(*seconds);
            curve_.plateC.push_back(*plateC);
        }
    }

    PlateCurve finish()
    {
        if (problems_.empty() && (curve_.timeS.size() < 2 || curve_.timeS.size() > longestCurve))
            problems_.push_back({file_, "", std::to_string(curve_.timeS.size()) + " rows with a value",
                                 "from 2 to " + std::to_string(longestCurve)});
        if (!problems_.empty())
            throw BadInput(std::move(problems_));
        return std::move(curve_);
    }

    bool failed() const { return !problems_.empty(); }

private:
    static std::string quotedCell(const std::string& cell)
    {
        return cell.empty() ? "nothing" : "\"" + cell.substr(0, 40) + "\"";
    }
    void report(size_t line, const std::string& column, const std::string& found, const std::string& expected)
    {
        problems_.push_back({file_, "/line " + std::to_string(line) + column, found, expected});
    }

    std::string file_;
    size_t plateColumn_ = 0;
    PlateCurve curve_;
    std::vector<Problem> problems_;
};

int placeInSite(StationKind kind)
{
    switch (kind) {
    case StationKind::Joint:
        return 0;
    case StationKind::Body:
        return 1;
    case StationKind::Glue:
        return 2;
    case StationKind::Lens:
        return 3;
    default:
        return -1;
    }
}

void appendOptional(std::string& row, const std::optional<double>& value)
{
    row += ',';
    if (value)
        row += shortNumber(*value, 6);
}

} // namespace

std::string shortNumber(double value, int decimals)
{
    if (!std::isfinite(value))
        return {};
    char digits[400];
    const auto [end, error] =
        std::to_chars(digits, digits + sizeof digits, value, std::chars_format::fixed, decimals);
    if (error != std::errc())
        return {};
    std::string text(digits, end);
    if (text.find('.') != std::string::npos) {
        text.erase(text.find_last_not_of('0') + 1);
        if (text.back() == '.')
            text.pop_back();
    }
    return text == "-0" ? "0" : text;
}

PlateCurve readPlateCurve(const std::string& text, const std::string& fileName)
{
    CurveReader reader(fileName);
    const auto lines = linesOf(text);
    reader.header(lines.empty() ? "" : lines[0]);
    if (!reader.failed())
        for (size_t i = 1; i < lines.size(); ++i)
            reader.row(i + 1, lines[i]);
    return reader.finish();
}

std::string predictionCsv(const Prediction& prediction)
{
    std::map<std::pair<int, int>, const StationCurve*> ofSites;
    std::vector<const StationCurve*> columns;
    for (const StationCurve& curve : prediction.stations)
        if (const int place = placeInSite(curve.station.kind); place >= 0)
            ofSites[{curve.station.site, place}] = &curve;
    for (const auto& [place, curve] : ofSites)
        columns.push_back(curve);
    for (const StationCurve& curve : prediction.stations)
        if (curve.station.kind == StationKind::Strip)
            columns.push_back(&curve);

    std::string csv = "time_s,plate_C";
    for (const StationCurve* column : columns)
        csv += "," + column->station.name + "_C";
    csv += '\n';
    for (size_t i = 0; i < prediction.timeS.size(); ++i) {
        csv += shortNumber(prediction.timeS[i], 6) + "," + shortNumber(prediction.plateC[i], 6);
        for (const StationCurve* column : columns)
            csv += "," + shortNumber(column->valueC[i], 6);
        csv += '\n';
    }
    return csv;
}

std::string samplesCsv(const std::vector<Sample>& samples)
{
    std::vector<std::string> extras; // In the order they first come.
    for (const Sample& sample : samples)
        for (const auto& [name, value] : sample.extra)
            if (std::find(extras.begin(), extras.end(), name) == extras.end())
                extras.push_back(name);

    std::string csv = "time_s,profile_s,plate_C,reference_C,expected_C,duty,joint_est_low_C,joint_est_nominal_C,"
                      "joint_est_high_C";
    for (const std::string& name : extras)
        csv += "," + name;
    csv += '\n';
    for (const Sample& sample : samples) {
        csv += shortNumber(sample.timeS, 6) + "," + shortNumber(sample.profileS, 6);
        appendOptional(csv, sample.sensorC);
        for (const double value : {sample.referenceC, sample.expectedC, sample.duty})
            csv += "," + shortNumber(value, 6);
        for (const auto& value : {sample.jointLowC, sample.jointNominalC, sample.jointHighC})
            appendOptional(csv, value);
        for (const std::string& name : extras) {
            const auto found = std::find_if(sample.extra.begin(), sample.extra.end(),
                                            [&](const auto& channel) { return channel.first == name; });
            csv += "," + (found == sample.extra.end() ? "" : shortNumber(found->second, 6));
        }
        csv += '\n';
    }
    return csv;
}

} // namespace stripwright
