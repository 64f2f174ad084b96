#include "models/bench_processes.h"

#include "models/plate_connector.h"
#include "scratch_folder.h"

#include <QSignalSpy>
#include <QTest>
#include <filesystem>
#include <fstream>
#include <gtest/gtest.h>

namespace stripwright {

/// A stand-in for the controller that takes its time to turn the heater off, and says when it has.
struct BenchProcessesTest : testing::Test {
    BenchProcessesTest()
    {
        setup.binFolder = folder / "";
        setup.plateLink = folder / "bench.plate.json";
        setup.runsFile = folder / "runs.db";
        const auto program = folder / "stripwright-controller";
        std::ofstream(program) << "#!/bin/sh\n"
                               << "end() { sleep 1; echo off >> " << folder / "ended"
                               << "; exit 0; }\n"
                               << "trap end TERM\necho >> " << folder / "begun"
                               << "\necho ready\nwhile :; do sleep 0.05; done\n";
        std::filesystem::permissions(program, std::filesystem::perms::owner_all);
    }
    bool ended() const { return std::filesystem::exists(folder / "ended"); }
    bool begun() const { return std::filesystem::exists(folder / "begun"); }
    ScratchFolder folder;
    LiveRunSetup setup;
};

TEST_F(BenchProcessesTest, ControllerIsNeitherKilledNorWaitedFor)
{
    {
        BenchProcesses processes;
        QSignalSpy ready(&processes, &BenchProcesses::controllerReady);
        processes.start(setup, BenchSheet{});
        ASSERT_TRUE(QTest::qWaitFor([&] { return ready.count() == 1; }, 20000));
    }
    EXPECT_FALSE(ended());
    EXPECT_TRUE(QTest::qWaitFor([&] { return ended(); }, 20000));
}

TEST_F(BenchProcessesTest, NextControllerBeginsWhenTheOneBeforeHasLetGoOfThePlate)
{
    BenchProcesses processes;
    QSignalSpy ready(&processes, &BenchProcesses::controllerReady);
    processes.start(setup, BenchSheet{});
    ASSERT_TRUE(QTest::qWaitFor([&] { return ready.count() == 1; }, 20000));
    std::filesystem::remove(folder / "begun");
    processes.start(setup, BenchSheet{});
    EXPECT_FALSE(ended());
    ASSERT_TRUE(QTest::qWaitFor([&] { return begun(); }, 20000));
    EXPECT_TRUE(ended());
    EXPECT_TRUE(QTest::qWaitFor([&] { return ready.count() == 2; }, 20000));
}

TEST_F(BenchProcessesTest, ConnectorLeavesAProofToItsOwnEnd)
{
    {
        PlateConnector connector(folder / "");
        ASSERT_TRUE(connector.prove(nlohmann::json::object(), {}));
        ASSERT_TRUE(QTest::qWaitFor([&] { return begun(); }, 20000));
    }
    EXPECT_FALSE(ended());
    EXPECT_TRUE(QTest::qWaitFor([&] { return ended(); }, 20000));
}

TEST_F(BenchProcessesTest, ConnectorsNextJobBeginsWhenTheOneBeforeHasLetGoOfTheLine)
{
    PlateConnector connector(folder / "");
    ASSERT_TRUE(connector.find({"192.0.2.1"}));
    ASSERT_TRUE(QTest::qWaitFor([&] { return begun(); }, 20000));
    std::filesystem::remove(folder / "begun");
    ASSERT_TRUE(connector.find({"192.0.2.2"}));
    EXPECT_EQ(connector.job(), PlateConnector::Job::Find);
    ASSERT_TRUE(QTest::qWaitFor([&] { return begun(); }, 20000));
    EXPECT_TRUE(ended());
}

} // namespace stripwright
