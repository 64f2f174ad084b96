#include "loop/control_thread.h"

#include <cerrno>
#include <cstdarg>
#include <cstdio>
#include <pthread.h>
#include <unistd.h>

namespace stripwright {

static constexpr double deskSilentS = 2, deskGoneS = 10, logSilentS = 5;
static constexpr double stopsApartS = 0.02; // however many come, cycles for them leave time for the rest

ControlThread::ControlThread(Plate& plate, Rings& rings, const ControlThreadSettings& settings)
    : plate_(plate), rings_(rings), settings_(settings), idle_(plate, settings.plantSPerWallS),
      sleptS_(settings.asleepS()), thread_([this] { work(); })
{
}

ControlThread::~ControlThread()
{
    quit_ = true;
    wakeUp_.call();
    thread_.join();
    for (int n = 0; n < 3 && !plate_.heaterOff(); ++n)
        beat(); // a silent plate takes its time, and nothing stands still
}

void ControlThread::begin(std::unique_ptr<ControlLoop> run)
{
    owned_ = std::move(run);
    busy_ = true;
    handedOver_ = owned_.get();
}

long ControlThread::requestStop()
{
    const long number = ++stopsAsked_;
    if (ControlLoop* begun = run())
        begun->requestStop(); // a cycle at hand may take it yet
    wakeUp_.call();
    return number;
}

void ControlThread::work()
{
    sched_param priority{};
    priority.sched_priority = 10;
    pthread_setschedparam(pthread_self(), SCHED_FIFO,
                          &priority); // refused without the right; then as any thread
    const double periodS = settings_.periodS / settings_.plantSPerWallS;
    double deadlineS = clockS(), nextStopS = deadlineS;
    while (!quit_) {
        if (sleptUntil(deadlineS))
            rest(std::min(nextStopS, deadlineS));
        const double nowS = clockS();
        oneCycle(nowS);
        if (nowS < deadlineS)
            nextStopS = clockS() + stopsApartS; // for a stop; the others come when they would have come
        else
            deadlineS = std::max(deadlineS + periodS, clockS()); // no burst after a late cycle
    }
}

// Where cycles are far apart, the guardian hears meanwhile that the next one is waited for. True if called.
bool ControlThread::sleptUntil(double deadlineS)
{
    constexpr double beatEveryS = 0.5;
    for (double nextS = clockS() + beatEveryS; nextS < deadlineS; nextS += beatEveryS) {
        if (wakeUp_.sleepUntil(nextS))
            return true;
        beat();
    }
    return wakeUp_.sleepUntil(deadlineS);
}

void ControlThread::oneCycle(double nowS)
{
    ++cyclesBegun_;
    stepS_ = lastCycleS_ > 0 ? nowS - lastCycleS_ : 0;
    lastCycleS_ = nowS;
    offSent_.reset();
    if (!run_) {
        run_ = handedOver_.exchange(nullptr);
        if (run_ && latch_.latched())
            run_->requestAbort("the run did not start: a trip came first");
    }
    takeStops(nowS);
    takeTripCommands();
    takeRemarks();
    watchSleep(nowS);
    watchCompany();

    const bool inRun = run_;
    CycleRecord record = inRun ? run_->cycle(nowS) : idle_.cycle(nowS);
    for (int i = 0; i < idleSaidCount_ && record.eventCount < static_cast<int>(record.events.size()); ++i)
        record.events[static_cast<size_t>(record.eventCount++)] = idleSaid_[static_cast<size_t>(i)];
    idleSaidCount_ = 0;
    latch_.take(record);
    record.cycle = cyclesBegun_;
    record.stopTaken = stopsTaken_;
    if (owedEnd_ && rings_.toLog.try_enqueue(*owedEnd_))
        owedEnd_.reset();
    // Samples that a full ring loses are missed and counted; a run whose end is lost would stay open for
    // ever.
    if (inRun && !rings_.toLog.try_enqueue(record) && record.outcome)
        owedEnd_ = record;
    rings_.toDesk.try_enqueue(record);
    if (inRun && run_->ended()) {
        run_ = nullptr;
        idle_.restart();
        busy_ = false;
    }
    beat();
}

// Once in a cycle, and the run or the idle watch knows of it: at a silent plate each takes as long as the
// line waits for an answer.
void ControlThread::heaterOff(double nowS)
{
    if (offSent_)
        return;
    offSent_ = plate_.heaterOff();
    if (run_)
        run_->heaterOffSent(*offSent_);
    else
        idle_.heaterOffSent(*offSent_, nowS);
}

void ControlThread::takeStops(double nowS)
{
    const long asked = stopsAsked_;
    const bool signalled = settings_.stopSignal && *settings_.stopSignal;
    if (signalled && run_)
        run_->requestLeave();
    if (asked == stopsTaken_ && (!signalled || signalTaken_))
        return;
    heaterOff(nowS); // before the plate is asked anything
    if (run_)
        run_->requestStop();
    stopsTaken_ = asked;
    signalTaken_ = signalled;
}

void ControlThread::takeTripCommands()
{
    if (acknowledge_.exchange(false) && latch_.acknowledge())
        say(EventKind::Operator, Severity::Info, "trip acknowledged: %s", latch_.text());
    if (!reset_.exchange(false) || !latch_.latched())
        return;
    const BenchLatch before = latch_;
    if (latch_.reset())
        say(EventKind::Operator, Severity::Info, "trip reset: %s", before.text());
    else
        say(EventKind::Operator, Severity::Warning,
            "the trip was not reset: it was not acknowledged, or its cause is still there");
}

void ControlThread::takeRemarks()
{
    Remark remark;
    for (int n = 0; n < 4 && (rings_.fromLog.try_dequeue(remark) || rings_.fromDesk.try_dequeue(remark)); ++n)
        say(remark.kind, remark.severity, "%s", remark.text.data());
}

void ControlThread::watchSleep(double nowS)
{
    const double sleptS = settings_.asleepS(), newS = sleptS - sleptS_;
    sleptS_ = sleptS;
    if (!(newS > 0.05))
        return;
    if (run_) {
        run_->requestAbort("the computer was asleep in the middle of a run");
        return;
    }
    say(EventKind::Note, Severity::Warning, "the computer was asleep for %.0f s; heater off is sent again",
        newS);
    heaterOff(nowS);
}

void ControlThread::watchCompany()
{
    const double deskS = desk_.silentS(rings_.deskBeat, stepS_);
    if (deskS > deskSilentS) {
        if (run_)
            run_->requestAbort("the part of the controller that takes stops stands still");
        else if (!deskSaid_)
            say(EventKind::Note, Severity::Warning,
                "the part of the controller that takes stops stands still");
        deskSaid_ = true;
    } else {
        deskSaid_ = false;
    }
    deskGone_ = deskS > deskGoneS;

    const bool logStands = log_.silentS(rings_.logBeat, stepS_) > logSilentS;
    if (logStands && !logStands_)
        say(EventKind::Note, Severity::Warning,
            "the run log stands still: its disk has not answered for %.0f s; the run is kept in memory",
            logSilentS);
    if (!logStands && logStands_)
        say(EventKind::Note, Severity::Info, "the run log goes on, its disk answers again");
    logStands_ = logStands;

    if (run_) {
        run_->setLogFailing(logFailing_ || logStands_);
        if (guardianGone_)
            run_->setGuardianGone();
    } else if (guardianGone_ && !guardianSaid_) {
        say(EventKind::Note, Severity::Warning,
            "the guardian process is gone: nobody turns the heater off if the controller dies; no run is "
            "started "
            "until the controller was started again");
        guardianSaid_ = true;
    }
}

// Heat has ended long before the desk counts as gone. The guardian then ends this process, which nobody could
// stop or leave otherwise, and turns the heater off itself.
void ControlThread::beat()
{
    if (settings_.heartbeat < 0 || deskGone_)
        return;
    if (write(settings_.heartbeat, "b", 1) < 0 && errno == EPIPE)
        guardianGone_ = true;
}

void ControlThread::say(EventKind kind, Severity severity, const char* format, ...)
{
    LoopEvent event{.kind = kind, .severity = severity};
    va_list values;
    va_start(values, format);
    std::vsnprintf(event.text.data(), event.text.size(), format, values);
    va_end(values);
    if (run_)
        run_->say(kind, severity, "%s", event.text.data());
    else if (idleSaidCount_ < static_cast<int>(idleSaid_.size()))
        idleSaid_[static_cast<size_t>(idleSaidCount_++)] = event;
}

} // namespace stripwright
