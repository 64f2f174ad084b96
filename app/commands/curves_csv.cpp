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
constexpr double longestS = 7 * 86400.0; // A drying bake takes two days.
constexpr size_t longestLine = 100'000;  // A prediction of a 400-site strip has 20 kB.

std::vector<std::string_view> cellsOf(std::string_view line)
{
    if (line.ends_with('\r'))
        line.remove_suffix(1);
    std::vector<std::string_view> cells;
    for (bool more = true; more;) {
        const size_t comma = line.find(',');
        more = comma != std::string_view::npos;
        const std::string_view cell = line.substr(0, comma);
        const auto first = cell.find_first_not_of(" \t\""), last = cell.find_last_not_of(" \t\"");
        cells.push_back(first == std::string_view::npos ? "" : cell.substr(first, last - first + 1));
        line.remove_prefix(more ? comma + 1 : line.size());
    }
    return cells;
}

std::optional<double> numberIn(std::string_view cell)
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

    /// False: nothing after this line is worth reading.
    bool row(size_t number, std::string_view line)
    {
        if (line.size() > longestLine)
            report(number, "", "a line of " + std::to_string(line.size()) + " bytes",
                   "at most " + std::to_string(longestLine));
        else if (number == 1)
            header(line);
        else
            values(number, line);
        if (curve_.timeS.size() > longestCurve)
            report(number, "", "more than " + std::to_string(longestCurve) + " rows with a value",
                   "a curve thinned out to that many");
        return line.size() <= longestLine && curve_.timeS.size() <= longestCurve &&
               !(number == 1 && !problems_.empty());
    }

    PlateCurve finish()
    {
        if (problems_.empty() && curve_.timeS.size() < 2)
            addProblem({file_, "", std::to_string(curve_.timeS.size()) + " rows with a value", "at least 2"},
                       problems_);
        if (!problems_.empty())
            throw BadInput(std::move(problems_));
        return std::move(curve_);
    }

private:
    void header(std::string_view line)
    {
        const auto names = cellsOf(line);
        if (names.front() != "time_s")
            report(1, "", quotedCell(names.front()), "\"time_s\" as the first column");
        const auto plate = std::find(names.begin(), names.end(), "plate_C");
        if (plate == names.end())
            report(1, "", "no column plate_C", "a column \"plate_C\", cells parted by commas");
        plateColumn_ = static_cast<size_t>(plate - names.begin());
    }

    void values(size_t number, std::string_view line)
    {
        const auto cells = cellsOf(line);
        if (cells.size() == 1 && cells[0].empty())
            return;
        const std::string_view plateCell = plateColumn_ < cells.size() ? cells[plateColumn_] : "";
        if (plateCell.empty() && plateColumn_ < cells.size())
            return;
        const auto seconds = numberIn(cells[0]), plateC = numberIn(plateCell);
        if (!seconds || *seconds < 0 || *seconds > longestS)
            report(number, "/time_s", quotedCell(cells[0]),
                   "a time in seconds, from 0 to " + shortNumber(longestS, 0));
        else if (lastS_ && *seconds <= *lastS_)
            report(number, "/time_s", std::string(cells[0]),
                   "a time after the row before, above " + shortNumber(*lastS_, 6));
        if (!plateC || *plateC < lowestC || *plateC > highestC)
            report(number, "/plate_C", quotedCell(plateCell),
                   "a temperature from " + shortNumber(lowestC, 0) + " to " + shortNumber(highestC, 0) +
                       " °C");
        if (seconds)
            lastS_ = seconds;
        if (seconds && plateC) {
            curve_.timeS.push_back(*seconds);
            curve_.plateC.push_back(*plateC);
        }
    }

    static std::string quotedCell(std::string_view cell)
    {
        return cell.empty() ? "nothing" : "\"" + cut(std::string(cell), 40) + "\"";
    }
    void report(size_t line, const std::string& column, const std::string& found, const std::string& expected)
    {
        addProblem({file_, "/line " + std::to_string(line) + column, found, expected}, problems_);
    }

    std::string file_;
    size_t plateColumn_ = 0;
    PlateCurve curve_;
    std::optional<double> lastS_;
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
    case StationKind::FarFoot: // of a lens to be released, beside its glue
        return 3;
    case StationKind::Lens:
        return 4;
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
    std::string_view rest = text;
    if (rest.starts_with("\xEF\xBB\xBF"))
        rest.remove_prefix(3);
    bool wanted = true;
    for (size_t number = 1; wanted && (number == 1 || !rest.empty()); ++number) {
        const size_t end = std::min(rest.find('\n'), rest.size());
        wanted = reader.row(number, rest.substr(0, end));
        rest.remove_prefix(std::min(end + 1, rest.size()));
    }
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

    std::string csv =
        "time_s,profile_s,plate_C,reference_C,expected_C,duty,joint_est_low_C,joint_est_nominal_C,"
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
