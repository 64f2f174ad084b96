#include "reference_plate.h"
#include "tuning/tune_plate.h"

#include <gtest/gtest.h>

namespace stripwright {

TEST(TunePlate, SaysThatTheHeaterIsOffOnceAfterTheLastCycle)
{
    ReferencePlate plate;
    TuningJob job;
    job.powerW = 900;
    job.bounds.periodS = 0.01;
    const std::atomic<int> stop = 1;
    std::string said;
    const TuningResult result = tunePlate(
        plate, job, stop, [&] { said += 'c'; }, [&] { said += 'o'; }, [](const TuningNews&) {});
    EXPECT_TRUE(result.heaterOff);
    ASSERT_GT(said.size(), 1u);
    EXPECT_EQ(said.find('o'), said.size() - 1) << said;
}

TEST(TunePlate, SlowCycleIsNoStandstillForTheGuardian)
{
    ReferencePlate plate;
    plate.noAnswer = true; // heater off takes a second cycle
    TuningJob job;
    job.powerW = 900;
    job.bounds.periodS = 0.8;
    const std::atomic<int> stop = 1;
    int beats = 0;
    tunePlate(
        plate, job, stop,
        [&] {
            ++beats;
            plate.noAnswer = false;
        },
        [] {}, [](const TuningNews&) {});
    EXPECT_EQ(beats, 3) << "one a cycle, and one between the two";
}

} // namespace stripwright
