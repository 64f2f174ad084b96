#include "fuzzed.h"
#include "materials/bench_sheet.h"
#include "materials/shelf.h"

#include <nlohmann/json.hpp>

using namespace stripwright;

// What is read is written in the same words again: a sheet that a window saves must be the sheet it opened.
extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, size_t size)
{
    static const std::filesystem::path folders[] = {SHELF_DIR};
    static const Shelf shelf = readShelf(folders);
    readOrRefuse([&] {
        const BenchSheet sheet = readBenchSheet(textOf(data, size), "fuzzed.bench.json", shelf);
        const std::string written = toJson(sheet).dump();
        if (toJson(readBenchSheet(written, "written.bench.json", Shelf{})).dump() != written)
            std::abort();
    });
    return 0;
}
