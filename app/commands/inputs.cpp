#include "commands/inputs.h"

#include "materials/json_fields.h"

#include <array>
#include <cstdlib>

namespace stripwright {

std::filesystem::path shippedData()
{
    return SHIPPED_DATA_DIR;
}

std::filesystem::path demoSheetFile()
{
    return shippedData() / "marram-lane-bar-7.bench.json";
}

static std::filesystem::path userDataFolder()
{
    if (const char* folder = std::getenv("XDG_DATA_HOME"); folder && *folder == '/')
        return std::filesystem::path(folder) / "stripwright";
    const char* home = std::getenv("HOME");
    return std::filesystem::path(home && *home ? home : "/") / ".local/share/stripwright";
}

std::filesystem::path userShelfFolder()
{
    return userDataFolder() / "shelf";
}

std::filesystem::path userRunsFile()
{
    return userDataFolder() / "runs.db";
}

std::filesystem::path binFolder()
{
    return std::filesystem::read_symlink("/proc/self/exe").parent_path();
}

std::vector<std::filesystem::path> filesOfShelves()
{
    std::vector<std::filesystem::path> files;
    for (const auto& folder : {shippedData(), userShelfFolder()}) {
        std::error_code none;
        for (const auto& entry : std::filesystem::directory_iterator(folder, none))
            files.push_back(entry.path());
    }
    return files;
}

std::vector<std::filesystem::path> filesOfRunLog(const std::filesystem::path& runs)
{
    std::vector<std::filesystem::path> files;
    for (const char* end : {"", "-wal", "-shm", "-journal"})
        files.push_back(runs.string() + end);
    return files;
}

Shelf readWholeShelf()
{
    const std::array folders{shippedData(), userShelfFolder()};
    return readShelf(folders);
}

BenchSheet readSheetFile(const std::string& path, const Shelf& shelf)
{
    return readBenchSheet(readTextFile(path), path, shelf);
}

HeatPlan readPlanFile(const std::string& path)
{
    return readHeatPlan(readTextFile(path, mostPlanMB), path);
}

} // namespace stripwright
