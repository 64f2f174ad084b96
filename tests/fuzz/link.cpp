#include "fuzzed.h"
#include "commissioning/draft_link.h"

using namespace stripwright;

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, size_t size)
{
    const std::string text = textOf(data, size);
    readOrRefuse([&] { readDraftLink(text, "fuzzed.plate.json"); });
    readOrRefuse([&] {
        const std::string written = toJsonText(readPlateLink(text, "fuzzed.plate.json"));
        if (toJsonText(readPlateLink(written, "written.plate.json")) != written)
            std::abort();
    });
    return 0;
}
