// How late the control thread wakes up while two other processes take all the processor they can get and the
// run log's disk stands still for five seconds in the middle of a run: with real-time priority and without.

#include "loop/control_thread.h"
#include "loop/log_thread.h"
#include "scratch_folder.h"
#include "stalling_disk.h"
#include "woken_plate.h"

#include <CLI/CLI.hpp>
#include <algorithm>
#include <cmath>
#include <csignal>
#include <cstdio>
#include <fstream>
#include <linux/capability.h>
#include <sys/mman.h>
#include <sys/prctl.h>
#include <sys/resource.h>
#include <sys/syscall.h>
#include <sys/wait.h>
#include <unistd.h>

using namespace stripwright;

namespace {

constexpr double plantSPerWallS = 10; // a cycle every 20 ms: thousands of them in a minute
constexpr double stallS = 5;

double monotonicS()
{
    timespec now{};
    clock_gettime(CLOCK_MONOTONIC, &now);
    return static_cast<double>(now.tv_sec) + 1e-9 * static_cast<double>(now.tv_nsec);
}

void forgoPriority()
{
    const rlimit none{0, 0};
    setrlimit(RLIMIT_RTPRIO, &none);
    __user_cap_header_struct header{_LINUX_CAPABILITY_VERSION_3, 0};
    __user_cap_data_struct rights[2] = {};
    syscall(SYS_capget, &header, rights);
    rights[0].effective &= ~(1u << CAP_SYS_NICE);
    rights[0].permitted &= ~(1u << CAP_SYS_NICE);
    syscall(SYS_capset, &header, rights);
}

// Processor time that the machine below a virtual one has taken since boot; then no priority helps.
double takenS()
{
    std::ifstream stat("/proc/stat");
    std::string cpu;
    double ticks[8] = {};
    stat >> cpu;
    for (double& one : ticks)
        stat >> one;
    return ticks[7] / static_cast<double>(sysconf(_SC_CLK_TCK));
}

std::vector<pid_t> startBusyLoops()
{
    std::vector<pid_t> all;
    for (int i = 0; i < 2; ++i) {
        const pid_t child = fork();
        if (child == 0) {
            prctl(PR_SET_PDEATHSIG, SIGKILL);
            for (volatile unsigned long n = 0;;)
                n = n + 1;
        }
        all.push_back(child);
    }
    return all;
}

double atShare(const std::vector<double>& sorted, double share)
{
    return sorted[static_cast<size_t>(std::ceil(share * static_cast<double>(sorted.size()))) - 1];
}

// One run on the plate from its start, and the line of the table. False: the disk never stood still.
bool measure(double seconds)
{
    const ScratchFolder scratch;
    const ControlThreadSettings settings{.plantSPerWallS = plantSPerWallS};
    const double periodS = settings.periodS / plantSPerWallS;
    WokenPlate plate(settings.periodS, static_cast<size_t>(seconds / periodS) + 1000);
    const LoopSettings loop{.plantSPerWallS = plantSPerWallS, .simulatedStrip = true};
    Rings rings;
    double stalledFromS = 0;
    const double takenBeforeS = takenS();
    std::string key;
    long samples = 0;
    const auto count = [&] {
        for (CycleRecord record; rings.toDesk.try_dequeue(record);)
            samples = std::max(samples, record.sampleSeq);
    };
    {
        LogThread log(std::make_unique<RunWriter>(scratch / "runs.sqlite"), rings, {});
        key = log.begin("{}", "{}");
        ControlThread control(plate, rings, settings);
        mlockall(MCL_CURRENT); // as the controller does
        control.begin(std::make_unique<ControlLoop>(plate, referencePlan(), loop));
        stallDisk(seconds / 3, stallS);
        stalledFromS = monotonicS() + seconds / 3;
        const double endS = monotonicS() + seconds;
        bool left = false;
        for (double nowS; (nowS = monotonicS()) < endS + 10 && control.busy();) {
            if (nowS >= endS && !std::exchange(left, true))
                if (ControlLoop* run = control.run())
                    run->requestLeave();
            count();
            usleep(50'000);
        }
    }

    count();
    std::vector<double> late = latenessS(plate.readS(), periodS);
    double worstStalledS = 0;
    for (size_t i = 0; i < late.size(); ++i)
        if (plate.readS()[i] >= stalledFromS && plate.readS()[i] < stalledFromS + stallS)
            worstStalledS = std::max(worstStalledS, late[i]);
    std::sort(late.begin(), late.end());
    const RecordedRun recorded = RunReader(scratch / "runs.sqlite").read(key);
    std::printf("%-10s %7zu %8.3f %8.3f %8.3f %14.3f %9zu of %ld %10.2f\n",
                plate.hadPriority() ? "real-time" : "usual", late.size(), 1e3 * atShare(late, 0.5),
                1e3 * atShare(late, 0.999), 1e3 * late.back(), 1e3 * worstStalledS, recorded.samples.size(),
                samples, takenS() - takenBeforeS);
    std::fflush(stdout);
    return stalledCalls() > 0;
}

} // namespace

int main(int argc, char** argv)
{
    double seconds = 60;
    CLI::App app("How late the control thread wakes up on a busy machine with a disk that stalls.");
    app.add_option("--seconds", seconds, "of each of the two runs")
        ->check(CLI::Range(15.0, 600.0))
        ->capture_default_str();
    CLI11_PARSE(app, argc, argv);

    std::printf(
        "Wake-up lateness of the control thread in ms, a cycle every 20 ms for %g s, in a run; two busy "
        "loops on %ld\n"
        "processors; the log's disk stands still for %g s. Goals: 99.9 %% within 2 ms, none above 10 ms.\n"
        "Taken: processor time that went to other guests of this machine's host.\n\n"
        "priority    cycles     50 %%   99.9 %%    worst  while it stands   samples in log  taken, s\n",
        seconds, sysconf(_SC_NPROCESSORS_ONLN), stallS);
    std::fflush(stdout);
    const std::vector<pid_t> busy = startBusyLoops();
    bool done = true;
    for (const bool priority : {true, false}) {
        const pid_t child = fork();
        if (child == 0) {
            prctl(PR_SET_PDEATHSIG, SIGKILL);
            if (!priority)
                forgoPriority();
            std::_Exit(measure(seconds) ? 0 : 1);
        }
        int status = 0;
        waitpid(child, &status, 0);
        done = done && WIFEXITED(status) && WEXITSTATUS(status) == 0;
    }
    for (const pid_t one : busy) {
        kill(one, SIGKILL);
        waitpid(one, nullptr, 0);
    }
    return done ? 0 : 1;
}
