#include "commands/commands.h"

#include <fstream>
#include <gtest/gtest.h>
#include <iostream>

using namespace stripwright;

namespace {

/// Standard output that has no room.
class FullOutput {
public:
    FullOutput() : before_(std::cout.rdbuf(full_.rdbuf())) {}
    ~FullOutput()
    {
        std::cout.clear();
        std::cout.rdbuf(before_);
    }

private:
    std::ofstream full_{"/dev/full"};
    std::streambuf* before_;
};

} // namespace

TEST(ExitCode, IsCannotWriteWhenStandardOutputDoesNotTakeTheAnswer)
{
    EXPECT_EQ(withOutputWritten(exitOk), exitOk);
    const FullOutput full;
    std::cout << "an answer";
    testing::internal::CaptureStderr();
    EXPECT_EQ(withOutputWritten(exitOk), exitCannotWrite);
    EXPECT_NE(testing::internal::GetCapturedStderr().find("Standard output cannot be written"),
              std::string::npos);
    EXPECT_EQ(withOutputWritten(exitNoPlan), exitCannotWrite);
    EXPECT_EQ(withOutputWritten(exitBadInput), exitCannotWrite);
}

TEST(ExitCode, OfAHeatThatEndedBadlyStaysWhateverBecomesOfStandardOutput)
{
    const FullOutput full;
    std::cout << "an answer";
    for (const int code :
         {exitInternalFailure, exitPlateNotReachable, exitStoppedByOperator, exitStoppedByLimit})
        EXPECT_EQ(withOutputWritten(code), code);
}
