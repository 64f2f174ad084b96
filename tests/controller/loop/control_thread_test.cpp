#include "loop/control_thread.h"

#include "reference_plate.h"
#include "stub_plate.h"

#include <algorithm>
#include <fcntl.h>
#include <gtest/gtest.h>
#include <unistd.h>

namespace stripwright {
namespace {

using test::nowS;
using test::StubPlate;

std::atomic<double> fakeSleepS = 0;

struct Threaded : testing::Test {
    StubPlate plate;
    Rings rings;
    std::atomic<bool> deskStands = false;
    std::atomic<int> signalled = 0;
    std::vector<CycleRecord> records;

    /// Takes what the thread says until this is true of a record.
    bool until(const std::function<bool(const CycleRecord&)>& done, double patienceS = 30)
    {
        for (const double endS = nowS() + patienceS; nowS() < endS; usleep(1000)) {
            if (!deskStands)
                ++rings.deskBeat;
            for (CycleRecord record; rings.toDesk.try_dequeue(record);) {
                records.push_back(record);
                if (done(record))
                    return true;
            }
        }
        return false;
    }
    bool said(const std::string& words) const
    {
        for (const CycleRecord& record : records)
            for (int i = 0; i < record.eventCount; ++i)
                if (std::string(record.events[size_t(i)].text.data()).find(words) != std::string::npos)
                    return true;
        return false;
    }
    bool untilSaid(const std::string& words, double patienceS = 30)
    {
        return until([&](const CycleRecord&) { return said(words); }, patienceS);
    }
    void heat(ControlThread& thread)
    {
        ASSERT_TRUE(until([](const auto& record) { return record.heater == HeaterState::OffConfirmed; }));
        thread.begin(std::make_unique<ControlLoop>(plate, referencePlan(), LoopSettings{}));
        ASSERT_TRUE(until([](const auto& record) { return record.heater == HeaterState::On; }));
    }
};

TEST_F(Threaded, StopIsWrittenAtOnceAndNotInTheNextCycle)
{
    ControlThread thread(plate, rings, {.periodS = 5});
    ASSERT_TRUE(until([](const auto& record) { return record.heater == HeaterState::OffConfirmed; }));
    usleep(100'000);
    const size_t offs = plate.offs();
    const double askedS = nowS();
    const long number = thread.requestStop();
    ASSERT_TRUE(until([&](const auto& record) { return record.stopTaken == number; }));
    EXPECT_LT(nowS() - askedS, 2.5) << "a cycle of 5 s must not be waited for";
    EXPECT_GT(plate.offs(), offs) << "with no run on too";
}

TEST_F(Threaded, StopInARunEndsTheHeatAndLeavesTheCyclesWhereTheyWere)
{
    ControlThread thread(plate, rings, {.periodS = 0.5});
    heat(thread);
    usleep(100'000);
    const double lastS = plate.readTimesS().back();
    const long number = thread.requestStop();
    ASSERT_TRUE(until([&](const auto& record) { return record.stopTaken == number; }));
    EXPECT_EQ(plate.duty(), 0);
    EXPECT_NE(records.back().heater, HeaterState::On);
    const size_t reads = plate.readTimesS().size();
    ASSERT_TRUE(until([&](const auto&) { return plate.readTimesS().size() > reads + 1; }));
    double nearest = 1; // of the later cycles to the raster of the earlier ones
    for (size_t i = reads; i < plate.readTimesS().size(); ++i)
        nearest = std::min(nearest, std::abs(std::remainder(plate.readTimesS()[i] - lastS, 0.5)));
    EXPECT_LT(nearest, 0.15);
    EXPECT_TRUE(said("stopped by the operator"));
    EXPECT_FALSE(records.back().tripLatched) << "a stop is no trip";
}

TEST_F(Threaded, AThousandStopsASecondLeaveTheCyclesTheirTime)
{
    ControlThread thread(plate, rings, {.periodS = 0.1});
    ASSERT_TRUE(until([](const auto& record) { return record.heater == HeaterState::OffConfirmed; }));
    const long before = plate.reads;
    long number = 0;
    for (const double endS = nowS() + 1; nowS() < endS; usleep(200))
        number = thread.requestStop();
    EXPECT_LT(plate.reads - before, 100) << "50 a second at most, and the usual 10";
    EXPECT_TRUE(until([&](const auto& record) { return record.stopTaken == number; })) << "the last is taken";
}

TEST_F(Threaded, RunThatIsHandedOverWhileATripStandsNeverHeats)
{
    ControlThread thread(plate, rings, {.periodS = 0.05});
    heat(thread);
    plate.answers = false;
    ASSERT_TRUE(until([](const auto& record) { return record.tripLatched; }));
    plate.answers = true;
    ASSERT_TRUE(until([&](const auto&) { return !thread.busy(); }));
    thread.begin(std::make_unique<ControlLoop>(plate, referencePlan(), LoopSettings{}));
    records.clear();
    ASSERT_TRUE(until([](const auto& record) { return record.outcome.has_value(); }));
    EXPECT_EQ(records.back().outcome, Outcome::StoppedByLimit);
    for (const CycleRecord& record : records)
        EXPECT_NE(record.heater, HeaterState::On);
}

TEST_F(Threaded, SignalEndsARunWithoutTheDesk)
{
    ControlThread thread(plate, rings, {.periodS = 0.05, .stopSignal = &signalled});
    heat(thread);
    deskStands = true; // asks nothing
    signalled = 1;
    ASSERT_TRUE(until([](const auto& record) { return record.outcome.has_value(); }));
    EXPECT_EQ(records.back().outcome, Outcome::StoppedByOperator);
    EXPECT_EQ(plate.duty(), 0);
}

TEST_F(Threaded, DeskThatStandsStillEndsTheHeatAndLaterTheHeartbeat)
{
    int ends[2];
    ASSERT_EQ(pipe2(ends, O_NONBLOCK), 0);
    {
        ControlThread thread(plate, rings, {.periodS = 0.05, .heartbeat = ends[1]});
        heat(thread);
        deskStands = true;
        ASSERT_TRUE(untilSaid("takes stops stands still"));
        EXPECT_EQ(plate.duty(), 0);
        EXPECT_TRUE(until([](const auto& record) { return record.tripLatched; }));
        const auto beats = [&] {
            char bytes[4096];
            return read(ends[0], bytes, sizeof bytes);
        };
        EXPECT_GT(beats(), 0);
        bool silent = false;
        for (const double endS = nowS() + 30; nowS() < endS && !silent;) {
            until([](const auto&) { return false; }, 0.5);
            silent = beats() < 0;
        }
        EXPECT_TRUE(silent) << "the guardian must learn of it";
    }
    close(ends[0]);
    close(ends[1]);
}

TEST_F(Threaded, GuardianHearsOfAThreadWhoseCyclesAreFarApart)
{
    int ends[2];
    ASSERT_EQ(pipe2(ends, O_NONBLOCK), 0);
    {
        ControlThread thread(plate, rings, {.periodS = 5, .heartbeat = ends[1]});
        char bytes[64];
        for (const double endS = nowS() + 3; nowS() < endS && plate.reads == 0;)
            std::this_thread::sleep_for(std::chrono::milliseconds(10));
        const long reads = plate.reads;
        std::this_thread::sleep_for(std::chrono::milliseconds(200));
        while (read(ends[0], bytes, sizeof bytes) > 0) {
        }
        std::this_thread::sleep_for(std::chrono::milliseconds(1400));
        EXPECT_GE(read(ends[0], bytes, sizeof bytes), 2);
        EXPECT_EQ(plate.reads, reads) << "no cycle came meanwhile";
    }
    close(ends[0]);
    close(ends[1]);
}

TEST_F(Threaded, LogThatStandsStillEndsAPreheat)
{
    ControlThread thread(plate, rings, {.periodS = 0.05});
    heat(thread);
    ++rings.logBeat; // once, and then never again
    ASSERT_TRUE(untilSaid("the run log stands still"));
    ASSERT_TRUE(untilSaid("the run log cannot be written"));
    EXPECT_EQ(plate.duty(), 0);
    ++rings.logBeat;
    EXPECT_TRUE(untilSaid("its disk answers again"));
}

TEST_F(Threaded, SleepWhileIdleIsSaidAndDoesNotEndTheNextRun)
{
    fakeSleepS = 0;
    ControlThread thread(plate, rings, {.periodS = 0.05, .asleepS = [] { return fakeSleepS.load(); }});
    ASSERT_TRUE(until([](const auto& record) { return record.heater == HeaterState::OffConfirmed; }));
    const size_t offs = plate.offs();
    fakeSleepS = 60;
    ASSERT_TRUE(untilSaid("was asleep for 60 s"));
    EXPECT_GT(plate.offs(), offs);
    EXPECT_FALSE(records.back().tripLatched) << "nothing was heating";
    heat(thread);
    fakeSleepS = 61;
    EXPECT_TRUE(untilSaid("was asleep in the middle of a run")) << "in a run it ends the heat";
    EXPECT_TRUE(records.back().tripLatched);
}

TEST_F(Threaded, TripStandsBeyondItsRunUntilItIsAcknowledgedAndReset)
{
    fakeSleepS = 0;
    ControlThread thread(plate, rings, {.periodS = 0.05, .asleepS = [] { return fakeSleepS.load(); }});
    heat(thread);
    fakeSleepS = 5;
    ASSERT_TRUE(until([](const auto& record) { return record.state == RunState::Idle; }));
    EXPECT_TRUE(records.back().tripLatched);
    EXPECT_NE(std::string(records.back().tripText.data()).find("asleep"), std::string::npos);
    thread.resetTrip();
    ASSERT_TRUE(untilSaid("the trip was not reset"));
    thread.acknowledgeTrip();
    ASSERT_TRUE(untilSaid("trip acknowledged"));
    EXPECT_TRUE(records.back().tripLatched);
    thread.resetTrip();
    ASSERT_TRUE(untilSaid("trip reset"));
    EXPECT_FALSE(records.back().tripLatched);
}

TEST_F(Threaded, OwnsItsRunUntilItsLastCycleIsOver)
{
    // The address sanitizer finds what a run freed too early would do.
    plate.readTakesMs = 300;
    auto thread = std::make_unique<ControlThread>(plate, rings, ControlThreadSettings{.periodS = 0.05});
    thread->begin(std::make_unique<ControlLoop>(plate, referencePlan(), LoopSettings{}));
    ASSERT_TRUE(until([](const auto& record) { return record.state == RunState::Starting; }));
    const size_t offs = plate.offs();
    thread.reset(); // in the middle of a cycle
    EXPECT_GT(plate.offs(), offs);
}

} // namespace
} // namespace stripwright
