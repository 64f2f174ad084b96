#pragma once

#include "child_program.h"
#include "messages/running.h"

#include <gtest/gtest.h>

namespace stripwright {

/// The heats that run, as soon as the first is left to its guardian; fails the test if that never comes.
inline std::vector<RunningController> heatsOnceOneGoesOnAlone()
{
    std::vector<RunningController> found;
    EXPECT_TRUE(waitFor([&] {
        found = runningHeats();
        return !found.empty() && found[0].goesOnAlone();
    }));
    return found;
}

} // namespace stripwright
