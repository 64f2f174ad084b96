#include "bench/faults.h"
#include "rtu_client.h"
#include "served_plate.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

using namespace stripwright;

namespace {

constexpr RtuServer::Settings fast{115200, SerialFrame::F8N1, 0};

SimulatedPlateOptions with(TimedFault fault)
{
    SimulatedPlateOptions options;
    options.faults = {fault};
    return options;
}

TEST(LineFault, IsReadWithItsTimeAndLateAnswerWithItsSeconds)
{
    EXPECT_EQ(readFault("wrong-unit").fault, Fault::WrongUnit);
    EXPECT_EQ(readFault("wrong-echo@12.5").fromS, 12.5);
    const TimedFault late = readFault("late-answer=0.3@7");
    EXPECT_EQ(late.fault, Fault::LateAnswer);
    EXPECT_EQ(late.value, 0.3);
    EXPECT_EQ(late.fromS, 7);
    EXPECT_EQ(readFault("late-answer").value, 1);
    for (const char* bad :
         {"wrong-units", "silent@x", "silent@", "silent@-1", "silent=3", "late-answer=x", ""})
        EXPECT_THROW(readFault(bad), std::invalid_argument) << bad;
}

TEST(LineFault, WrongUnitAnswersInAnothersName)
{
    ServedPlate serving(with({Fault::WrongUnit}), "plain", fast);
    const Bytes answer = RtuClient(serving.tty()).ask(1, {4, 0, 0, 0, 1}, 7);
    ASSERT_TRUE(isRtuFrame(answer));
    EXPECT_EQ(answer[0], 2);
}

TEST(LineFault, WrongEchoIsOnlyInTheAnswer)
{
    ServedPlate serving(with({Fault::WrongEcho}), "plain", fast);
    const Bytes answer = RtuClient(serving.tty()).ask(1, {6, 0, 0, 0x0f, 0xa0}, 8);
    ASSERT_TRUE(isRtuFrame(answer));
    EXPECT_NE((Bytes{answer[4], answer[5]}), (Bytes{0x0f, 0xa0}));
    EXPECT_EQ(serving.plate().dutyCommand(), 0.4);
}

TEST(LineFault, JunkBytesComeRightBeforeTheFrame)
{
    ServedPlate serving(with({Fault::JunkBytes}), "plain", fast);
    const Bytes answer = RtuClient(serving.tty()).ask(1, {4, 0, 0, 0, 1}, 10);
    ASSERT_EQ(answer.size(), 10u);
    EXPECT_FALSE(isRtuFrame(answer));
    EXPECT_TRUE(isRtuFrame(Bytes(answer.begin() + 3, answer.end())));
}

// Two words are asked for first, one then: lengths tell the answers apart.
TEST(LineFault, LateAnswerComesOnceAndAfterThatOfTheNextRequest)
{
    ServedPlate serving(with({Fault::LateAnswer, 0, 0.4}), "plain", fast);
    RtuClient client(serving.tty());
    const auto start = std::chrono::steady_clock::now();
    EXPECT_TRUE(client.ask(1, {4, 0, 0, 0, 2}, 1, 0.1).empty());
    EXPECT_EQ(client.ask(1, {4, 0, 0, 0, 1}, 7, 0.2).size(), 7u);
    const Bytes late = client.receive(9);
    EXPECT_EQ(late.size(), 9u);
    EXPECT_TRUE(isRtuFrame(late));
    EXPECT_GE(std::chrono::steady_clock::now() - start, std::chrono::milliseconds(400));
    EXPECT_EQ(client.ask(1, {4, 0, 0, 0, 2}, 9, 0.2).size(), 9u);
}

TEST(LineFault, LateAnswerOverTcpHoldsUpNobodyElse)
{
    ServedPlate serving(with({Fault::LateAnswer, 0, 0.5}));
    EXPECT_THROW(openPlate(serving.link(), 1, 0.2), LinkError); // its first answer is the late one
    const auto plate = openPlate(serving.link(), 1, 0.2);
    EXPECT_TRUE(plate->read()) << plate->lastError();
}

TEST(LineFault, JunkBytesOverTcpAreNoAnswer)
{
    ServedPlate junk(with({Fault::JunkBytes}));
    EXPECT_THROW(openPlate(junk.link(), 1, 0.2), LinkError);
}

} // namespace
