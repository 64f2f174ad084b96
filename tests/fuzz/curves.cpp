#include "commands/curves_csv.h"
#include "fuzzed.h"

using namespace stripwright;

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, size_t size)
{
    readOrRefuse([&] {
        const PlateCurve curve = readPlateCurve(textOf(data, size), "fuzzed.csv");
        if (curve.timeS.empty() || curve.timeS.size() != curve.plateC.size())
            std::abort();
    });
    return 0;
}
