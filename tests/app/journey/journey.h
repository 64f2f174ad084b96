#pragma once

#include "child_program.h"
#include "link/plate_link.h"
#include "scratch_folder.h"

#include <chrono>
#include <gtest/gtest.h>
#include <thread>

namespace stripwright {

inline const std::string demoSheet = SHELF_DIR "/marram-lane-bar-7.bench.json";

inline void write(const std::filesystem::path& file, const std::string& text)
{
    std::ofstream(file) << text;
}

inline std::vector<std::string> filesIn(const std::filesystem::path& folder)
{
    std::vector<std::string> names;
    for (const auto& entry : std::filesystem::recursive_directory_iterator(folder))
        names.push_back(entry.path());
    std::sort(names.begin(), names.end());
    return names;
}

inline std::vector<std::string> linesOf(const std::string& text)
{
    std::vector<std::string> lines;
    std::istringstream in(text);
    for (std::string line; std::getline(in, line);)
        lines.push_back(line);
    return lines;
}

inline std::string planOfDemoSheet(const ScratchFolder& folder)
{
    const std::string plan = folder / "demo.plan.json";
    ChildProgram program("stripwright", {"plan", demoSheet, "--out", plan});
    EXPECT_EQ(program.exitCode(), 0) << program.errors();
    return plan;
}

/// A simulated plate of its own, with the demo sheet's strip on it.
class SimulatedPlateProgram {
public:
    SimulatedPlateProgram(const ScratchFolder& folder, int speed)
        : link_(folder / "bench.plate.json"),
          program_("stripwright-plate", {"--tcp", "0", "--sheet", demoSheet, "--link-out", link_, "--speed",
                                         std::to_string(speed)})
    {
        EXPECT_TRUE(waitFor([&] { return std::filesystem::exists(link_); }, 10)) << program_.errors();
    }
    const std::string& link() const { return link_; }
    PlateReading reading()
    {
        const auto plate = openPlate(readPlateLink(textOf(link_), link_));
        const auto read = plate->read();
        EXPECT_TRUE(read) << plate->lastError();
        return read.value_or(PlateReading{});
    }

private:
    std::string link_;
    ChildProgram program_;
};

} // namespace stripwright
