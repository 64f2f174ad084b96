#pragma once

#include "materials/json_fields.h"
#include "thermal/predict.h"

#include <map>
#include <sstream>

namespace stripwright::test {

/// Columns of a CSV file of plain numbers, by name.
inline std::map<std::string, std::vector<double>> columnsOf(const std::string& file)
{
    std::istringstream text(readTextFile(file));
    std::string line, cell;
    std::getline(text, line);
    std::vector<std::string> names;
    for (std::istringstream head(line); std::getline(head, cell, ',');)
        names.push_back(cell);
    std::map<std::string, std::vector<double>> columns;
    while (std::getline(text, line)) {
        size_t i = 0;
        for (std::istringstream row(line); std::getline(row, cell, ',');)
            columns[names.at(i++)].push_back(std::stod(cell));
    }
    return columns;
}

/// A strip on a plate of given temperature with the answer of three-dimensional finite elements, which is
/// good to 0.05 K in core and joint, 0.15 K at body tops and 0.15 s in time above liquidus.
struct FiniteElementCase {
    struct Joint {
        int site;
        double peakC, liquidusC, aboveLiquidusS; ///< Taken from the answer at every second.
    };
    std::string name;
    BenchSheet sheet;
    PlateCurve plate;
    std::vector<double> timeS;
    std::map<std::string, std::vector<double>> stationC; ///< By station name, at timeS.
    std::vector<Joint> joints;

    /// What predict() needs to answer at the same stations until the same end.
    PredictOptions options() const
    {
        PredictOptions options;
        options.endS = timeS.back();
        for (const auto& [station, values] : stationC)
            if (station.rfind("strip_", 0) == 0)
                options.stripXMm.push_back(std::stod(station.substr(6)));
        return options;
    }
};

constexpr const char* finiteElementCases[] = {"60-mm-plate-under-10-mm-strip-bare-pads",
                                              "100-mm-plate-under-12-mm-strip-copper-and-radiation"};

inline FiniteElementCase finiteElementCase(const std::string& name)
{
    const std::string base = std::string(TEST_DATA_DIR) + "/finite-element/" + name;
    FiniteElementCase one;
    one.name = name;
    one.sheet = readBenchSheet(readTextFile(base + ".bench.json"), base, Shelf{});
    const auto plate = columnsOf(base + ".plate.csv");
    one.plate = {plate.at("time_s"), plate.at("plate_C")};
    for (const auto& [column, values] : columnsOf(base + ".truth.csv"))
        if (column == "time_s")
            one.timeS = values;
        else
            one.stationC[column.substr(0, column.rfind("_C"))] = values;
    const auto joints = columnsOf(base + ".joints.csv");
    for (size_t i = 0; i < joints.at("site").size(); ++i)
        one.joints.push_back({static_cast<int>(joints.at("site")[i]), joints.at("peak_C")[i],
                              joints.at("liquidus_C")[i], joints.at("above_liquidus_s")[i]});
    return one;
}

} // namespace stripwright::test
