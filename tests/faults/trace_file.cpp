#include "trace_file.h"

#include <cmath>
#include <fstream>
#include <sstream>
#include <stdexcept>

namespace stripwright::faults {

Trace readTrace(const std::filesystem::path& file)
{
    std::ifstream in(file);
    Trace trace;
    std::string line;
    std::getline(in, line);
    while (std::getline(in, line)) {
        std::istringstream cells(line);
        double values[8];
        std::string cell;
        int count = 0;
        for (double& value : values) {
            if (!std::getline(cells, cell, ','))
                break;
            value = cell.empty() ? NAN : std::atof(cell.c_str());
            ++count;
        }
        if (count < 8)
            continue; // the plate was killed in the middle of it
        std::getline(cells, cell);
        trace.rows.push_back(
            {values[0], values[1], values[2], values[3], values[4], values[5], values[6], values[7], cell});
    }
    if (trace.rows.empty())
        throw std::runtime_error("the plate's trace is empty");
    return trace;
}

const Trace::Row* Trace::faultBegan() const
{
    for (const Row& row : rows)
        if (row.event.starts_with("fault "))
            return &row;
    return nullptr;
}

const Trace::Row* Trace::countsFrom(CountsFrom what, double sinceWallS) const
{
    const Row* from = nullptr;
    for (const Row& row : rows) {
        if (row.wallS < sinceWallS)
            continue;
        if (row.event == "off frame")
            break;
        const bool counts =
            what == CountsFrom::MoreThanTold ? row.heat > 0.25 + 1.25 * row.duty : row.duty >= 0.3;
        from = !counts ? nullptr : from ? from : &row;
    }
    return from;
}

const Trace::Row& Trace::at(double wallS) const
{
    const Row* last = &rows.front();
    for (const Row& row : rows)
        if (row.wallS <= wallS)
            last = &row;
    return *last;
}

const Trace::Row* Trace::offFrame(double sinceWallS) const
{
    const Row* off = nullptr;
    for (const Row& row : rows) {
        if (row.event == "off frame" && row.wallS >= sinceWallS)
            off = &row;
        else if (row.event == "on frame")
            off = nullptr;
    }
    return off;
}

const Trace::Row* Trace::heatEnded(double sinceWallS) const
{
    const Row* ended = nullptr;
    for (const Row& row : rows) {
        if (row.heat > 0)
            ended = nullptr;
        else if (!ended && row.wallS >= sinceWallS)
            ended = &row;
    }
    return ended;
}

bool Trace::says(const std::string& event, double sinceWallS) const
{
    for (const Row& row : rows)
        if (row.wallS >= sinceWallS && row.event == event)
            return true;
    return false;
}

bool Trace::heated(double sinceWallS) const
{
    for (const Row& row : rows)
        if (row.wallS >= sinceWallS && row.heat > 0)
            return true;
    return false;
}

} // namespace stripwright::faults
