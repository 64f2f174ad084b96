#include "messages/running.h"

#include <csignal>
#include <fstream>
#include <gtest/gtest.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include "scratch_folder.h"

namespace stripwright {

class Running : public testing::Test {
protected:
    void SetUp() override { setenv("XDG_RUNTIME_DIR", (folder / "").c_str(), 1); }
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
        const RunningMark mark({.plate = "bench-plate-100"});
        pause();
    }
    for (int n = 0; n < 500 && runningControllers().empty(); ++n)
        usleep(10'000);
    ASSERT_EQ(runningControllers().size(), 1u);
    kill(child, SIGKILL);
    waitpid(child, nullptr, 0);
    EXPECT_TRUE(runningControllers().empty());
}

TEST_F(Running, RefusesAFolderThatOthersMayEnter)
{
    mkdir((folder / "stripwright").c_str(), 0700);
    chmod((folder / "stripwright").c_str(), 0755);
    EXPECT_THROW(runningFolder(), std::runtime_error);
}

} // namespace stripwright
