#include "fuzzed.h"
#include "loop/control_loop.h"

#include <nlohmann/json.hpp>

using namespace stripwright;

// A plan that is read is either refused for the run, with reasons, or can be followed.
extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, size_t size)
{
    readOrRefuse([&] {
        const HeatPlan plan = readHeatPlan(textOf(data, size), "fuzzed.plan.json");
        whyNotRunnable(plan);
        const std::string written = toJson(plan).dump();
        if (toJson(readHeatPlan(written, "written.plan.json")).dump() != written)
            std::abort();
    });
    return 0;
}
