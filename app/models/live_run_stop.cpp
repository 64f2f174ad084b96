#include "models/live_run.h"

#include <QRandomGenerator>

#include <csignal>

namespace stripwright {

void LiveRun::stopHeating()
{
    constexpr long highestId = std::numeric_limits<int>::max(), highestFirst = 1 << 30;
    const bool again = stopPending();
    lastStop_ = lastStop_ == 0          ? QRandomGenerator::global()->bounded(1, int(highestFirst))
                : lastStop_ < highestId ? lastStop_ + 1
                                        : 1;
    if (!again || lastStop_ < firstStop_)
        firstStop_ = lastStop_;
    const QStringList before = std::exchange(means_, {});
    noneToStop_ = false;
    if (!again) {
        heardOnTalk_ = heardOnStops_ = askedToEnd_ = offSeen_ = false;
        for (OtherStop& other : otherStops_)
            other.heard = other.off = false;
    }
    if (!sendStop()) {
        stopOthers();
        askToEnd(false);
    }
    if (startSent_) { // Behind the start as well, which may not have left yet.
        send(StopHeating{lastStop_});
        socket_.flush();
    }
    if (again) {
        if (means_.isEmpty())
            means_ = before;
        emit stopChanged();
        return;
    }
    if (means_.isEmpty() && !heatMayBeOn()) {
        noneToStop_ = true;
        setStop(Stop::None);
        emit stopChanged();
        return;
    }
    stopAnswer_.start();
    stopRepeat_.start();
    setStop(Stop::Sent);
}

bool LiveRun::sendStop()
{
    for (int attempt = 0; attempt < 2; ++attempt) // A connection may turn out to be gone.
        if (stopLine_.reach(socketPath_) && stopLine_.send(lastStop_)) {
            use(tr("sent to the controller"));
            return true;
        }
    if (socket_.state() != QLocalSocket::ConnectedState)
        return false;
    send(StopHeating{lastStop_});
    socket_.flush();
    if (socket_.bytesToWrite() > 0)
        return false; // Behind what the controller does not read.
    use(tr("sent to the controller among other messages"));
    return true;
}

std::vector<RunningController> LiveRun::concerned() const
{
    std::vector<RunningController> controllers;
    try {
        controllers = runningControllers();
    } catch (const std::exception&) { // No folder of theirs: none can be found.
    }
    std::erase_if(controllers, [&](const RunningController& one) {
        std::error_code error;
        const bool samePlate =
            !setup_.plateLink.empty() && std::filesystem::equivalent(one.plateLink, setup_.plateLink, error);
        return everOpened_ && !samePlate && one.socket != socketPath_.toStdString();
    });
    return controllers;
}

// A controller that takes the stop answers it; one that was asked to end might be gone before it could.
void LiveRun::stopOthers()
{
    for (const RunningController& controller : concerned()) {
        const QString path = QString::fromStdString(controller.socket);
        if (path == socketPath_)
            continue;
        const auto known = std::ranges::find(otherStops_, path, &OtherStop::socketPath);
        StopLine* line = known != otherStops_.end() ? known->line.get() : nullptr;
        if (!line) {
            otherStops_.push_back({std::make_unique<StopLine>(), path});
            line = otherStops_.back().line.get();
            connect(line, &StopLine::heard, this,
                    [this, path](const Status& status) { hearOther(path, status); });
        }
        if (line->reach(path) && line->send(lastStop_))
            use(tr("sent to the controller found running, process %1").arg(controller.pid));
        else if (kill(controller.pid, SIGTERM) == 0)
            use(tr("process %1 was asked to end").arg(controller.pid));
    }
}

void LiveRun::askToEnd(bool others)
{
    askedToEnd_ = askedToEnd_ || others;
    if (processes_.askControllerToEnd()) {
        askedToEnd_ = true;
        use(tr("the controller was asked to end"));
    }
    for (const RunningController& controller : concerned())
        if ((others || controller.socket == socketPath_.toStdString()) && kill(controller.pid, SIGTERM) == 0)
            use(tr("process %1 was asked to end").arg(controller.pid));
}

void LiveRun::repeatStop()
{
    if (!stopPending() || stopHeard()) {
        stopRepeat_.stop();
        return;
    }
    const bool sent = sendStop();
    for (OtherStop& other : otherStops_)
        if (!other.off && other.line->reach(other.socketPath))
            other.line->send(lastStop_);
    if (!askedToEnd_ && (phase_ != Phase::Connected || !sent)) {
        stopOthers();
        askToEnd(true);
    }
}

void LiveRun::stopUnanswered()
{
    if (!stopPending())
        return;
    if (!stopHeard()) {
        stopOthers();
        askToEnd(true);
    }
    setStop(Stop::NotConfirmed);
}

bool LiveRun::namesStop(const Status& status) const
{
    return status.stopTaken > 0 && status.stopTaken >= firstStop_ && status.stopTaken <= lastStop_;
}

// Once it has come, later ones tell of the time after the stop, whose stop they name: another client's may
// stand there from then on.
void LiveRun::hearAnswer(const Status& status, bool& heardHere)
{
    if (!stopPending() || !(heardHere || namesStop(status)))
        return;
    const bool heardBefore = stopHeard();
    heardHere = true;
    if (readBackOff(status)) {
        offConfirmed_ = true;
        settleStop();
    } else if (stop_ == Stop::Sent) {
        setStop(Stop::Acknowledged);
    } else if (!heardBefore) {
        emit stopChanged();
    }
}

void LiveRun::hearOther(const QString& socketPath, const Status& status)
{
    const auto other = std::ranges::find(otherStops_, socketPath, &OtherStop::socketPath);
    if (!stopPending() || other == otherStops_.end() || !(other->heard || namesStop(status)))
        return;
    other->heard = true;
    other->off = readBackOff(status);
    const bool allOff = std::ranges::all_of(otherStops_, &OtherStop::off);
    if (allOff && phase_ != Phase::Connected) {
        offConfirmed_ = true;
        settleStop();
    } else if (stop_ == Stop::Sent) {
        setStop(Stop::Acknowledged);
    }
}

void LiveRun::settleStop()
{
    stopAnswer_.stop();
    stopRepeat_.stop();
    setStop(Stop::OffConfirmed);
    // One of them may be speaking.
    QMetaObject::invokeMethod(
        this,
        [this] {
            if (!stopPending())
                otherStops_.clear();
        },
        Qt::QueuedConnection);
}

// "Off" and "none runs" are said of the moment they were read in.
void LiveRun::forgetOldWords()
{
    offSeen_ = false;
    if (stop_ == Stop::OffConfirmed)
        setStop(Stop::None);
    if (std::exchange(noneToStop_, false))
        emit stopChanged();
}

void LiveRun::use(const QString& means)
{
    if (!means_.contains(means))
        means_ += means;
}

void LiveRun::setStop(Stop stop)
{
    if (stop_ == stop)
        return;
    stop_ = stop;
    emit stopChanged();
}

QString LiveRun::stopWords() const
{
    const QString done = means_.join("; ");
    switch (stop_) {
    case Stop::None:
        return noneToStop_ ? tr("No controller runs that could heat") : QString();
    case Stop::Sent:
        return done.isEmpty() ? tr("Stop: no controller could be told yet") : tr("Stop %1").arg(done);
    case Stop::Acknowledged:
        return tr("Stop acknowledged, heater not yet read back off");
    case Stop::OffConfirmed:
        return tr("Heater off, read back");
    case Stop::NotConfirmed:
        return tr("Not confirmed: switch the plate off at the mains") +
               (stopHeard()      ? tr(". The controller has the stop and cannot read the heater back off")
                : done.isEmpty() ? tr(". No controller could be told")
                                 : tr(". The stop was %1").arg(done));
    }
    return {};
}

} // namespace stripwright
