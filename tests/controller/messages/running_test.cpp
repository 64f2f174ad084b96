#include "messages/running.h"

#include <algorithm>
#include <csignal>
#include <fstream>
#include <gtest/gtest.h>
#include <memory>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include "scratch_folder.h"

namespace stripwright {

class Running : public testing::Test {
protected:
    void SetUp() override { setenv("STRIPWRIGHT_RUNNING", (folder / "running").c_str(), 1); }
    void TearDown() override { unsetenv("STRIPWRIGHT_RUNNING"); }
    static size_t foundOfThisProcess()
    {
        return static_cast<size_t>(
            std::ranges::count(runningControllers(), getpid(), &RunningController::pid));
    }
    ScratchFolder folder;
};

TEST_F(Running, AControllerIsFoundWhileItLives)
{
    EXPECT_TRUE(runningControllers().empty());
    {
        const RunningMark mark({.plate = "bench-plate-100", .socket = "/tmp/talk", .runsFile = "a.runs"});
        const auto found = runningControllers();
        ASSERT_EQ(found.size(), 1u);
        EXPECT_EQ(found[0].pid, getpid());
        EXPECT_EQ(found[0].plate, "bench-plate-100");
        EXPECT_EQ(found[0].socket, "/tmp/talk");
        EXPECT_EQ(found[0].runsFile, "a.runs");
    }
    EXPECT_TRUE(runningControllers().empty());
}

TEST_F(Running, OneThatWasKilledIsNotFound)
{
    const pid_t child = fork();
    if (child == 0) {
        const RunningMark mark({.plate = "bench-plate-100", .socket = "/tmp/talk"});
        pause();
    }
    for (int n = 0; n < 500 && runningControllers().empty(); ++n)
        usleep(10'000);
    ASSERT_EQ(runningControllers().size(), 1u);
    kill(child, SIGKILL);
    waitpid(child, nullptr, 0);
    EXPECT_TRUE(runningControllers().empty());
}

TEST_F(Running, IsFoundFromEverySessionOfTheUserWhateverItsEnvironment)
{
    unsetenv("STRIPWRIGHT_RUNNING");
    setenv("XDG_RUNTIME_DIR", (folder / "").c_str(), 1);
    const RunningMark mark({.plate = "bench-plate-100", .socket = "/tmp/talk"});
    EXPECT_EQ(foundOfThisProcess(), 1u);
    unsetenv("XDG_RUNTIME_DIR");
    EXPECT_EQ(foundOfThisProcess(), 1u);
}

TEST_F(Running, IsFoundInTheSecondFolderTooAfterTheFirstHasComeUp)
{
    const std::string both = (folder / "none/late").string() + ":" + (folder / "other").string();
    setenv("STRIPWRIGHT_RUNNING", both.c_str(), 1);
    const RunningMark mark({.plate = "bench-plate-100", .socket = "/tmp/talk"});
    mkdir((folder / "none").c_str(), 0700);
    EXPECT_EQ(runningFolder(), std::filesystem::path(folder / "none/late"));
    EXPECT_EQ(runningControllers().size(), 1u);
}

TEST_F(Running, AFolderThatOthersMayEnterIsPassedOverAndRefusedIfItIsTheLast)
{
    mkdir((folder / "running").c_str(), 0700);
    chmod((folder / "running").c_str(), 0755);
    EXPECT_THROW(runningFolder(), std::runtime_error);
    EXPECT_THROW(runningControllers(), std::runtime_error);
    const std::string both = (folder / "running").string() + ":" + (folder / "own").string();
    setenv("STRIPWRIGHT_RUNNING", both.c_str(), 1);
    const RunningMark mark({.plate = "bench-plate-100", .socket = "/tmp/talk"});
    EXPECT_EQ(runningFolder(), std::filesystem::path(folder / "own"));
    EXPECT_EQ(runningControllers().size(), 1u);
}

TEST_F(Running, WorkWithoutASocketIsAHeatAndNoControllerToTalkTo)
{
    RunningController found;
    {
        const RunningMark mark({.plate = "bench-plate-100", .work = "learning a plate"});
        EXPECT_TRUE(runningControllers().empty());
        ASSERT_EQ(runningHeats().size(), 1u);
        found = runningHeats()[0];
        EXPECT_EQ(found.work, "learning a plate");
        EXPECT_EQ(lookAt(found), EntryState::Held);
    }
    EXPECT_EQ(lookAt(found), EntryState::Ended);
}

TEST_F(Running, AnEntryIsHeldByWhoeverWasForkedUnderItAndAKilledOnesIsKnown)
{
    auto mark =
        std::make_unique<RunningMark>(RunningController{.plate = "bench-plate-100", .work = "proving"});
    const pid_t child = fork();
    if (child == 0)
        pause();
    mark.reset();
    ASSERT_EQ(runningHeats().size(), 1u);
    const RunningController found = runningHeats()[0];
    kill(child, SIGKILL);
    waitpid(child, nullptr, 0);
    EXPECT_EQ(lookAt(found), EntryState::Killed);
    EXPECT_TRUE(runningHeats().empty());
}

} // namespace stripwright
