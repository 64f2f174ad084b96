#include "loop/control_thread.h"

#include <cerrno>
#include <cmath>
#include <ctime>
#include <pthread.h>
#include <unistd.h>

namespace stripwright {

static double secondsOf(clockid_t clock)
{
    timespec now{};
    clock_gettime(clock, &now);
    return static_cast<double>(now.tv_sec) + 1e-9 * static_cast<double>(now.tv_nsec);
}

static void sleepUntil(double monotonicS)
{
    timespec deadline{};
    deadline.tv_sec = static_cast<time_t>(monotonicS);
    deadline.tv_nsec = static_cast<long>((monotonicS - std::floor(monotonicS)) * 1e9);
    while (clock_nanosleep(CLOCK_MONOTONIC, TIMER_ABSTIME, &deadline, nullptr) == EINTR) {
    }
}

/// Time the computer has been asleep since boot; the monotonic clock stands still meanwhile.
static double asleepS()
{
    return secondsOf(CLOCK_BOOTTIME) - secondsOf(CLOCK_MONOTONIC);
}

ControlThread::ControlThread(Plate& plate, Rings& rings, const ControlThreadSettings& settings)
    : plate_(plate), rings_(rings), settings_(settings), idle_(plate, settings.plantSPerWallS),
      sleptS_(asleepS()), thread_([this] { work(); })
{
}

ControlThread::~ControlThread()
{
    quit_ = true;
    thread_.join();
    for (int n = 0; n < 3 && !plate_.heaterOff(); ++n) {
    }
}

void ControlThread::begin(ControlLoop& run)
{
    busy_ = true;
    handedOver_ = &run;
}

void ControlThread::work()
{
    sched_param priority{};
    priority.sched_priority = 10;
    pthread_setschedparam(pthread_self(), SCHED_FIFO,
                          &priority); // refused without the right; then as any thread
    const double periodS = settings_.periodS / settings_.plantSPerWallS;
    double deadlineS = secondsOf(CLOCK_MONOTONIC);
    while (!quit_) {
        sleepUntil(deadlineS);
        const double nowS = secondsOf(CLOCK_MONOTONIC);
        oneCycle(nowS);
        deadlineS = std::max(deadlineS + periodS, secondsOf(CLOCK_MONOTONIC)); // no burst after a late cycle
    }
}

void ControlThread::oneCycle(double nowS)
{
    if (!run_)
        run_ = handedOver_.exchange(nullptr);
    if (run_) {
        Remark remark;
        for (int n = 0; n < 4 && (rings_.fromLog.try_dequeue(remark) || rings_.fromDesk.try_dequeue(remark));
             ++n)
            run_->say(remark.kind, remark.severity, "%s", remark.text.data());
        const double sleptS = asleepS();
        if (sleptS - sleptS_ > 0.05)
            run_->requestAbort("the computer was asleep in the middle of a run");
        sleptS_ = sleptS;
        run_->setLogFailing(logFailing_);
        if (guardianGone_)
            run_->setGuardianGone();
    }

    const bool inRun = run_;
    const CycleRecord record = inRun ? run_->cycle(nowS) : idle_.cycle(nowS);
    if (inRun)
        rings_.toLog.try_enqueue(record);
    rings_.toDesk.try_enqueue(record);
    if (inRun && run_->ended()) {
        run_ = nullptr;
        idle_.restart();
        busy_ = false;
    }
    if (settings_.heartbeat >= 0 && write(settings_.heartbeat, "b", 1) < 0 && errno == EPIPE)
        guardianGone_ = true;
}

} // namespace stripwright
