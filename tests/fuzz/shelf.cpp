#include "materials/shelf.h"
#include "fuzzed.h"

#include <cstdio>
#include <fstream>
#include <unistd.h>

using namespace stripwright;

static const char* const files[] = {"alloys.json",      "pastes.json",     "leds.json",   "lenses.json",
                                    "glues.json",       "strips.json",     "plates.json", "contacts.json",
                                    "sink-blocks.json", "core-alloys.json"};

/// A folder in memory that stands over the shipped shelf.
static const std::filesystem::path& folder()
{
    static const std::filesystem::path made = [] {
        char name[] = "/dev/shm/stripwright-fuzz-XXXXXX";
        if (!mkdtemp(name))
            std::abort();
        std::atexit([] { std::filesystem::remove_all(folder()); });
        return std::filesystem::path(name);
    }();
    return made;
}

// The first byte says which file it is.
extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, size_t size)
{
    if (size == 0)
        return 0;
    const std::filesystem::path file = folder() / files[data[0] % std::size(files)];
    {
        std::ofstream out(file, std::ios::binary);
        out.write(reinterpret_cast<const char*>(data) + 1, static_cast<std::streamsize>(size - 1));
    }
    readOrRefuse([&] {
        const std::filesystem::path folders[] = {SHELF_DIR, folder()};
        readShelf(folders);
    });
    std::filesystem::remove(file);
    return 0;
}
