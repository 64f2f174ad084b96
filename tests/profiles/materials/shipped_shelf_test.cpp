#include "materials/bench_sheet.h"
#include "materials/json_fields.h"

#include <gtest/gtest.h>

namespace stripwright {
namespace {

namespace fs = std::filesystem;

Shelf shippedShelf()
{
    const fs::path folder = SHELF_DIR;
    return readShelf({&folder, 1});
}

TEST(ShippedShelf, ReadsWithoutAProblem)
{
    EXPECT_NO_THROW(shippedShelf());
}

TEST(ShippedShelf, ReadsEveryDemoSheetAndWritesItBackTheSame)
{
    const Shelf shelf = shippedShelf();
    int sheets = 0;
    for (const auto& file : fs::directory_iterator(SHELF_DIR)) {
        if (!file.path().string().ends_with(".bench.json"))
            continue;
        ++sheets;
        const BenchSheet sheet = readBenchSheet(readTextFile(file.path()), file.path(), shelf);
        EXPECT_EQ(sheet, readBenchSheet(toJson(sheet).dump(), "inline", Shelf{}));
        EXPECT_EQ(sheet, readBenchSheet(toJsonById(sheet, shelf).dump(), "by id", shelf));
        EXPECT_FALSE(sheet.targets().empty());
    }
    EXPECT_GE(sheets, 2);
}

} // namespace
} // namespace stripwright
