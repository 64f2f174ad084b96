#include "messages/messages.h"

#include "fuzzed.h"

using namespace stripwright;

// A line is a message or it is refused with a reason, and a message comes back from its own encoding.
extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, size_t size)
{
    std::string why;
    const auto message = decode(textOf(data, size), why);
    if (!message) {
        if (why.empty())
            std::abort();
        return 0;
    }
    const std::string line = encode(*message);
    const auto again = decode(line.substr(0, line.size() - 1), why);
    if (!again || encode(*again) != line)
        std::abort();
    return 0;
}
