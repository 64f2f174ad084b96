#include "models/live_run.h"

#include <algorithm>

namespace stripwright {

using namespace std::chrono_literals;

static constexpr auto silentAfter = 1500ms;
// A click is handled in between.
static constexpr auto longestTurn = 10ms;
static constexpr qsizetype laggingBytes = 128 << 10, heldBytes = 4 << 20;
// The log is written five times a second, a little behind.
static constexpr auto logHasItAfter = 500ms;

static bool heatsByPlan(const Status& status)
{
    return status.state == RunState::Running || status.state == RunState::Holding;
}

bool readBackOff(const Status& status)
{
    return status.heater == HeaterState::OffConfirmed && !heatsByPlan(status);
}

static bool sameTrip(const std::optional<Trip>& a, const std::optional<Trip>& b)
{
    return a.has_value() == b.has_value() &&
           (!a || (a->text == b->text && a->acknowledged == b->acknowledged && a->causeSeen == b->causeSeen));
}

void LiveRun::confirmCard(const std::string& card)
{
    send(ConfirmCard{card});
}

void LiveRun::markSolder(int site, bool liquid)
{
    send(SolderMark{site, liquid});
    socket_.flush(); // it tells of this moment
}

void LiveRun::addNote(const QString& text)
{
    if (!text.trimmed().isEmpty())
        send(AddNote{text.trimmed().toStdString()});
}

void LiveRun::acknowledgeTrip()
{
    send(AcknowledgeTrip{});
}

void LiveRun::resetTrip()
{
    send(ResetTrip{});
}

void LiveRun::send(const Message& message)
{
    if (socket_.state() == QLocalSocket::ConnectedState)
        socket_.write(QByteArray::fromStdString(encode(message)));
}

void LiveRun::beat()
{
    if (socket_.bytesToWrite() == 0) // What waits to be sent tells as much.
        send(Heartbeat{});
    tellUnknown();
}

void LiveRun::readSocket()
{
    // A flood is left with its sender once enough waits here.
    if (received_.bytes() < heldBytes || !received_.wholeLine())
        received_.add(socket_.readAll());
    QElapsedTimer turn;
    turn.start();
    while (const std::optional<QByteArray> line = received_.next()) {
        std::string why;
        // No text can hold these bytes: its quotes are escaped.
        const bool old = received_.bytes() > laggingBytes && line->contains("\"message\":\"sample\"");
        if (old) {
            samplesSkipped_ = true;
        } else {
            if (const auto message = decode(line->toStdString(), why))
                take(*message);
            else
                emit refused(tr("The controller said something that is no message: %1")
                                 .arg(QString::fromStdString(why)));
        }
        if (turn.hasExpired(std::chrono::milliseconds(longestTurn).count()))
            break;
    }
    if (received_.bytes() > qsizetype(longestMessageBytes) && !received_.wholeLine()) {
        received_.clear();
        socket_.abort();
    } else if (received_.wholeLine() || socket_.bytesAvailable() > 0) {
        readOn_.start();
    } else if (std::exchange(samplesSkipped_, false)) {
        QTimer::singleShot(logHasItAfter, this, &LiveRun::readRun);
    }
    tellUnknown();
}

void LiveRun::take(const Message& message)
{
    if (const auto* sample = std::get_if<Sample>(&message)) {
        if (!samples_.empty() && sample->seq <= samples_.back().seq)
            return;
        samples_.push_back(*sample);
        emit sampleAdded();
    } else if (const auto* event = std::get_if<Event>(&message)) {
        takeEvent(*event);
    } else if (const auto* status = std::get_if<Status>(&message)) {
        takeStatus(*status);
    } else if (const auto* no = std::get_if<Refused>(&message)) {
        if (no->of.empty() || no->of == wireName(StartRun{}))
            startSent_ = false;
        emit refused(QString::fromStdString(no->why));
        emit statusChanged();
    }
}

// The controller counts all its events, the log those of the run.
static bool sameEvent(const Event& a, const Event& b)
{
    return a.timeS == b.timeS && a.kind == b.kind && a.text == b.text;
}

void LiveRun::takeEvent(const Event& event)
{
    const auto same = [&](const Event& other) {
        return sameEvent(event, other) && (event.timeS > 0 || event.seq == other.seq);
    };
    if (std::any_of(allEvents_.rbegin(), allEvents_.rend(), same))
        return; // The log of a followed run had it already.
    allEvents_.push_back(event);
    events_.push_back(event);
    emit eventAdded();
}

void LiveRun::takeStatus(const Status& status)
{
    const bool wasOn = runIsOn(), first = std::exchange(awaitsStatus_, false);
    const bool newRun = !status.runKey.empty() && status.runKey != runKey_;
    if (first)
        startSent_ =
            false; // A start that went to the connection before this one was taken, or never will be.
    const bool ours = startSent_;
    if (newRun || (status.state != RunState::Idle && status.state != RunState::Ended))
        startSent_ = false;
    if (newRun) {
        runKey_ = status.runKey;
        if (!ours) {
            samples_.clear();
            events_.clear();
            runPlan_.reset();
        }
    }
    if ((newRun && !ours) || (first && !status.runKey.empty()))
        QTimer::singleShot(logHasItAfter, this, &LiveRun::readRun);

    const bool otherTrip = !sameTrip(status.trip, status_ ? status_->trip : std::nullopt);
    if (status.link == LinkState::Up || !lastLive_.isValid()) {
        lastLive_ = QDateTime::currentDateTime();
        sinceLive_.start();
    }
    status_ = status;
    offConfirmed_ = readBackOff(status);
    // The stops' own connection may be ahead of this one: what comes here before the answer is older.
    if (offConfirmed_ && namesStop(status))
        offSeen_ = true;
    if (noneToStop_ || (!offConfirmed_ && offSeen_))
        forgetOldWords();
    tellUnknown();
    hearAnswer(status, heardOnTalk_);
    emit statusChanged();
    if (otherTrip)
        emit tripChanged();
    if (wasOn && !runIsOn())
        emit ended();
}

void LiveRun::readRun()
{
    if (runKey_.empty() || setup_.runsFile.empty())
        return;
    if (!runs_ || runs_->file() != setup_.runsFile) {
        runs_ = std::make_unique<RecordedRuns>(setup_.runsFile);
        connect(runs_.get(), &RecordedRuns::opened, this,
                [this](const std::shared_ptr<const ReadRun>& read) { mergeRun(*read); });
        connect(runs_.get(), &RecordedRuns::failed, this, &LiveRun::runRead);
    }
    runs_->read(runKey_);
}

static void merge(std::vector<Sample>& into, const std::vector<Sample>& more)
{
    into.insert(into.end(), more.begin(), more.end());
    std::ranges::stable_sort(into, {}, &Sample::seq);
    const auto sameSeq = [](const Sample& a, const Sample& b) { return a.seq == b.seq; };
    into.erase(std::unique(into.begin(), into.end(), sameSeq), into.end());
}

static void merge(std::vector<Event>& into, const std::vector<Event>& more)
{
    std::vector<Event> all = more;
    for (const Event& event : into)
        if (std::ranges::none_of(more, [&](const Event& other) { return sameEvent(event, other); }))
            all.push_back(event);
    std::ranges::stable_sort(all, {}, &Event::timeS);
    into = std::move(all);
}

void LiveRun::mergeRun(const ReadRun& read)
{
    if (read.run.summary.key != runKey_)
        return;
    merge(samples_, read.run.samples);
    merge(events_, read.run.events);
    merge(allEvents_, read.run.events);
    if (read.plan)
        runPlan_ = read.plan;
    emit runRead(read.planProblem);
}

std::optional<QDateTime> LiveRun::unknownSince() const
{
    if (!status_)
        return {};
    const bool live = phase_ == Phase::Connected && !awaitsStatus_ && status_->link == LinkState::Up &&
                      !sinceLive_.hasExpired(silentAfter.count()) && received_.bytes() < laggingBytes;
    return live ? std::nullopt : std::optional(lastLive_);
}

void LiveRun::tellUnknown()
{
    if (unknownSince().has_value() == toldUnknown_)
        return;
    toldUnknown_ = !toldUnknown_;
    emit silenceChanged();
}

bool LiveRun::brokenOff() const
{
    if (!status_ || (status_->state != RunState::Stopping && status_->state != RunState::Cooling))
        return false;
    return status_->state == RunState::Stopping || (runPlan_ && status_->profileS < runPlan_->heaterOffS - 1);
}

static constexpr double roundingS = 0.5;

double LiveRun::placeS() const
{
    if (!status_)
        return 0;
    const double overFromS = status_->endS - roundingS;
    if (overFromS <= 0 || status_->profileS < overFromS)
        return status_->profileS;
    const auto over = std::ranges::lower_bound(samples_, overFromS, {}, &Sample::profileS);
    return over == samples_.end()
               ? status_->profileS
               : std::max(status_->profileS, over->profileS + status_->timeS - over->timeS);
}

std::optional<double> LiveRun::toGoS() const
{
    if (!live() || !runIsOn() || brokenOff())
        return {};
    double endS = status_->endS;
    if (runPlan_ && endS > 0 && !runPlan_->stages.empty())
        endS = std::max(endS, runPlan_->stages.back().endS);
    const double leftS = endS - placeS();
    return leftS > roundingS ? std::optional(leftS) : std::nullopt;
}

QString LiveRun::waitsFor() const
{
    if (!live() || (status_->state != RunState::Stopping && status_->state != RunState::Cooling))
        return {};
    if (status_->state == RunState::Stopping)
        return tr("until the heater is read back off");
    if (!brokenOff() && status_->profileS < status_->endS - roundingS)
        return {};
    const double safeC = runPlan_ && runPlan_->safeBelowC > 0 ? runPlan_->safeBelowC : HeatPlan().safeBelowC;
    const QString belowC = QString::number(safeC, 'f', 0);
    if (!status_->sensorC)
        return tr("until the plate can be read");
    if (*status_->sensorC >= safeC)
        return tr("until the plate is below %1 °C").arg(belowC);
    if (!samples_.empty() && samples_.back().jointHighC && *samples_.back().jointHighC >= safeC)
        return tr("until the strip is below %1 °C, too").arg(belowC);
    return tr("until no more heat comes");
}

bool LiveRun::runIsOn() const
{
    if (startSent_)
        return true;
    return status_ && status_->state != RunState::Idle && status_->state != RunState::Ended;
}

} // namespace stripwright
