#include "loop/run_desk.h"

#include "demo_sheet.h"
#include "message_client.h"
#include "planner/plan_sheet.h"
#include "scratch_folder.h"
#include "stalling_disk.h"
#include "stub_plate.h"

#include <algorithm>
#include <atomic>
#include <cstdlib>
#include <gtest/gtest.h>
#include <random>

namespace stripwright {
namespace {

using test::MessageClient;
using test::nowS;
using test::StubPlate;

/// Not under the thread sanitizer, which makes everything some ten times slower.
const bool inTime = std::getenv("TSAN_OPTIONS") == nullptr;

const std::string& planText()
{
    static const std::string text =
        toJson(planSheet(test::shippedSheet("marram-lane-bar-7.bench.json"))).dump();
    return text;
}

/// A desk that serves a socket in a thread of its own, over a stub of a plate.
struct Desk : testing::Test {
    ScratchFolder folder;
    StubPlate plate;
    Rings rings;
    std::atomic<int> signalled = 0;
    double periodS = 0.1, giveUpLeavingS = 10;
    std::unique_ptr<LogThread> log;
    std::unique_ptr<MessageServer> server;
    std::unique_ptr<ControlThread> control;
    std::unique_ptr<RunDesk> desk;
    std::thread serving;
    std::atomic<int> exitCode = -1;
    std::unique_ptr<MessageClient> client;

    // As drive() does it.
    void open()
    {
        planText();
        log = std::make_unique<LogThread>(std::make_unique<RunWriter>(folder / "runs.sqlite"), rings,
                                          std::vector<std::string>{});
        server = std::make_unique<MessageServer>(folder / "talk");
        control = std::make_unique<ControlThread>(
            plate, rings, ControlThreadSettings{.periodS = periodS, .stopSignal = &signalled});
        DeskSettings settings{.plateLinkText = "{}", .channelNames = {}};
        settings.loop.periodS = periodS;
        settings.loop.simulatedStrip = true;
        settings.giveUpLeavingS = giveUpLeavingS;
        desk = std::make_unique<RunDesk>(*server, *control, *log, rings, settings);
        serving = std::thread([this] { exitCode = desk->serve(signalled); });
        client = join();
    }
    std::unique_ptr<MessageClient> join() { return std::make_unique<MessageClient>(folder / "talk"); }
    void close()
    {
        if (serving.joinable())
            serving.join();
        desk.reset();
        control.reset();
        server.reset();
        log.reset();
    }
    void TearDown() override
    {
        plate.answers = true;
        plate.readTakesMs = 0;
        signalled = 1;
        close();
    }
    bool untilStatus(const std::function<bool(const Status&)>& done, double patienceS = 30)
    {
        return client->until([&] { return !client->statuses.empty() && done(client->status()); }, patienceS);
    }
    void start()
    {
        client->send(StartRun{planText()});
        std::string confirmed;
        ASSERT_TRUE(untilStatus([&](const Status& status) {
            if (!status.card.empty() && std::exchange(confirmed, status.card) != status.card)
                client->send(ConfirmCard{status.card});
            return status.heater == HeaterState::On || !client->refusals.empty();
        }));
        ASSERT_TRUE(client->refusals.empty()) << client->refusals.front();
    }
    bool idle()
    {
        return untilStatus([](const Status& status) { return status.heater == HeaterState::OffConfirmed; });
    }
};

TEST_F(Desk, RefusesMarksOfSolderWithWordsWhereTheySayNothing)
{
    open();
    ASSERT_TRUE(idle());
    const auto refusal = [&](const SolderMark& mark) {
        client->refusals.clear();
        client->send(mark);
        client->until([&] { return !client->refusals.empty(); });
        return client->refusals.empty() ? std::string() : client->refusals.front();
    };
    EXPECT_NE(refusal({6, true}).find("no run is on"), std::string::npos) << refusal({6, true});
    client->refusals.clear();
    start();
    EXPECT_NE(refusal({6, true}).find("marks count from"), std::string::npos) << refusal({6, true});
    EXPECT_NE(refusal({99, true}).find("is no target of this run"), std::string::npos) << refusal({99, true});
}

TEST_F(Desk, AnswersEachStopByItsOwnId)
{
    open();
    ASSERT_TRUE(idle());
    auto other = join();
    other->until([&] { return !other->statuses.empty(); });
    client->sendBytes(encode(StopHeating{11}) + encode(StopHeating{12}));
    other->send(StopHeating{13});
    EXPECT_TRUE(
        client->until([&] { return client->answered(11) && client->answered(12) && client->answered(13); }));
    EXPECT_TRUE(other->until([&] { return other->answered(11) && other->answered(13); })) << "all are told";
}

TEST_F(Desk, StopIsTakenWhileAStartWaitsForThePlate)
{
    plate.answers = false; // the start waits for the plate
    open();
    client->send(StartRun{planText()});
    usleep(100'000);
    const double askedS = nowS();
    client->send(StopHeating{5});
    if (inTime) {
        EXPECT_TRUE(client->refusedWith("heating was stopped", 0.8))
            << "the start is given up, not waited for";
    }
    EXPECT_TRUE(client->until([&] { return client->answered(5); }));
    if (inTime) {
        EXPECT_LT(nowS() - askedS, 0.9) << "the start alone waits for 1 s";
    }
    plate.answers = true;
    EXPECT_TRUE(idle());
    usleep(300'000);
    EXPECT_EQ(plate.duty(), 0);
    EXPECT_EQ(client->status().state, RunState::Idle);
}

TEST_F(Desk, StopIsTakenWhileAStartWaitsForTheDiskAndWhatIsOnDiskThenNeverHeats)
{
    open();
    ASSERT_TRUE(idle());
    stallDisk(0, 60);
    client->send(StartRun{planText()});
    for (int n = 0; n < 1000 && stalledCalls() == 0; ++n) // its plan is read, its plate answers
        usleep(50'000);
    client->send(StopHeating{8});
    EXPECT_TRUE(client->until([&] { return client->answered(8); }, 1));
    EXPECT_TRUE(client->refusedWith("heating was stopped", 0.5))
        << (client->refusals.empty() ? "not refused" : client->refusals.front());
    EXPECT_GT(stalledCalls(), 0);
    stallDisk(0, 0);
    EXPECT_TRUE(untilStatus([](const Status& status) { return status.state == RunState::Ended; }));
    EXPECT_EQ(client->status().outcome, Outcome::StoppedByOperator);
    EXPECT_TRUE(std::ranges::none_of(client->statuses, [](const Status& status) {
        return status.heater == HeaterState::On || status.state == RunState::Running;
    }));
}

TEST_F(Desk, DoesNotStartWhatAStopInTheSameBreathWasMeantFor)
{
    open();
    ASSERT_TRUE(idle());
    client->sendBytes(encode(StartRun{planText()}) + encode(StopHeating{1}));
    EXPECT_TRUE(client->refusedWith("heating was stopped"));
    usleep(300'000);
    client->until([] { return false; }, 0.3);
    EXPECT_EQ(client->status().state, RunState::Idle);
}

TEST_F(Desk, RefusesASecondStartWhileOneIsAboutToBegin)
{
    plate.answers = false;
    open();
    client->send(StartRun{planText()});
    client->send(StartRun{planText()});
    EXPECT_TRUE(client->refusedWith("a run is about to start"));
    EXPECT_TRUE(client->refusedWith("gives no temperature")) << "and the first is refused in its time";
}

TEST_F(Desk, StopEndsARunAndLeavesNoTrip)
{
    open();
    start();
    client->send(StopHeating{3});
    ASSERT_TRUE(client->until([&] { return client->answered(3); }));
    EXPECT_EQ(plate.duty(), 0);
    ASSERT_TRUE(untilStatus([](const Status& status) { return status.state == RunState::Ended; }));
    EXPECT_EQ(client->status().outcome, Outcome::StoppedByOperator);
    EXPECT_FALSE(client->status().trip);
}

TEST_F(Desk, RefusesAStartWhileATripStandsAndTakesItAfterTheReset)
{
    open();
    start();
    plate.answers = false;
    ASSERT_TRUE(untilStatus([](const Status& status) { return status.trip.has_value(); }));
    const std::string cause = client->status().trip->text;
    plate.answers = true;
    ASSERT_TRUE(untilStatus([](const Status& status) { return status.state == RunState::Ended; }));
    ASSERT_TRUE(client->until([&] { return !log->runOpen(); }));
    client->send(StartRun{planText()});
    EXPECT_TRUE(client->refusedWith("a trip stands: " + cause));
    client->send(ResetTrip{});
    EXPECT_TRUE(client->refusedWith("acknowledge it first"));
    client->send(AcknowledgeTrip{});
    EXPECT_TRUE(untilStatus([](const Status& status) { return status.trip && status.trip->acknowledged; }));
    client->refusals.clear();
    client->sendBytes(encode(ResetTrip{}) + encode(StartRun{planText()}));
    EXPECT_TRUE(untilStatus([](const Status& status) { return status.state == RunState::Starting; }));
    EXPECT_TRUE(client->refusals.empty()) << client->refusals.front();
    EXPECT_FALSE(client->status().trip);
}

TEST_F(Desk, CountsEveryEventUpwardsThroughRunsAndIdleTime)
{
    open();
    start();
    client->send(StopHeating{1});
    ASSERT_TRUE(untilStatus([](const Status& status) { return status.state == RunState::Ended; }));
    ASSERT_TRUE(client->until([&] { return !log->runOpen(); }));
    const size_t ofTheRun = client->events.size();
    plate.answers = false; // in idle time
    ASSERT_TRUE(client->until([&] { return client->heard("no answer"); }));
    EXPECT_GT(client->events.size(), ofTheRun);
    for (size_t i = 1; i < client->events.size(); ++i)
        EXPECT_EQ(client->events[i].seq, client->events[i - 1].seq + 1);
}

TEST_F(Desk, LeavesADeadLineWithoutTouchingTheRunThatTheThreadStillHas)
{
    giveUpLeavingS = 0.3;
    open();
    start();
    plate.answers = false;
    plate.readTakesMs = 1500;
    usleep(200'000);
    signalled = 1;
    const double askedS = nowS();
    serving.join();
    EXPECT_LT(nowS() - askedS, 10);
    EXPECT_EQ(exitCode, 1) << "heater off could not be read back";
    desk.reset(); // the thread is in the middle of a reading
    const long reads = plate.reads;
    usleep(100'000);
    control.reset();
    EXPECT_GE(plate.reads, reads);
    EXPECT_EQ(plate.duty(), 0);
}

TEST_F(Desk, LeavesAnIdlePlateThatIsGoneOnlyIfItWasReadBackOffBefore)
{
    open();
    ASSERT_TRUE(idle());
    plate.answers = false;
    ASSERT_TRUE(untilStatus([](const Status& status) { return status.link == LinkState::Lost; }));
    client->send(Shutdown{});
    serving.join();
    EXPECT_EQ(exitCode, 5);
}

TEST_F(Desk, StopIsWrittenSoonAfterItWasSent)
{
    open();
    ASSERT_TRUE(idle());
    std::mt19937 random{7};
    std::uniform_int_distribution<int> pauseUs(5'000, 45'000);
    std::vector<double> tookMs;
    for (int n = 1; n <= 200; ++n) {
        usleep(static_cast<useconds_t>(pauseUs(random)));
        const size_t offs = plate.offs();
        const double sentS = nowS();
        client->send(StopHeating{n});
        ASSERT_TRUE(client->until([&] { return client->answered(n); }));
        client->statuses.clear();
        const std::vector<double> offTimes = plate.offTimesS();
        ASSERT_GT(offTimes.size(), offs);
        tookMs.push_back(1e3 * (offTimes[offs] - sentS));
    }
    std::ranges::sort(tookMs);
    std::printf("from the socket to heater off, 200 stops: median %.2f ms, most %.2f ms\n", tookMs[100],
                tookMs.back());
    EXPECT_LT(tookMs[100], 90) << "the cycles come every 100 ms";
}

std::vector<double> lateMs(const std::vector<double>& readS, double fromS, double periodS)
{
    std::vector<double> late;
    for (size_t i = 1; i < readS.size(); ++i)
        if (readS[i - 1] >= fromS)
            late.push_back(1e3 * std::max(readS[i] - readS[i - 1] - periodS, 0.0));
    std::ranges::sort(late);
    return late;
}

void printLate(const char* when, const std::vector<double>& late)
{
    std::printf("%s: %zu cycles, median %.2f ms late, 99 %% %.2f ms, most %.2f ms\n", when, late.size(),
                late[late.size() / 2], late[late.size() * 99 / 100], late.back());
}

TEST_F(Desk, TakesAStopFromTheMidstOfSevenFloodingClients)
{
    periodS = 0.02;
    open();
    ASSERT_TRUE(idle());
    const double quietS = nowS();
    client->until([] { return false; }, 3);
    printLate("quiet", lateMs(plate.readTimesS(), quietS, periodS));

    std::atomic<bool> enough = false;
    std::vector<std::thread> floods;
    std::string notes, garbage(60'000, '['), plans = encode(StartRun{std::string(300'000, '[')});
    for (int n = 0; n < 30; ++n)
        notes += encode(AddNote{std::string(200, 'n')});
    garbage += '\n';
    for (int n = 0; n < 7; ++n)
        floods.emplace_back([&, n] {
            auto flooding = join();
            while (!enough) {
                if (!flooding->sendBytes(n % 3 == 0 ? notes : n % 3 == 1 ? garbage : plans))
                    flooding = join(); // dropped for it
                flooding->until([] { return false; }, 0);
            }
        });
    const double floodedS = nowS();
    std::vector<double> tookMs;
    for (int n = 1; n <= 60; ++n) {
        usleep(40'000);
        client->statuses.clear();
        const double sentS = nowS();
        client->send(StopHeating{n});
        EXPECT_TRUE(client->until([&] { return client->answered(n); })) << n;
        tookMs.push_back(1e3 * (nowS() - sentS));
    }
    printLate("flooded", lateMs(plate.readTimesS(), floodedS, periodS));
    enough = true;
    for (std::thread& flood : floods)
        flood.join();
    std::ranges::sort(tookMs);
    std::printf("from the socket to its answer, 60 stops in a flood: median %.2f ms, most %.2f ms\n",
                tookMs[30], tookMs.back());
    if (inTime) {
        EXPECT_LT(tookMs[30], 250);
    }
}

} // namespace
} // namespace stripwright
