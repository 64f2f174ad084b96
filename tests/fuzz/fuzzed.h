#pragma once

#include "materials/problem.h"

#include <cstdint>
#include <cstdlib>
#include <string>

namespace stripwright {

/// What a reader may do with bytes of any kind: take them, or say what is wrong with them. Anything else ends the
/// process, which is what the fuzzer looks for.
template <class Read> void readOrRefuse(const Read& read)
{
    try {
        read();
    } catch (const BadInput& bad) {
        if (bad.problems().empty())
            std::abort();
    }
}

inline std::string textOf(const std::uint8_t* data, size_t size)
{
    return {reinterpret_cast<const char*>(data), size};
}

} // namespace stripwright
