#include "models/live_run.h"

#include "materials/problem.h"
#include "messages/running.h"

#include <nlohmann/json.hpp>

namespace stripwright {

using namespace std::chrono_literals;

static constexpr auto heartbeatEvery = 500ms, repeatStopEvery = 500ms;
static constexpr auto stopAnswerWithin = 2s, startWithin = 10s;

LiveRun::LiveRun(QObject* parent) : QObject(parent)
{
    heartbeat_.setInterval(heartbeatEvery);
    connect(&heartbeat_, &QTimer::timeout, this, &LiveRun::beat);
    connectAgain_.setInterval(100ms);
    connectAgain_.setSingleShot(true);
    connect(&connectAgain_, &QTimer::timeout, this, [this] { socket_.connectToServer(socketPath_); });
    readOn_.setInterval(0);
    readOn_.setSingleShot(true);
    connect(&readOn_, &QTimer::timeout, this, &LiveRun::readSocket);
    stopAnswer_.setInterval(stopAnswerWithin);
    stopAnswer_.setSingleShot(true);
    connect(&stopAnswer_, &QTimer::timeout, this, &LiveRun::stopUnanswered);
    stopRepeat_.setInterval(repeatStopEvery);
    connect(&stopRepeat_, &QTimer::timeout, this, &LiveRun::repeatStop);
    connect(&stopLine_, &StopLine::heard, this,
            [this](const Status& status) { hearAnswer(status, heardOnStops_); });
    startLimit_.setInterval(startWithin);
    startLimit_.setSingleShot(true);
    connect(&startLimit_, &QTimer::timeout, this, [this] {
        const QString talk = processes_.controllerTalk();
        enter(Phase::Failed,
              tr("The controller did not answer within 10 s.") + (talk.isEmpty() ? "" : "\n" + talk));
    });
    connect(&processes_, &BenchProcesses::plateStarting, this, [this] { enter(Phase::StartingPlate); });
    connect(&processes_, &BenchProcesses::controllerStarting, this, [this] {
        enter(Phase::StartingController);
        startLimit_.start();
    });
    connect(&processes_, &BenchProcesses::controllerReady, this, [this](const QString& socketPath) {
        if (phase_ == Phase::StartingController)
            attach(socketPath);
    });
    connect(&processes_, &BenchProcesses::failed, this,
            [this](const QString& why) { enter(Phase::Failed, why); });
    connect(&processes_, &BenchProcesses::controllerEnded, this, &LiveRun::processEnded);
    connect(&processes_, &BenchProcesses::plateEnded, this, [this](const QString& why) {
        if (phase_ != Phase::Connected) // else the controller sees its link lost and says so itself
            processEnded(why);
    });
    connect(&socket_, &QLocalSocket::connected, this, &LiveRun::connected);
    connect(&socket_, &QLocalSocket::readyRead, this, &LiveRun::readSocket);
    connect(&socket_, &QLocalSocket::disconnected, this, &LiveRun::disconnected);
    connect(&socket_, &QLocalSocket::errorOccurred, this, [this] {
        if (phase_ == Phase::Connecting)
            connectAgain_.start();
    });
}

LiveRun::~LiveRun()
{
    blockSignals(true); // Whoever listens may be half destroyed.
    closing_ = true;
    disconnect(&socket_, nullptr, this, nullptr);
    if (phase_ == Phase::Connected && heatMayBeOn()) {
        stopHeating();
        QElapsedTimer waited;
        waited.start();
        while (heatMayBeOn() && !waited.hasExpired(std::chrono::milliseconds(stopAnswerWithin).count()) &&
               socket_.state() == QLocalSocket::ConnectedState) {
            socket_.waitForReadyRead(received_.wholeLine() ? 0 : 50);
            readSocket();
        }
    }
    dropProcesses(!followed_);
}

bool LiveRun::open(const LiveRunSetup& setup, const BenchSheet& sheet)
{
    if (phase_ == Phase::Connected && heatMayBeOn() && runIsOn())
        return false;
    dropProcesses(!followed_);
    forgetSocket();
    everOpened_ = true;
    setup_ = setup;
    sheet_ = sheet;
    simulated_ = setup.plateLink.empty();
    followed_ = false;
    forgetController();
    startLimit_.start();
    processes_.start(setup, sheet);
    return true;
}

void LiveRun::attach(const QString& socketPath)
{
    closing_ = true;
    socket_.abort();
    closing_ = false;
    socketPath_ = socketPath;
    everOpened_ = true;
    stopLine_.reach(socketPath);
    enter(Phase::Connecting);
    if (!startLimit_.isActive())
        startLimit_.start();
    socket_.connectToServer(socketPath_);
}

bool LiveRun::attach(const RunningController& controller)
{
    if (phase_ == Phase::Connected && heatMayBeOn() && runIsOn())
        return false;
    dropProcesses(!followed_);
    forgetSocket();
    forgetController();
    follow(controller);
    return true;
}

void LiveRun::follow(const RunningController& controller)
{
    setup_.plateLink = controller.plateLink;
    setup_.runsFile = controller.runsFile;
    setup_.speed = 1;
    simulated_ = controller.simulated;
    followed_ = true;
    attach(QString::fromStdString(controller.socket));
}

bool LiveRun::canTakeUpAgain() const
{
    const bool lost =
        phase_ == Phase::Lost || phase_ == Phase::Failed || (phase_ == Phase::Off && heatMayBeOn());
    return lost && (!socketPath_.isEmpty() || !setup_.binFolder.empty());
}

void LiveRun::takeUpAgain()
{
    if (!canTakeUpAgain())
        return;
    askedToEnd_ = true; // A stop that still waits for its answer must not end the next controller.
    if (stopLine_.reach(socketPath_)) {
        attach(socketPath_);
        return;
    }
    for (const RunningController& controller : concerned()) {
        follow(controller);
        return;
    }
    if (setup_.binFolder.empty()) {
        enter(Phase::Failed, tr("The controller has gone, and none is found running on its plate."));
        return;
    }
    followed_ = false;
    allEvents_.clear();
    startLimit_.start();
    processes_.startControllerAgain();
}

void LiveRun::connected()
{
    received_.clear();
    endedWhy_.clear();
    awaitsStatus_ = true;
    offConfirmed_ = false;
    forgetOldWords();
    heartbeat_.start();
    stopLine_.reach(socketPath_);
    enter(Phase::Connected);
    send(Heartbeat{});
    heardOnTalk_ = heardOnStops_ = false;
    if (stopPending())
        stopRepeat_.start();
    repeatStop();
}

void LiveRun::disconnected()
{
    heartbeat_.stop();
    if (closing_ || phase_ == Phase::Failed)
        return;
    forgetOldWords();
    if (stopPending()) {
        heardOnTalk_ = heardOnStops_ = false;
        stopRepeat_.start();
    }
    if (!endedWhy_.isEmpty())
        enter(Phase::Failed, endedWhy_);
    else
        enter(Phase::Lost,
              tr("The controller has gone. Its guardian and the plate's own watchdog turn the heater "
                 "off; if the plate stays hot, switch it off at the mains."));
}

// What was started is only the front: while the controller behind it still speaks, it is there.
void LiveRun::processEnded(const QString& why)
{
    if (closing_)
        return;
    constexpr int endedWell = 0, stopped = 6; // Either only with the heater read back off.
    const int code = processes_.controllerExitCode().value_or(-1);
    if (code == endedWell || code == stopped) {
        offConfirmed_ = true;
        if (stopPending() && askedToEnd_)
            settleStop();
    }
    if (phase_ == Phase::Failed || phase_ == Phase::Off)
        return;
    if (phase_ == Phase::Connected && socket_.state() == QLocalSocket::ConnectedState)
        endedWhy_ = why;
    else
        enter(phase_ == Phase::Lost ? Phase::Lost : Phase::Failed, why);
}

void LiveRun::close()
{
    if (phase_ == Phase::Connected && heatMayBeOn() && runIsOn())
        return;
    dropProcesses(!followed_);
    if (!heatMayBeOn())
        forgetSocket();
    forgetController();
    enter(Phase::Off);
}

void LiveRun::leave()
{
    dropProcesses(false);
    forgetController();
    phase_ = Phase::Off;
}

void LiveRun::dropProcesses(bool shutController)
{
    closing_ = true;
    connectAgain_.stop();
    startLimit_.stop();
    heartbeat_.stop();
    readOn_.stop();
    if (shutController && socket_.state() == QLocalSocket::ConnectedState) {
        send(Shutdown{});
        socket_.flush();
    }
    processes_.end();
    socket_.abort();
    received_.clear();
    closing_ = false;
    startSent_ = false;
    askedToEnd_ = true;
}

void LiveRun::forgetController()
{
    const bool hadTrip = status_ && status_->trip;
    status_.reset();
    lastLive_ = {};
    allEvents_.clear();
    endedWhy_.clear();
    forgetOldWords();
    tellUnknown();
    if (hadTrip)
        emit tripChanged();
}

// The next plate's stop is not for the controller of the one before.
void LiveRun::forgetSocket()
{
    socketPath_.clear();
    stopLine_.close();
}

bool LiveRun::start(const HeatPlan& plan)
{
    if (phase_ != Phase::Connected || runIsOn())
        return false;
    if (stopPending()) {
        emit refused(tr("The last stop is not confirmed yet: nothing is heated before the heater was read "
                        "back off."));
        return false;
    }
    try {
        runningFolder();
    } catch (const BadInput& error) {
        emit refused(tr("Nothing is heated that the commands stop and running would not find: %1")
                         .arg(QString::fromUtf8(error.what())));
        return false;
    }
    samples_.clear();
    events_.clear();
    runPlan_ = plan;
    stopAnswer_.stop();
    noneToStop_ = false;
    setStop(Stop::None);
    startSent_ = true;
    send(StartRun{toJson(plan).dump()});
    socket_.flush(); // A stop goes another way, and must not come before it.
    emit runStarted();
    return true;
}

void LiveRun::enter(Phase phase, const QString& text)
{
    if (phase == Phase::Failed || phase == Phase::Connected)
        startLimit_.stop();
    phase_ = phase;
    phaseText_ = text;
    emit phaseChanged();
    tellUnknown();
}

QString LiveRun::phaseText() const
{
    switch (phase_) {
    case Phase::Off:
        return tr("No plate connected");
    case Phase::StartingPlate:
        return tr("Starting the simulated plate");
    case Phase::StartingController:
        return tr("Starting the controller");
    case Phase::Connecting:
        return tr("Connecting to the controller");
    case Phase::Connected:
        return simulatedPlate() ? tr("Simulated plate") : tr("Plate connected");
    case Phase::Lost:
    case Phase::Failed:
        return phaseText_;
    }
    return {};
}

} // namespace stripwright
