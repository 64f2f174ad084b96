#include "child_program.h"
#include "link/plate_link.h"
#include "lone_guardian.h"
#include "materials/json_fields.h"
#include "messages/messages.h"
#include "messages/running.h"
#include "planner/plan_sheet.h"
#include "runlog/run_log.h"
#include "scratch_folder.h"

#include <cstring>
#include <poll.h>
#include <sys/socket.h>
#include <sys/un.h>

namespace stripwright {

using nlohmann::json;

/// What a window does: sends commands and heartbeats, confirms cards, keeps the last status and all events.
class Watcher {
public:
    explicit Watcher(const std::filesystem::path& path)
    {
        socket_ = socket(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0);
        sockaddr_un address{};
        address.sun_family = AF_UNIX;
        std::strcpy(address.sun_path, path.c_str());
        EXPECT_EQ(connect(socket_, reinterpret_cast<sockaddr*>(&address), sizeof address), 0);
    }
    ~Watcher() { close(socket_); }

    void send(const Message& message) { sendLine(encode(message)); }
    void sendLine(const std::string& line)
    {
        EXPECT_EQ(::send(socket_, line.data(), line.size(), MSG_NOSIGNAL), ssize_t(line.size()));
    }

    bool until(const std::function<bool()>& done, double patienceS = 60)
    {
        return waitFor(
            [&] {
                listen();
                return done();
            },
            patienceS);
    }

    Status status;
    std::vector<Sample> samples;
    std::vector<Event> events;
    std::vector<std::string> refusals;
    bool closed = false;

private:
    void listen()
    {
        pollfd watched{socket_, POLLIN, 0};
        while (!closed && poll(&watched, 1, 0) > 0) {
            char bytes[65536];
            const ssize_t count = recv(socket_, bytes, sizeof bytes, 0);
            closed = count <= 0;
            if (closed)
                return;
            waiting_.append(bytes, size_t(count));
        }
        for (size_t end; (end = waiting_.find('\n')) != std::string::npos; waiting_.erase(0, end + 1)) {
            std::string why;
            const auto message = decode(waiting_.substr(0, end), why);
            ASSERT_TRUE(message) << why;
            if (auto* sample = std::get_if<Sample>(&*message))
                samples.push_back(*sample);
            if (auto* event = std::get_if<Event>(&*message))
                events.push_back(*event);
            if (auto* refused = std::get_if<Refused>(&*message))
                refusals.push_back(refused->why);
            if (auto* now = std::get_if<Status>(&*message)) {
                if (now->state == RunState::Starting && !now->card.empty() && now->card != status.card)
                    send(ConfirmCard{now->card});
                status = *now;
            }
            if (std::holds_alternative<Heartbeat>(*message))
                send(Heartbeat{});
        }
    }

    int socket_;
    std::string waiting_;
};

/// Simulated plate and controller, each a process, at 50 times real speed, with the demo sheet's plan.
class ControllerProcess : public testing::Test {
protected:
    static constexpr const char* speed = "50";

    static const std::string& planText()
    {
        static const std::string text = [] {
            const std::filesystem::path shelf[] = {SHELF_DIR};
            const std::string sheet = std::string(SHELF_DIR) + "/marram-lane-bar-7.bench.json";
            return toJson(planSheet(readBenchSheet(readTextFile(sheet), sheet, readShelf(shelf)))).dump();
        }();
        return text;
    }

    void startPlate()
    {
        std::ofstream(folder / "plan.json") << planText();
        plate = std::make_unique<ChildProgram>(
            "stripwright-plate",
            std::vector<std::string>{"--tcp", "0", "--sheet", folder / "plan.json", "--speed", speed,
                                     "--link-out", folder / "link.json"});
        ASSERT_TRUE(waitFor(
            [&] { return std::filesystem::exists(folder / "link.json") && !plate->output().empty(); }));
    }
    std::unique_ptr<ChildProgram> newController(const std::string& name = "c",
                                                std::vector<std::string> more = {})
    {
        std::vector<std::string> arguments{
            "--plate",  folder / "link.json",      "--runs",  folder / "runs.sqlite",
            "--socket", folder / (name + ".sock"), "--speed", speed};
        arguments.insert(arguments.end(), more.begin(), more.end());
        return std::make_unique<ChildProgram>("stripwright-controller", arguments);
    }
    void startController()
    {
        controller = newController();
        ASSERT_TRUE(waitFor([&] { return controller->output() == "ready\n"; })) << controller->errors();
        watcher = std::make_unique<Watcher>(folder / "c.sock");
    }
    void heatUntil(double profileS)
    {
        watcher->send(StartRun{planText()});
        ASSERT_TRUE(watcher->until(
            [&] { return watcher->status.profileS > profileS || !watcher->refusals.empty(); }));
        ASSERT_TRUE(watcher->refusals.empty()) << watcher->refusals.front();
        ASSERT_EQ(watcher->status.heater, HeaterState::On);
    }
    PlateReading readPlate()
    {
        const std::unique_ptr<Plate> line =
            openPlate(readPlateLink(textOf(folder / "link.json"), "link.json"));
        const std::optional<PlateReading> reading = line->read();
        EXPECT_TRUE(reading) << line->lastError();
        return reading.value_or(PlateReading{});
    }
    RecordedRun newestRun() const
    {
        RunReader reader(folder / "runs.sqlite");
        return reader.read(reader.runs().at(0).key);
    }

    ScratchFolder folder;
    std::unique_ptr<ChildProgram> plate, controller;
    std::unique_ptr<Watcher> watcher;
};

TEST_F(ControllerProcess, RunsAPlanToItsEndAndKeepsEverySample)
{
    startPlate();
    startController();
    watcher->send(AddNote{"too early"});
    ASSERT_TRUE(watcher->until([&] { return !watcher->refusals.empty(); }));
    watcher->refusals.clear();
    heatUntil(20);
    watcher->send(AddNote{"smells of flux"});
    watcher->send(Shutdown{});
    watcher->sendLine("{\"message\":\"nonsense\"}\n");
    ASSERT_TRUE(watcher->until([&] { return watcher->refusals.size() >= 2; }));
    EXPECT_TRUE(std::any_of(
        watcher->refusals.begin(), watcher->refusals.end(),
        [](const std::string& why) { return why.find("not confirmed off") != std::string::npos; }))
        << watcher->refusals[0] << "\n"
        << watcher->refusals[1];
    ASSERT_TRUE(watcher->until([&] { return watcher->status.state == RunState::Ended; }));
    EXPECT_EQ(watcher->status.outcome, Outcome::Completed) << watcher->status.outcomeText;
    EXPECT_EQ(watcher->status.heater, HeaterState::OffConfirmed);
    watcher->send(Shutdown{});
    EXPECT_EQ(controller->exitCode(), 0) << controller->errors();

    const RecordedRun run = newestRun();
    EXPECT_EQ(run.summary.key, watcher->status.runKey);
    EXPECT_EQ(run.summary.outcome, Outcome::Completed);
    EXPECT_EQ(run.planText, planText());
    ASSERT_GT(run.samples.size(), 1500u);
    for (size_t i = 0; i < run.samples.size(); ++i)
        ASSERT_EQ(run.samples[i].seq, long(i) + 1);
    double sum = 0;
    int heated = 0;
    for (const Sample& sample : run.samples)
        if (sample.duty > 0 && sample.sensorC)
            sum += std::pow(*sample.sensorC - sample.expectedC, 2), ++heated;
    std::printf("%zu samples, reading against expected reading: RMS %.2f K\n", run.samples.size(),
                std::sqrt(sum / heated));
    EXPECT_EQ(std::count_if(run.events.begin(), run.events.end(),
                            [](const Event& event) { return event.text == "smells of flux"; }),
              1);
    EXPECT_EQ(std::count_if(run.events.begin(), run.events.end(),
                            [](const Event& event) { return event.severity == "trip"; }),
              0);
}

TEST_F(ControllerProcess, LeftAloneWithoutARunItEndsByItselfAndFreesThePlate)
{
    startPlate();
    startController();
    watcher->send(Heartbeat{});
    EXPECT_EQ(controller->exitCode(60), 0) << controller->errors();
    EXPECT_EQ(readPlate().duty, 0);
}

TEST_F(ControllerProcess, KilledInMidRunTheGuardianTurnsTheHeaterOffAndTheRunStandsAsInterrupted)
{
    startPlate();
    startController();
    heatUntil(60);
    ASSERT_TRUE(waitFor([&] { return newestRun().samples.size() > 20; }));
    const size_t committed = newestRun().samples.size();
    kill(controller->worker(), SIGKILL);
    EXPECT_EQ(controller->exitCode(), 1);
    EXPECT_NE(controller->errors().find("heater off, read back"), std::string::npos) << controller->errors();
    EXPECT_EQ(readPlate().duty, 0);

    EXPECT_EQ(newestRun().summary.outcome, std::nullopt);
    startController();
    const RecordedRun run = newestRun();
    EXPECT_EQ(run.summary.outcome, Outcome::Interrupted);
    EXPECT_GE(run.samples.size(), committed);
    EXPECT_NE(run.summary.outcomeText.find("samples are kept"), std::string::npos);
    ASSERT_TRUE(watcher->until([&] { return watcher->status.heater == HeaterState::OffConfirmed; }));
    EXPECT_EQ(watcher->status.state, RunState::Idle) << "no run resumes by itself";
}

TEST_F(ControllerProcess, StoppedProcessIsKilledByTheGuardianAndTheHeaterTurnedOff)
{
    startPlate();
    startController();
    heatUntil(30);
    kill(controller->worker(), SIGSTOP);
    EXPECT_EQ(controller->exitCode(10), 1);
    EXPECT_NE(controller->errors().find("stands still"), std::string::npos) << controller->errors();
    EXPECT_NE(controller->errors().find("heater off, read back"), std::string::npos) << controller->errors();
    EXPECT_EQ(readPlate().duty, 0);
}

TEST_F(ControllerProcess, WithEverythingKilledThePlatesOwnWatchdogCutsTheHeater)
{
    startPlate();
    startController();
    heatUntil(30);
    for (const pid_t process : {controller->worker(), controller->guardian()})
        kill(process, SIGKILL);
    controller->signal(SIGKILL);
    EXPECT_EQ(controller->exitCode(), 128 + SIGKILL);
    usleep(200'000); // 10 s of plant time; its watchdog is set to 3 s
    EXPECT_TRUE(readPlate().watchdogTripped);
}

TEST_F(ControllerProcess, GuardianGoneEndsTheHeatInPreheat)
{
    startPlate();
    startController();
    heatUntil(3);
    kill(controller->guardian(), SIGKILL);
    ASSERT_TRUE(watcher->until([&] {
        return std::any_of(watcher->events.begin(), watcher->events.end(), [](const Event& event) {
            return event.text.find("guardian") != std::string::npos;
        });
    }));
    controller->signal(SIGTERM);
    ASSERT_TRUE(watcher->until([&] { return watcher->closed; }));
    EXPECT_EQ(controller->exitCode(), 6) << "it waits for the one that heats";
    EXPECT_EQ(newestRun().summary.outcome, Outcome::StoppedByOperator);
}

TEST_F(ControllerProcess, InterruptInARunTurnsTheHeaterOffKeepsTheRunAndExitsSix)
{
    startPlate();
    startController();
    heatUntil(40);
    controller->signal(SIGINT);
    EXPECT_EQ(controller->exitCode(10), 6) << controller->errors();
    EXPECT_EQ(readPlate().duty, 0);
    const RecordedRun run = newestRun();
    EXPECT_EQ(run.summary.outcome, Outcome::StoppedByOperator) << run.summary.outcomeText;
    EXPECT_GT(run.samples.size(), 100u);
    EXPECT_FALSE(std::filesystem::exists(folder / "c.sock"));
}

TEST_F(ControllerProcess, IsFoundAsRunningUntilItEnds)
{
    setenv("STRIPWRIGHT_RUNNING", (folder / "running").c_str(), 1);
    startPlate();
    startController();
    const std::vector<RunningController> found = runningControllers();
    ASSERT_EQ(found.size(), 1u);
    EXPECT_EQ(found[0].pid, controller->worker());
    EXPECT_EQ(found[0].plateLink, (folder / "link.json").string());
    EXPECT_EQ(found[0].socket, (folder / "c.sock").string());
    EXPECT_EQ(found[0].runsFile, (folder / "runs.sqlite").string());
    EXPECT_NE(found[0].plate.find(" at 127.0.0.1 port "), std::string::npos) << found[0].plate;
    EXPECT_TRUE(found[0].simulated);
    controller->signal(SIGTERM);
    EXPECT_EQ(controller->exitCode(10), 0);
    EXPECT_TRUE(runningControllers().empty());
}

TEST_F(ControllerProcess, GuardianThatGoesOnAloneIsFoundInItsPlace)
{
    setenv("STRIPWRIGHT_RUNNING", (folder / "running").c_str(), 1);
    startPlate();
    startController();
    heatUntil(20);
    const pid_t guardian = controller->guardian();
    plate->signal(SIGSTOP);
    kill(controller->worker(), SIGKILL);
    const std::vector<RunningController> found = heatsOnceOneGoesOnAlone();
    ASSERT_EQ(found.size(), 1u);
    EXPECT_EQ(found[0].pid, guardian);
    EXPECT_TRUE(runningControllers().empty()) << "it is nobody to talk to";
    plate->signal(SIGCONT);
    EXPECT_EQ(controller->exitCode(), 1);
    EXPECT_TRUE(runningHeats().empty());
    unsetenv("STRIPWRIGHT_RUNNING");
}

TEST_F(ControllerProcess, InterruptWhileIdleExitsZero)
{
    startPlate();
    startController();
    controller->signal(SIGTERM);
    EXPECT_EQ(controller->exitCode(10), 0) << controller->errors();
}

TEST_F(ControllerProcess, StopHeatingIsObeyedFromASecondWatcher)
{
    startPlate();
    startController();
    heatUntil(40);
    Watcher second(folder / "c.sock");
    second.send(StopHeating{});
    ASSERT_TRUE(watcher->until([&] { return watcher->status.state == RunState::Cooling; }, 10));
    EXPECT_EQ(watcher->status.heater, HeaterState::OffConfirmed);
    watcher->send(StartRun{planText()});
    ASSERT_TRUE(watcher->until([&] { return !watcher->refusals.empty(); }));
    EXPECT_NE(watcher->refusals[0].find("a run is on"), std::string::npos);
}

TEST_F(ControllerProcess, PlanThatIsNoneIsRefusedWithItsProblems)
{
    startPlate();
    startController();
    watcher->send(StartRun{"{\"format\": \"x\"}"});
    ASSERT_TRUE(watcher->until([&] { return !watcher->refusals.empty(); }));
    EXPECT_NE(watcher->refusals[0].find("plan"), std::string::npos);
    EXPECT_TRUE(RunReader(folder / "runs.sqlite").runs().empty());
}

TEST_F(ControllerProcess, EachWayNotToStartHasItsExitCode)
{
    startPlate();
    startController();
    auto second = newController("second");
    EXPECT_EQ(second->exitCode(5), 5);
    const std::string who = "another controller, process " + std::to_string(controller->worker()) +
                            " (stripwright-controller) of user ";
    EXPECT_NE(second->errors().find(who), std::string::npos) << second->errors();
    controller->signal(SIGTERM);
    EXPECT_EQ(controller->exitCode(10), 0);

    ChildProgram unwritable("stripwright-controller", {"--plate", folder / "link.json", "--runs",
                                                       "/proc/no/runs", "--socket", folder / "x.sock"});
    EXPECT_EQ(unwritable.exitCode(5), 8);
    EXPECT_NE(unwritable.errors().find("/proc/no"), std::string::npos) << unwritable.errors();

    plate.reset();
    auto alone = newController("alone");
    EXPECT_EQ(alone->exitCode(2), 5);
    EXPECT_NE(alone->errors(), "");

    json link = json::parse(textOf(folder / "link.json"));
    link["host"] = "no-such-plate.invalid";
    std::ofstream(folder / "link.json") << link;
    auto unknown = newController("unknown");
    EXPECT_EQ(unknown->exitCode(20), 5);
    EXPECT_NE(unknown->errors().find("no-such-plate.invalid"), std::string::npos) << unknown->errors();

    link.erase("simulated");
    std::ofstream(folder / "link.json") << link;
    auto tooFast = newController("fast");
    EXPECT_EQ(tooFast->exitCode(5), 2);
    EXPECT_NE(tooFast->errors().find("simulated"), std::string::npos) << tooFast->errors();

    std::ofstream(folder / "link.json") << "{}";
    auto badLink = newController("bad");
    EXPECT_EQ(badLink->exitCode(5), 3);
    ChildProgram usage("stripwright-controller", {"--plate"});
    EXPECT_EQ(usage.exitCode(5), 2);
}

} // namespace stripwright
