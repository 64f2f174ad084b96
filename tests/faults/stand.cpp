#include "stand.h"

#include "link/plate_link.h"

#include <csignal>
#include <cstring>
#include <fcntl.h>
#include <fstream>
#include <stdexcept>
#include <sys/mman.h>
#include <sys/prctl.h>
#include <sys/wait.h>
#include <unistd.h>

namespace stripwright::faults {

constexpr double patienceS = 60;

static std::runtime_error failure(const std::string& what)
{
    return std::runtime_error(what);
}

Stand::Stand(const Setting& given, const HeatPlan& plan, std::string planText)
    : setting(given), plan_(plan), planText_(std::move(planText))
{
    prctl(PR_SET_CHILD_SUBREAPER, 1); // whoever loses its parent comes here, to be ended with the rest
    std::signal(SIGPIPE, SIG_IGN);
    std::ofstream(folder_ / "plan.json") << planText_;
    const int fd = open((folder_ / "shim").c_str(), O_RDWR | O_CREAT | O_CLOEXEC, 0600);
    if (fd < 0 || ftruncate(fd, sizeof(ShimControl)) != 0)
        throw failure("no file for the shim");
    shim_ = static_cast<ShimControl*>(
        mmap(nullptr, sizeof(ShimControl), PROT_READ | PROT_WRITE, MAP_SHARED, fd, 0));
    close(fd);
}

Stand::~Stand()
{
    for (const pid_t burner : burners_)
        kill(burner, SIGKILL);
    client.reset();
    for (int round = 0; round < 3; ++round)
        for (const pid_t pid : descendantsOf(getpid()))
            if (!plate_ || pid != plate_->pid())
                kill(pid, SIGKILL);
    controller_.reset();
    plate_.reset();
    while (waitpid(-1, nullptr, WNOHANG) > 0) {
    }
    munmap(shim_, sizeof(ShimControl));
}

void Stand::startPlate()
{
    const Row& row = *setting.row;
    std::vector<std::string> arguments{"--sheet",        folder_ / "plan.json",
                                       "--speed",        std::to_string(setting.speed),
                                       "--link-out",     folder_ / "link.json",
                                       "--trace",        tracePath(),
                                       "--fault",        "-",
                                       "--without-truth"};
    if (setting.line == Line::Tcp)
        arguments.insert(arguments.end(), {"--tcp", "0"});
    else
        arguments.insert(arguments.end(), {"--rtu", folder_ / "tty", "--baud", "115200", "--frame", "8N1"});
    if (row.enable || row.act == Act::WrongWordOrder)
        arguments.insert(arguments.end(), {"--map", "floats"});
    if (!row.watchdog)
        arguments.push_back("--no-watchdog");
    plate_ = std::make_unique<ChildProgram>("stripwright-plate", arguments);
    if (!waitFor([&] { return !plate_->output().empty() || plate_->exitCode(0); }, patienceS) ||
        plate_->output().empty())
        throw failure("the plate did not start: " + plate_->errors());
    writeLink();
}

// The plate's own watchdog runs in its time; three seconds of the clock are meant.
void Stand::writeLink()
{
    const std::string file = folder_ / "link.json";
    PlateLink link = readPlateLink(textOf(file), file);
    if (link.watchdogS)
        link.watchdogSeconds = 3 * setting.speed;
    if (setting.row->act == Act::WrongWordOrder)
        link.sensor.order = WordOrder::ABCD;
    std::ofstream(file) << toJsonText(link);
}

bool Stand::preloaded() const
{
    const Act act = setting.row->act;
    return setting.row->kind == Kind::Disk || act == Act::WallClockJump || act == Act::Suspend;
}

std::vector<std::string> Stand::controllerArguments(const std::string& socket) const
{
    return {"--plate",  folder_ / "link.json", "--runs",  folder_ / "bench.runs",
            "--socket", folder_ / socket,      "--speed", std::to_string(setting.speed)};
}

std::map<std::string, std::string> Stand::environment() const
{
    std::map<std::string, std::string> all{{"STRIPWRIGHT_RUNNING", folder_ / "running"}};
    if (preloaded()) {
        all["LD_PRELOAD"] = SHIM_FILE;
        all[shimVariable] = folder_ / "shim";
    }
    return all;
}

bool Stand::startController()
{
    if (setting.row->act == Act::RunsCorrupt) {
        std::string bytes(40000, 'x');
        std::memcpy(bytes.data(), "SQLite format 3", 16);
        std::ofstream(folder_ / "bench.runs", std::ios::binary) << bytes;
    }
    beganS_ = nowS();
    controller_ = std::make_unique<ChildProgram>("stripwright-controller", controllerArguments("c.sock"),
                                                 environment());
    const auto ready = [&] { return controller_->output().find("ready") != std::string::npos; };
    waitFor([&] { return ready() || controller_->exitCode(0); }, patienceS);
    if (!ready())
        return false;
    findProcesses();
    client = std::make_unique<Client>(folder_ / "c.sock");
    if (!client->until(
            [&] {
                return client->status.heater == HeaterState::OffConfirmed &&
                       client->status.link == LinkState::Up && client->status.sensorC;
            },
            patienceS))
        throw failure("the controller never said that the heater is off");
    return true;
}

void Stand::findProcesses()
{
    front_ = guardian_ = controller_->pid();
    const std::vector<pid_t> children = childrenOf(front_);
    if (children.empty())
        throw failure("the controller has no guardian");
    worker_ = children.front();
    if (const std::vector<pid_t> theirs = childrenOf(worker_); !theirs.empty()) {
        guardian_ = worker_;
        worker_ = theirs.front();
    }
}

void Stand::reachPhase()
{
    const Phase phase = setting.phase;
    if (phase == Phase::Idle) {
        watch(1 / setting.speed);
        return;
    }
    startRun();
    const double momentS = momentOf(plan_, phase);
    const auto there = [&] {
        const Status& now = client->status;
        const bool heats = now.state == RunState::Running || now.state == RunState::Holding;
        return phase == Phase::Cool
                   ? now.state == RunState::Cooling && now.heater == HeaterState::OffConfirmed
                   : heats && now.profileS >= momentS;
    };
    const auto lost = [&] {
        return !client->refusals.empty() || client->closed || client->status.state == RunState::Ended;
    };
    client->until([&] { return there() || lost(); }, patienceS + 3 * (momentS + 60) / setting.speed);
    if (!there())
        throw failure(!client->refusals.empty() ? "the run was refused: " + client->refusals.front()
                      : client->closed          ? "the controller ended: " + controllerErrors()
                                       : "the phase was never reached: " + client->status.outcomeText);
    if (phase == Phase::Cool)
        watch(3 / setting.speed);
}

void Stand::watch(double forS)
{
    if (client)
        client->until([] { return false; }, forS);
    else
        usleep(static_cast<useconds_t>(forS * 1e6));
}

void Stand::doIt()
{
    if (*setting.row->plateFault && !plate_->say(setting.row->plateFault + std::string("\n")))
        throw failure("the plate does not take its input");
    if (setting.row->act == Act::PlateFault) {
        // It counts from when the plate has it.
        const bool began = waitFor([&] { return readTrace(tracePath()).faultBegan() != nullptr; }, 5);
        beganS_ = began ? readTrace(tracePath()).faultBegan()->wallS : nowS();
        if (!began)
            throw failure("the plate did not take the fault: " + plate_->errors());
        return;
    }
    if (*setting.row->plateFault)
        watch(0.3);
    beganS_ = nowS();
    act(setting.row->act);
}

} // namespace stripwright::faults
