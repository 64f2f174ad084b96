#pragma once

#include "materials/bench_sheet.h"
#include "materials/json_fields.h"

#include <array>

namespace stripwright::test {

inline Shelf shippedShelf()
{
    const std::array<std::filesystem::path, 1> folders = {SHELF_DIR};
    return readShelf(folders);
}

inline BenchSheet shippedSheet(const std::string& name)
{
    const std::string file = std::string(SHELF_DIR) + "/" + name;
    return readBenchSheet(readTextFile(file), file, shippedShelf());
}

} // namespace stripwright::test
