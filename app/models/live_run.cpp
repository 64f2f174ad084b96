#include "models/live_run.h"

#include <nlohmann/json.hpp>

namespace stripwright {

using namespace std::chrono_literals;

namespace {

constexpr auto heartbeatEvery = 500ms;
constexpr auto silentAfter = 1500ms;
constexpr auto stopAnswerWithin = 2s;
constexpr auto startWithin = 10s;

bool heatsByPlan(const Status& status)
{
    return status.state == RunState::Running || status.state == RunState::Holding;
}

} // namespace

LiveRun::LiveRun(QObject* parent) : QObject(parent)
{
    heartbeat_.setInterval(heartbeatEvery);
    connect(&heartbeat_, &QTimer::timeout, this, &LiveRun::beat);
    connectAgain_.setInterval(100ms);
    connectAgain_.setSingleShot(true);
    connect(&connectAgain_, &QTimer::timeout, this, [this] { socket_.connectToServer(socketPath_); });
    stopAnswer_.setInterval(stopAnswerWithin);
    stopAnswer_.setSingleShot(true);
    connect(&stopAnswer_, &QTimer::timeout, this, [this] {
        if (stop_ != Stop::OffConfirmed)
            setStop(Stop::NotConfirmed);
    });
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
    connect(&socket_, &QLocalSocket::connected, this, [this] {
        startLimit_.stop();
        received_.clear();
        lastHeard_ = QDateTime::currentDateTime();
        sinceHeard_.start();
        heartbeat_.start();
        enter(Phase::Connected);
        send(Heartbeat{});
    });
    connect(&socket_, &QLocalSocket::readyRead, this, &LiveRun::readSocket);
    connect(&socket_, &QLocalSocket::disconnected, this, [this] {
        heartbeat_.stop();
        if (closing_ || phase_ == Phase::Failed)
            return;
        enter(Phase::Lost,
              tr("The controller has gone. Its guardian and the plate's own watchdog turn the heater "
                 "off; if the plate stays hot, switch it off at the mains."));
        if (!silent_) {
            silent_ = true;
            emit silenceChanged();
        }
    });
    connect(&socket_, &QLocalSocket::errorOccurred, this, [this] {
        if (phase_ == Phase::Connecting)
            connectAgain_.start();
    });
}

LiveRun::~LiveRun()
{
    closing_ = true;
    disconnect(&socket_, nullptr, this, nullptr);
    if (phase_ == Phase::Connected && heatMayBeOn()) {
        send(StopHeating{});
        QElapsedTimer waited;
        waited.start();
        while (heatMayBeOn() && !waited.hasExpired(std::chrono::milliseconds(stopAnswerWithin).count()) &&
               socket_.waitForReadyRead(100))
            readSocket();
    }
    dropProcesses();
}

bool LiveRun::open(const LiveRunSetup& setup, const BenchSheet& sheet)
{
    if (phase_ == Phase::Connected && heatMayBeOn() && runIsOn())
        return false;
    dropProcesses();
    setup_ = setup;
    status_.reset();
    startLimit_.start();
    processes_.start(setup, sheet);
    return true;
}

void LiveRun::attach(const QString& socketPath)
{
    socketPath_ = socketPath;
    enter(Phase::Connecting);
    if (!startLimit_.isActive())
        startLimit_.start();
    socket_.connectToServer(socketPath_);
}

void LiveRun::processEnded(const QString& why)
{
    if (closing_ || phase_ == Phase::Failed || phase_ == Phase::Off)
        return;
    enter(phase_ == Phase::Lost ? Phase::Lost : Phase::Failed, why);
}

void LiveRun::close()
{
    if (phase_ == Phase::Connected && runIsOn())
        return;
    dropProcesses();
    status_.reset();
    enter(Phase::Off);
}

void LiveRun::leave()
{
    closing_ = true;
    connectAgain_.stop();
    startLimit_.stop();
    heartbeat_.stop();
    socket_.flush();
    socket_.abort();
    closing_ = false;
    status_.reset();
    phase_ = Phase::Off;
}

void LiveRun::dropProcesses()
{
    closing_ = true;
    connectAgain_.stop();
    startLimit_.stop();
    heartbeat_.stop();
    if (socket_.state() == QLocalSocket::ConnectedState) {
        send(Shutdown{});
        socket_.waitForBytesWritten(200);
    }
    processes_.end();
    socket_.abort();
    closing_ = false;
    startSent_ = false;
    silent_ = false;
}

bool LiveRun::start(const HeatPlan& plan)
{
    if (phase_ != Phase::Connected || runIsOn())
        return false;
    samples_.clear();
    events_.clear();
    stopAnswer_.stop();
    setStop(Stop::None);
    startSent_ = true;
    send(StartRun{toJson(plan).dump()});
    emit runStarted();
    return true;
}

void LiveRun::confirmCard(const std::string& card)
{
    send(ConfirmCard{card});
}

void LiveRun::stopHeating()
{
    setStop(Stop::Sent);
    send(StopHeating{});
    socket_.flush();
    stopAnswer_.start();
}

void LiveRun::addNote(const QString& text)
{
    if (!text.trimmed().isEmpty())
        send(AddNote{text.trimmed().toStdString()});
}

void LiveRun::send(const Message& message)
{
    if (socket_.state() == QLocalSocket::ConnectedState)
        socket_.write(QByteArray::fromStdString(encode(message)));
}

void LiveRun::beat()
{
    send(Heartbeat{});
    const bool silent = sinceHeard_.hasExpired(silentAfter.count());
    if (silent != silent_) {
        silent_ = silent;
        emit silenceChanged();
    }
}

void LiveRun::readSocket()
{
    received_ += socket_.readAll();
    qsizetype from = 0;
    for (qsizetype end; (end = received_.indexOf('\n', from)) >= 0; from = end + 1) {
        std::string why;
        if (const auto message = decode(received_.mid(from, end - from).toStdString(), why)) {
            lastHeard_ = QDateTime::currentDateTime();
            sinceHeard_.start();
            take(*message);
        } else {
            emit refused(
                tr("The controller said something that is no message: %1").arg(QString::fromStdString(why)));
        }
    }
    received_.remove(0, from);
    if (received_.size() > qsizetype(longestMessageBytes)) {
        received_.clear();
        socket_.abort();
    }
}

void LiveRun::take(const Message& message)
{
    if (const auto* sample = std::get_if<Sample>(&message)) {
        if (!samples_.empty() && sample->seq <= samples_.back().seq)
            return;
        samples_.push_back(*sample);
        emit sampleAdded();
    } else if (const auto* event = std::get_if<Event>(&message)) {
        if (!events_.empty() && event->seq <= events_.back().seq)
            return;
        events_.push_back(*event);
        emit eventAdded();
    } else if (const auto* status = std::get_if<Status>(&message)) {
        takeStatus(*status);
    } else if (const auto* no = std::get_if<Refused>(&message)) {
        startSent_ = false;
        emit refused(QString::fromStdString(no->why));
        emit statusChanged();
    }
}

void LiveRun::takeStatus(const Status& status)
{
    const bool wasOn = runIsOn();
    status_ = status;
    if (status.state != RunState::Idle && status.state != RunState::Ended)
        startSent_ = false;
    if (stop_ == Stop::Sent || stop_ == Stop::Acknowledged || stop_ == Stop::NotConfirmed) {
        if (status.heater == HeaterState::OffConfirmed && !heatsByPlan(status)) {
            stopAnswer_.stop();
            setStop(Stop::OffConfirmed);
        } else if (stop_ == Stop::Sent &&
                   (status.state == RunState::Stopping || status.state == RunState::Cooling ||
                    status.heater == HeaterState::OffCommanded)) {
            setStop(Stop::Acknowledged);
        }
    }
    emit statusChanged();
    if (status.state == RunState::Ended && wasOn) {
        startSent_ = false;
        emit ended();
    }
}

void LiveRun::setStop(Stop stop)
{
    if (stop_ == stop)
        return;
    stop_ = stop;
    emit stopChanged();
}

void LiveRun::enter(Phase phase, const QString& text)
{
    if (phase == Phase::Failed || phase == Phase::Connected)
        startLimit_.stop();
    phase_ = phase;
    phaseText_ = text;
    emit phaseChanged();
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

std::optional<QDateTime> LiveRun::unknownSince() const
{
    if (!lastHeard_.isValid() || (!silent_ && phase_ != Phase::Lost))
        return {};
    return lastHeard_;
}

bool LiveRun::runIsOn() const
{
    if (startSent_)
        return true;
    return status_ && status_->state != RunState::Idle && status_->state != RunState::Ended;
}

bool LiveRun::heatMayBeOn() const
{
    return status_ && (status_->heater != HeaterState::OffConfirmed || heatsByPlan(*status_));
}

} // namespace stripwright
