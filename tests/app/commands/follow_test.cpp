#include "commands/run_in_terminal.h"

#include "child_program.h"
#include "commands/commands.h"
#include "demo_sheet.h"
#include "messages/message_server.h"
#include "planner/plan_sheet.h"
#include "planner/solder_melts.h"
#include "runlog/run_log.h"
#include "scratch_folder.h"

#include <QCoreApplication>

#include <algorithm>
#include <chrono>
#include <csignal>
#include <fcntl.h>
#include <fstream>
#include <functional>
#include <gtest/gtest.h>
#include <memory>
#include <thread>
#include <unistd.h>

using namespace stripwright;
using namespace std::chrono_literals;

namespace {

/// The one of this program: the test of pictures keeps its own.
class Application {
private:
    int argc_ = 1;
    char name_[14] = "test_commands", *argv_[2] = {name_, nullptr};
    const std::unique_ptr<QCoreApplication> own_ =
        QCoreApplication::instance() ? nullptr : std::make_unique<QCoreApplication>(argc_, argv_);
};

/// A run that another process heats by: what it says, and does to the command line that follows it, a test
/// says.
class Followed : public testing::Test {
protected:
    using Clock = std::chrono::steady_clock;
    struct Controller {
        Status status;
        Clock::time_point began = Clock::now();
        pid_t terminal = getppid();
        std::vector<Event> says; ///< In this turn.
        std::vector<Sample> gives;
        bool after(std::chrono::milliseconds time) const { return Clock::now() > began + time; }
        void end(Outcome outcome)
        {
            status.state = RunState::Ended;
            status.heater = HeaterState::OffConfirmed;
            status.outcome = outcome;
        }
    };
    using Act = std::function<void(Controller&, const Message*)>; ///< To a message, and in every turn.

    Followed()
    {
        RunWriter writer(runs_);
        const HeatPlan plan = planSheet(test::shippedSheet("marram-lane-bar-7.bench.json"));
        const auto card = std::ranges::find(plan.cards, false, &HandCard::mustConfirm);
        EXPECT_NE(card, plan.cards.end());
        card_ = card->id;
        EXPECT_TRUE(card->asksLiquid);
        target_ = siteToWatch(plan, *card);
        heaterOffS_ = plan.heaterOffS;
        work_ = "swap-led-" + std::to_string(target_);
        const auto work = std::ranges::find(plan.cards, work_, &HandCard::id);
        EXPECT_NE(work, plan.cards.end());
        workText_ = work->text;
        workUntilS_ = work->untilS;
        key_ = writer.begin(toJson(plan).dump(), "{}", "2026-11-29T10:00:00Z");
        writer.end(Outcome::Completed, "", "2026-11-29T10:01:00Z");
    }
    RunResult follow(const Act& act)
    {
        controller_.emplace([&](const auto& ready) { serve(act, ready); });
        const Application application;
        const PatientOutput talk(STDERR_FILENO);
        return followInTerminal({.pid = controller_->pid(), .socket = socket_, .runsFile = runs_}, talk);
    }

    const ScratchFolder folder_;
    const std::string runs_ = folder_ / "runs.db", socket_ = folder_ / "talk";
    std::string key_, card_;      ///< A card whose time only runs; it asks about solder.
    std::string work_, workText_; ///< One for the hands, which the heat does not wait for.
    double workUntilS_ = 0;
    int target_ = 0; ///< Whose solder it asks about.
    double heaterOffS_ = 0;

private:
    void serve(const Act& act, const std::function<void()>& ready)
    {
        constexpr auto longest = 10s;
        MessageServer server(socket_);
        ready();
        Controller controller{.status = {.state = RunState::Running,
                                         .heater = HeaterState::On,
                                         .link = LinkState::Up,
                                         .sensorC = 151.25,
                                         .runKey = key_}};
        while (getppid() == controller.terminal) {
            for (const auto& received : server.receive(20))
                act(controller, &received.message);
            act(controller, nullptr);
            if (controller.after(longest))
                controller.end(Outcome::Failed);
            server.newClients();
            for (const Event& event : std::exchange(controller.says, {}))
                server.sendAll(event);
            for (const Sample& sample : std::exchange(controller.gives, {}))
                server.sendAll(sample);
            server.sendAll(controller.status);
        }
    }
    std::optional<ChildProcess> controller_;
};

/// Standard input from a pipe, for as long as it lives.
class Keyboard {
public:
    Keyboard() : before_(dup(STDIN_FILENO))
    {
        EXPECT_EQ(pipe(ends_), 0);
        dup2(ends_[0], STDIN_FILENO);
    }
    ~Keyboard()
    {
        dup2(before_, STDIN_FILENO);
        for (const int end : {before_, ends_[0], ends_[1]})
            close(end);
    }
    void type(const std::string& keys) const { (void)!write(ends_[1], keys.data(), keys.size()); }

private:
    int before_, ends_[2];
};

} // namespace

TEST_F(Followed, WorkWhoseTimePassedWithoutAWordCanBeSaidDoneLate)
{
    const Keyboard keyboard;
    bool up = false, typed = false;
    const RunResult result = follow([&](Controller& controller, const Message* message) {
        Status& status = controller.status;
        if (status.state == RunState::Ended)
            return;
        status.card = controller.after(800ms) ? "hold-still" : work_;
        if (controller.after(400ms) && !std::exchange(up, true))
            controller.says = {Event{1, workUntilS_ - 5, "card", "info", workText_}};
        if (controller.after(800ms))
            status.profileS = workUntilS_ + 1;
        if (controller.after(1200ms) && !std::exchange(typed, true))
            keyboard.type("late\n");
        const auto* confirm = message ? std::get_if<ConfirmCard>(message) : nullptr;
        if (confirm && confirm->card == work_)
            controller.end(Outcome::Completed);
    });
    EXPECT_EQ(result.code, exitOk) << result.why.toStdString();
}

TEST_F(Followed, OfSeveralSitesALateWordNamesOne)
{
    BenchSheet sheet = test::shippedSheet("marram-lane-bar-7.bench.json");
    sheet.sites[6].state = SiteState::Replace;
    sheet.plateStartMm = 180;
    const HeatPlan plan = planSheet(sheet);
    RunWriter writer(runs_);
    key_ = writer.begin(toJson(plan).dump(), "{}", "2026-11-29T11:00:00Z");
    double overS = 0;
    long seq = 0;
    for (const char* id : {"swap-led-6", "swap-led-7"}) {
        const auto card = std::ranges::find(plan.cards, id, &HandCard::id);
        ASSERT_NE(card, plan.cards.end());
        writer.add(Event{++seq, card->atS, "card", "info", card->text}); // before it is followed
        overS = std::max(overS, card->untilS);
    }
    writer.end(Outcome::Completed, "", "2026-11-29T11:01:00Z");
    const Keyboard keyboard;
    std::vector<std::string> typed = {"late\n", "late 7\n"};
    auto next = Clock::now() + 500ms;
    const RunResult result = follow([&](Controller& controller, const Message* message) {
        if (controller.status.state == RunState::Ended)
            return;
        controller.status.card = "hold-still";
        controller.status.profileS = overS + 1;
        if (!typed.empty() && Clock::now() > next) {
            keyboard.type(typed.front());
            typed.erase(typed.begin());
            next = Clock::now() + 400ms;
        }
        if (const auto* confirm = message ? std::get_if<ConfirmCard>(message) : nullptr)
            controller.end(confirm->card == "swap-led-7" ? Outcome::Completed : Outcome::Failed);
    });
    EXPECT_EQ(result.code, exitOk) << result.why.toStdString();
}

TEST_F(Followed, ACardThatNeedsNoConfirmationCanBeConfirmedWhileItIsUp)
{
    const Keyboard keyboard;
    auto next = Clock::now();
    const RunResult result = follow([&](Controller& controller, const Message* message) {
        if (controller.status.state == RunState::Ended)
            return;
        controller.status.card = work_;
        if (controller.after(500ms) && Clock::now() > next) {
            keyboard.type("done\n");
            next = Clock::now() + 200ms;
        }
        const auto* confirm = message ? std::get_if<ConfirmCard>(message) : nullptr;
        if (confirm && confirm->card == work_)
            controller.end(Outcome::Completed);
    });
    EXPECT_EQ(result.code, exitOk) << result.why.toStdString();
    EXPECT_TRUE(result.logFollows);
}

TEST_F(Followed, WhatTheSolderDoesIsSaidByKey)
{
    const Keyboard keyboard;
    std::vector<SolderMark> heard;
    const RunResult result = follow([&](Controller& controller, const Message* message) {
        if (controller.status.state == RunState::Ended)
            return;
        controller.status.card = card_;
        if (const auto* mark = message ? std::get_if<SolderMark>(message) : nullptr)
            heard.push_back(*mark);
        if (heard.size() < 2 && controller.after(500ms) && !message) {
            keyboard.type(heard.empty() ? "n\n" : "l\n");
            std::this_thread::sleep_for(150ms);
        }
        const auto said = [&](bool liquid) { return std::ranges::find(heard, liquid, &SolderMark::liquid); };
        if (said(false) < said(true) && said(true) != heard.end() && said(true)->site == target_)
            controller.end(Outcome::Completed);
    });
    EXPECT_EQ(result.code, exitOk) << result.why.toStdString();
}

TEST_F(Followed, AKeyboardThatEndsStopsNoHeatWhoseCardNeedsNoConfirmation)
{
    const int before = dup(STDIN_FILENO);
    close(STDIN_FILENO);
    ASSERT_EQ(open("/dev/null", O_RDONLY), STDIN_FILENO);
    const RunResult result = follow([this](Controller& controller, const Message* message) {
        if (controller.status.state == RunState::Ended)
            return;
        controller.status.card = card_;
        if (message && std::holds_alternative<StopHeating>(*message))
            controller.end(Outcome::StoppedByOperator);
        else if (controller.after(800ms))
            controller.end(Outcome::Completed);
    });
    dup2(before, STDIN_FILENO);
    close(before);
    EXPECT_EQ(result.code, exitOk) << result.why.toStdString();
}

TEST_F(Followed, WhatARunEndedWithIsASentenceThatSaysNoWordTwice)
{
    const RunResult result = follow([](Controller& controller, const Message*) {
        controller.status.outcomeText = "stopped by the operator; plate at 44.9 °C";
        if (controller.after(300ms))
            controller.end(Outcome::StoppedByOperator);
    });
    EXPECT_EQ(result.why, "Stopped by the operator; plate at 44.9 °C.");
}

TEST_F(Followed, AKeyThatStopsAHeatLetsTheCoolingGoOnToItsEndAndLeavesItOnlyWhenPressedAgain)
{
    for (const int key : {SIGINT, SIGTSTP})
        for (const auto& [pressedAgain, toItsEnd] : {std::pair{false, true}, {true, true}, {true, false}}) {
            const bool again = pressedAgain, ranToItsEnd = toItsEnd;
            int pressed = 0;
            const RunResult result = follow([&](Controller& controller, const Message* message) {
                Status& status = controller.status;
                if (status.state == RunState::Running) {
                    status.state = RunState::Cooling;
                    status.heater = HeaterState::OffConfirmed;
                    status.profileS = ranToItsEnd ? heaterOffS_ : heaterOffS_ / 2;
                }
                if (const auto* stop = message ? std::get_if<StopHeating>(message) : nullptr)
                    status.stopTaken = stop->id;
                const int due = controller.after(900ms) && again ? 2 : controller.after(500ms) ? 1 : 0;
                if (pressed < due) {
                    ++pressed;
                    kill(controller.terminal, key);
                }
                if (controller.after(1500ms))
                    controller.end(Outcome::Completed);
            });
            EXPECT_EQ(result.code, ranToItsEnd ? exitOk : exitStoppedByOperator) << result.why.toStdString();
            EXPECT_EQ(result.why.contains("ran to its end by the plan"), again && ranToItsEnd)
                << result.why.toStdString();
            EXPECT_EQ(result.why.contains("HOT"), again) << result.why.toStdString();
        }
}

TEST_F(Followed, AKeyStopsAtOnceWhileACoolingPlateGetsHeatThatNobodyAskedFor)
{
    bool pressed = false;
    const RunResult result = follow([&](Controller& controller, const Message* message) {
        controller.status.state = RunState::Cooling;
        controller.status.heater = HeaterState::OffConfirmed;
        controller.status.trip = Trip{"unexpected heat: pull the mains plug", false, true};
        if (const auto* stop = message ? std::get_if<StopHeating>(message) : nullptr)
            controller.status.stopTaken = stop->id;
        if (!pressed && controller.after(500ms))
            pressed = kill(controller.terminal, SIGINT) == 0;
    });
    EXPECT_EQ(result.code, exitStoppedByLimit) << result.why.toStdString();
}

TEST_F(Followed, ASecondPoliteKillStopsOnceMoreAndDoesNotLeave)
{
    long first = 0;
    bool killed = false;
    const RunResult result = follow([&](Controller& controller, const Message* message) {
        if (!killed && controller.after(500ms))
            killed = kill(controller.terminal, SIGTERM) == 0;
        const auto* stop = message ? std::get_if<StopHeating>(message) : nullptr;
        if (!stop)
            return;
        if (first == 0) {
            first = stop->id;
            kill(controller.terminal, SIGTERM);
        } else if (stop->id != first) {
            controller.status.state = RunState::Cooling;
            controller.status.heater = HeaterState::OffConfirmed;
            controller.status.stopTaken = stop->id;
        }
    });
    EXPECT_EQ(result.code, exitStoppedByOperator) << result.why.toStdString();
    for (const std::string& said :
         {std::string("heater off, read back"), std::string("At this stop: plate 151 °C"), std::string("HOT"),
          std::string("do not lift"), key_})
        EXPECT_TRUE(result.why.contains(QString::fromStdString(said))) << said << result.why.toStdString();
}

TEST_F(Followed, WhoLeavesBeforeTheHeaterWasReadBackIsToldThatItMayBeOn)
{
    int pressed = 0;
    const RunResult result = follow([&](Controller& controller, const Message*) {
        if (pressed < (controller.after(1000ms) ? 2 : controller.after(500ms) ? 1 : 0)) {
            ++pressed;
            kill(controller.terminal, SIGINT);
        }
    });
    EXPECT_EQ(result.code, exitInternalFailure);
    EXPECT_TRUE(result.why.contains("may be ON") && result.why.contains("mains") &&
                result.why.contains("HOT"))
        << result.why.toStdString();
    EXPECT_FALSE(result.why.contains("Heater off, read back")) << result.why.toStdString();
    EXPECT_TRUE(result.why.contains(QString::fromStdString("\nThe record is run " + key_)))
        << result.why.toStdString();
}

TEST_F(Followed, WhoseControllerIsLostIsToldHowHotThePlateWasAndWhereTheRecordIs)
{
    const RunResult result = follow([](Controller& controller, const Message*) {
        if (controller.after(500ms))
            _exit(0);
    });
    EXPECT_EQ(result.code, exitInternalFailure);
    for (const std::string& said : {std::string("mains"), std::string("\nLast read: Plate 151 °C"),
                                    std::string("HOT"), "\nThe record is run " + key_ + " in " + runs_})
        EXPECT_TRUE(result.why.contains(QString::fromStdString(said))) << said << result.why.toStdString();
}

TEST_F(Followed, WhoseControllerHasDiedUnderHeatIsToldToPullThePlugUnlessAnotherProcessDrivesThePlate)
{
    setenv("STRIPWRIGHT_RUNNING", (folder_ / "running").c_str(), 1);
    const auto diesAfter = [&](bool heat) {
        long seq = 0;
        return follow([&, heat, seq](Controller& controller, const Message*) mutable {
                   if (heat && !controller.after(400ms))
                       controller.gives = {Sample{.seq = ++seq, .sensorC = 151.25}};
                   if (controller.after(500ms))
                       _exit(0);
               })
            .why.toStdString();
    };
    const std::string nobody =
        "Nobody drives the plate any more, and nobody has read back that its heater is "
        "off: pull the mains plug.";
    EXPECT_NE(diesAfter(true).find(nobody), std::string::npos);
    EXPECT_EQ(diesAfter(false).find(nobody), std::string::npos) << "no heat was seen";

    const ChildProcess other([&](const auto& ready) {
        const RunningMark mark({.plate = "Bench plate", .socket = folder_ / "other", .runsFile = runs_});
        ready();
        pause();
    });
    const std::string goesOn = diesAfter(true);
    EXPECT_EQ(goesOn.find(nobody), std::string::npos) << goesOn;
    EXPECT_NE(goesOn.find("Process " + std::to_string(other.pid()) + " goes on with Bench plate"),
              std::string::npos)
        << goesOn;
    unsetenv("STRIPWRIGHT_RUNNING");
}

TEST(RunInTerminal, IsNoRunThatWentWellWhenTheControllerEndedBeforeItsStart)
{
    const ScratchFolder folder;
    const std::filesystem::path controller = folder / "stripwright-controller";
    std::ofstream(controller) << "#!/bin/sh\necho ready\nexit 0\n";
    std::filesystem::permissions(controller, std::filesystem::perms::owner_all);
    const Application application;
    const PatientOutput talk(STDERR_FILENO);
    const RunResult result = runInTerminal(planSheet(test::shippedSheet("marram-lane-bar-7.bench.json")),
                                           {.binFolder = folder / "",
                                            .plateLink = folder / "a.plate.json",
                                            .runsFile = folder / "runs.db",
                                            .speed = 1},
                                           talk);
    EXPECT_EQ(result.code, exitInternalFailure) << result.why.toStdString();
    EXPECT_EQ(result.runKey, "");
}

TEST(RunInTerminal, EndsWithACodeThatSaysWhyAStartWasRefused)
{
    const Status ready{
        .state = RunState::Idle, .heater = HeaterState::OffConfirmed, .link = LinkState::Up, .sensorC = 24.0};
    const auto code = [&](const char* why, const Status& status) {
        return exitCodeOfRefusal(QString::fromUtf8(why), status);
    };
    EXPECT_EQ(code("the plan cannot be run: no curves", ready), exitBadInput);
    EXPECT_EQ(code("the guardian process is gone: nobody would turn the heater off", ready),
              exitInternalFailure);
    EXPECT_EQ(code("the run log does not answer: its disk hangs or is overloaded", ready), exitCannotWrite);
    EXPECT_EQ(code("runs.db: cannot be written: disk full", ready), exitCannotWrite);
    EXPECT_EQ(code("the run was not started: heating was stopped", ready), exitStoppedByOperator);
    EXPECT_EQ(code("a run is on; wait until it has ended", ready), exitPlateNotReachable);
    Status hot = ready, silent = ready, tripped = ready;
    hot.sensorC = 50;
    EXPECT_EQ(code("the plate is at 50.0 °C, expected below 50 °C", hot), exitStoppedByLimit);
    silent.sensorC.reset();
    EXPECT_EQ(code("the plate gives no temperature", silent), exitPlateNotReachable);
    tripped.trip = Trip{.text = "over temperature"};
    EXPECT_EQ(code("a trip stands: over temperature", tripped), exitStoppedByLimit);
}
