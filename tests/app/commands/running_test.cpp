#include "commands/controller_line.h"

#include "child_program.h"
#include "commands/command_line.h"
#include "messages/message_server.h"
#include "scratch_folder.h"

#include <csignal>
#include <cstdlib>
#include <functional>
#include <gtest/gtest.h>
#include <memory>
#include <nlohmann/json.hpp>
#include <unistd.h>

using namespace stripwright;

namespace {

volatile std::sig_atomic_t askedToEnd = 0;

using Answers = std::function<Status(Status, long stopId)>; ///< To a stop.

/// A process that is registered as a controller, and says what the test wants.
class OtherController : public ChildProcess {
public:
    OtherController(const std::string& plate, const std::string& socket, const Answers& answers = {},
                    const Answers& afterAnswer = {})
        : ChildProcess([&](const auto& ready) { serve(plate, socket, answers, afterAnswer, ready); })
    {
    }

private:
    static void serve(const std::string& plate, const std::string& socket, const Answers& answers,
                      const Answers& afterAnswer, const std::function<void()>& ready)
    {
        std::signal(SIGTERM, [](int) { askedToEnd = 1; });
        const RunningMark mark({.plate = plate,
                                .plateLink = "a.plate.json",
                                .socket = socket,
                                .runsFile = "/runs.db",
                                .startedUtc = "2026-11-29T10:00:00Z"});
        MessageServer server(socket);
        ready();
        Status status{.state = RunState::Running,
                      .heater = HeaterState::On,
                      .link = LinkState::Up,
                      .sensorC = 151.25,
                      .runKey = "7"};
        while (!askedToEnd) {
            for (const auto& received : server.receive(20))
                if (const auto* stop = std::get_if<StopHeating>(&received.message); stop && answers)
                    status = answers(status, stop->id);
            server.newClients();
            server.sendAll(status);
            if (status.stopTaken != 0 && afterAnswer)
                status = afterAnswer(status, status.stopTaken);
        }
    }
};

/// A process that learns a plate, and ends as it is told when it is asked to.
class Learning : public ChildProcess {
public:
    enum class End { InOrder, Killed };
    explicit Learning(End end, const std::string& work = "learning a plate")
        : ChildProcess([=](const auto& ready) {
              std::signal(SIGTERM, [](int) { askedToEnd = 1; });
              auto mark = std::make_unique<RunningMark>(RunningController{
                  .plate = "Bench plate", .startedUtc = "2026-11-29T10:00:00Z", .work = work});
              ready();
              while (!askedToEnd)
                  usleep(1000);
              if (end == End::InOrder)
                  mark.reset();
              _exit(0); // without the end of its scope
          })
    {
    }
};

class Running : public testing::Test {
protected:
    Running() { setenv("STRIPWRIGHT_RUNNING", (folder_ / "running").c_str(), 1); }
    ~Running() override { unsetenv("STRIPWRIGHT_RUNNING"); }
    std::string socket(const char* name) const { return folder_ / name; }

    const ScratchFolder folder_;
};

Status off(Status status, RunState state, long stopTaken)
{
    status.state = state;
    status.heater = HeaterState::OffConfirmed;
    status.stopTaken = stopTaken;
    return status;
}

std::string outputOf(const TerminalCommand& command, int expectedCode)
{
    testing::internal::CaptureStdout();
    EXPECT_EQ(carryOut(command), expectedCode);
    return testing::internal::GetCapturedStdout();
}

std::string talkOf(const TerminalCommand& command, int expectedCode)
{
    testing::internal::CaptureStderr();
    EXPECT_EQ(carryOut(command), expectedCode);
    return testing::internal::GetCapturedStderr();
}

} // namespace

TEST_F(Running, ListsEachControllerThatLivesWithWhatItSays)
{
    EXPECT_EQ(outputOf(RunningCommand{}, exitOk), "");
    const OtherController controller("Bench plate", socket("a"));
    const std::string line = outputOf(RunningCommand{}, exitOk);
    EXPECT_EQ(line,
              "process " + std::to_string(controller.pid()) +
                  ": Bench plate, since 2026-11-29T10:00:00Z, heating by the plan, run 7, plate 151 °C, "
                  "heater on\n");
    const auto answer = nlohmann::json::parse(outputOf(RunningCommand{.json = true}, exitOk));
    const auto one = answer.at("controllers").at(0);
    EXPECT_EQ(one.at("process"), controller.pid());
    EXPECT_EQ(one.at("state"), "running");
    EXPECT_EQ(one.at("heater"), "on");
    EXPECT_EQ(one.at("plate_C"), 151.25);
    EXPECT_TRUE(one.at("trip").is_null());
    kill(controller.pid(), SIGSTOP);
    const auto standing = nlohmann::json::parse(outputOf(RunningCommand{.json = true}, exitOk));
    EXPECT_EQ(standing.at("controllers").at(0).at("answers"), false);
    EXPECT_TRUE(standing.at("controllers").at(0).at("heater").is_null());
}

TEST_F(Running, StopEndsWhenTheAnswerToItSaysOffReadBack)
{
    const OtherController controller("Bench plate", socket("a"), [](const Status& status, long id) {
        return off(status, RunState::Cooling, id);
    });
    EXPECT_NE(talkOf(StopCommand{}, exitOk).find("Bench plate: heater off, read back"), std::string::npos);
    EXPECT_EQ(runningControllers().size(), 1u); // it is left to end its run in order
}

TEST_F(Running, StopDoesNotTakeAnAnswerToAnotherStopForItsOwnAndAsksTheProcessToEnd)
{
    const OtherController controller("Bench plate", socket("a"), [](Status status, long id) {
        status.stopTaken = id - 1;
        return status; // heats on
    });
    const std::string talk = talkOf(StopCommand{controller.pid()}, exitInternalFailure);
    EXPECT_NE(talk.find("is asked to end"), std::string::npos) << talk;
    EXPECT_NE(talk.find("NOT confirmed"), std::string::npos) << talk;
    EXPECT_NE(talk.find("at the mains"), std::string::npos) << talk;
    EXPECT_TRUE(runningControllers().empty());
}

TEST_F(Running, StopThatWasTakenIsAnsweredByOffAlsoWhenAnotherStopCameBehindIt)
{
    const OtherController controller(
        "Bench plate", socket("a"),
        [](Status status, long id) {
            status.stopTaken = id;
            return status;
        },
        [](const Status& status, long id) { return off(status, RunState::Cooling, id + 1); });
    EXPECT_NE(talkOf(StopCommand{}, exitOk).find("Bench plate: heater off, read back"), std::string::npos);
    EXPECT_EQ(runningControllers().size(), 1u);
}

TEST_F(Running, ListsAndStopsAHeatThatLearnsAPlate)
{
    const Learning learning(Learning::End::InOrder);
    const std::string process = "process " + std::to_string(learning.pid());
    EXPECT_EQ(outputOf(RunningCommand{}, exitOk),
              process + ": Bench plate, since 2026-11-29T10:00:00Z, learning a plate: the plate is heated\n");
    const auto one =
        nlohmann::json::parse(outputOf(RunningCommand{.json = true}, exitOk)).at("controllers").at(0);
    EXPECT_EQ(one.at("work"), "learning a plate");
    EXPECT_EQ(one.at("answers"), false);
    talkOf(FollowCommand{}, exitPlateNotReachable);
    const std::string talk = talkOf(StopCommand{}, exitOk);
    EXPECT_NE(talk.find("heater off"), std::string::npos) << talk;
    EXPECT_EQ(outputOf(RunningCommand{}, exitOk), "");
}

TEST_F(Running, StopOfAHeatThatDiesInsteadOfEndingIsNotConfirmed)
{
    const Learning learning(Learning::End::Killed);
    const std::string talk = talkOf(StopCommand{}, exitInternalFailure);
    EXPECT_NE(talk.find("NOT confirmed"), std::string::npos) << talk;
    EXPECT_NE(talk.find("at the mains"), std::string::npos) << talk;
}

TEST_F(Running, GuardianOnItsOwnIsListedWithWhatToDoAndIsNotEndedByAStop)
{
    const Learning guardian(Learning::End::Killed, turnsOffAlone);
    const std::string pid = std::to_string(guardian.pid());
    const std::string line = outputOf(RunningCommand{}, exitOk);
    EXPECT_NE(line.find("process " + pid + ": Bench plate"), std::string::npos) << line;
    EXPECT_NE(line.find("NOT confirmed"), std::string::npos) << line;
    EXPECT_NE(line.find("plug"), std::string::npos) << line;
    EXPECT_NE(line.find("kill -TERM " + pid + " twice"), std::string::npos) << line;
    EXPECT_EQ(line.find("heated"), std::string::npos) << line;
    for (int n = 0; n < 2; ++n) {
        const std::string talk = talkOf(StopCommand{}, exitInternalFailure);
        EXPECT_NE(talk.find("NOT confirmed"), std::string::npos) << talk;
        EXPECT_NE(talk.find("kill -TERM " + pid + " twice"), std::string::npos) << talk;
    }
    EXPECT_EQ(runningHeats().size(), 1u) << "a signal would have ended it";
}

TEST_F(Running, StopThatFindsAGuardianLeftAloneNamesItsProcess)
{
    const Learning learning(Learning::End::Killed);
    const RunningController front = runningHeats().at(0);
    const Learning guardian(Learning::End::Killed, turnsOffAlone);
    ASSERT_EQ(runningHeats().size(), 1u) << "one heat";
    testing::internal::CaptureStderr();
    EXPECT_EQ(stopController(front), exitInternalFailure);
    const std::string talk = testing::internal::GetCapturedStderr();
    EXPECT_NE(talk.find("kill -TERM " + std::to_string(guardian.pid()) + " twice"), std::string::npos)
        << talk;
}

TEST_F(Running, StopIsNotAnsweredByADutyOfZeroInMidHeat)
{
    const OtherController controller("Bench plate", socket("a"), [](const Status& status, long id) {
        return off(status, RunState::Running, id);
    });
    talkOf(StopCommand{}, exitInternalFailure);
}

TEST_F(Running, StopAndFollowSayWhichControllersThereAre)
{
    EXPECT_NE(talkOf(StopCommand{}, exitPlateNotReachable).find("no controller"), std::string::npos);
    EXPECT_NE(talkOf(FollowCommand{}, exitPlateNotReachable).find("no controller"), std::string::npos);
    const OtherController one("Bench plate", socket("a")), two("Other plate", socket("b"));
    const std::string talk = talkOf(StopCommand{}, exitUsage);
    for (const std::string& part : {std::string("Bench plate"), std::string("Other plate"),
                                    std::to_string(one.pid()), std::to_string(two.pid())})
        EXPECT_NE(talk.find(part), std::string::npos) << talk;
    EXPECT_NE(talkOf(FollowCommand{1}, exitPlateNotReachable).find("process number 1"), std::string::npos);
    EXPECT_EQ(meantController(runningControllers(), two.pid(), "stop").controller->plate, "Other plate");
}
