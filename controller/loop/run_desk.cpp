#include "loop/run_desk.h"

#include "loop/solder_marks.h"

#include <algorithm>
#include <cstdio>

namespace stripwright {

using namespace std::chrono_literals;

static constexpr auto unwatchedAfter = 30s;
static constexpr auto heartbeatEvery = 500ms, statusEvery = 250ms, sampleEvery = 50ms;
static constexpr int turnMs = 20, turnForAnswerMs = 2;

RunDesk::RunDesk(MessageServer& server, ControlThread& control, LogThread& log, Rings& rings,
                 DeskSettings settings)
    : server_(server), control_(control), log_(log), rings_(rings), settings_(std::move(settings)),
      lastHeartbeat_(Clock::now()), nextHeartbeat_(Clock::now()), nextStatus_(Clock::now()),
      nextSample_(Clock::now())
{
}

int RunDesk::serve(const std::atomic<int>& stopSignal)
{
    for (;;) {
        ++rings_.deskBeat;
        for (const MessageServer::Received& received :
             server_.receive(stops_.empty() ? turnMs : turnForAnswerMs))
            carryOut(received);
        if (stopSignal && !leaving_)
            leave(true);
        const bool unwatched = Clock::now() - lastHeartbeat_ > unwatchedAfter;
        if (ControlLoop* run = control_.run())
            run->setWatchedByNobody(unwatched);
        // Nobody is left to watch or to start anything: without this a window that crashed would leave the
        // plate locked.
        if (unwatched && !start_ && !control_.busy() && !leaving_)
            leave(false);
        control_.setLogFailing(log_.failing());
        takeRecords();
        lookAtStart();
        tell();
        if (!leaving_)
            continue;
        const bool done = !start_ && !control_.busy() && !log_.runOpen() && latest_.state == RunState::Idle &&
                          log_.missing() == 0;
        if (done && heaterConfirmedOff())
            return stoppedInRun_ ? 6 : 0;
        if (done && goneWhileOff()) {
            std::fputs("the plate is off or unreachable; its heater was read back off before\n", stderr);
            return 5;
        }
        if (Clock::now() > *giveUpLeaving_) {
            if (const std::string trouble = log_.trouble(); !trouble.empty())
                std::fprintf(stderr, "%s\n", trouble.c_str());
            return heaterConfirmedOff() ? 8 : 1;
        }
    }
}

bool RunDesk::goneWhileOff() const
{
    return latest_.state == RunState::Idle && latest_.link == LinkState::Lost && latest_.wasReadBackOff &&
           !latest_.tripLatched && !latest_.causeSeen;
}

void RunDesk::leave(bool signalled)
{
    leaving_ = true;
    giveUpLeaving_ = Clock::now() + std::chrono::duration_cast<Clock::duration>(
                                        std::chrono::duration<double>(settings_.giveUpLeavingS));
    stoppedInRun_ = signalled && control_.busy();
    if (start_)
        start_->cancel("the run was not started: the controller is shutting down");
    if (ControlLoop* run = control_.run())
        run->requestLeave();
    if (signalled)
        control_.requestStop();
}

void RunDesk::carryOut(const MessageServer::Received& received)
{
    lastHeartbeat_ = Clock::now(); // whoever sends anything is there
    if (const std::string why = whyNotCarriedOut(received); !why.empty())
        server_.send(received.client, Refused{why, wireName(received.message)});
}

std::string RunDesk::whyNotCarriedOut(const MessageServer::Received& received)
{
    if (const auto* stop = std::get_if<StopHeating>(&received.message)) {
        stopHeating(received.client, stop->id);
        return "";
    }
    if (std::holds_alternative<Heartbeat>(received.message))
        return "";
    if (std::holds_alternative<StartRun>(received.message))
        return whyNotStarted(received);
    if (const auto* confirm = std::get_if<ConfirmCard>(&received.message)) {
        ControlLoop* run = control_.run();
        if (!run)
            return "no run is on that could have a card";
        return run->confirmCard(confirm->card) ? "" : "the plan of this run has no card " + confirm->card;
    }
    if (std::holds_alternative<AcknowledgeTrip>(received.message))
        return whyNotAcknowledged();
    if (std::holds_alternative<ResetTrip>(received.message))
        return whyNotReset();
    if (const auto* note = std::get_if<AddNote>(&received.message))
        return whyNotNoted(note->text);
    if (const auto* mark = std::get_if<SolderMark>(&received.message))
        return whyNotTaken(*mark);
    if (std::holds_alternative<Shutdown>(received.message))
        return whyNotShutDown();
    return "only the controller sends this message";
}

void RunDesk::stopHeating(int client, long id)
{
    constexpr int mostUnanswered = 32; // of one client; of whoever floods the newest
    const auto ofClient = [&](const AskedStop& stop) { return stop.client == client; };
    if (std::ranges::count_if(stops_, ofClient) >= mostUnanswered)
        stops_.erase(std::ranges::find_if(stops_, ofClient));
    stops_.push_back({control_.requestStop(), client, id});
    if (start_)
        start_->cancel("the run was not started: heating was stopped");
}

std::string RunDesk::whyNotStarted(const MessageServer::Received& received)
{
    if (received.stoppedSince)
        return "the run was not started: heating was stopped";
    if (start_)
        return "a run is about to start; wait until it has begun or was refused";
    if (control_.busy())
        return "a run is on; wait until it has ended";
    if (log_.runOpen()) {
        const std::string trouble = log_.trouble();
        return "the last run is not whole on disk yet" + (trouble.empty() ? "" : ": " + trouble);
    }
    if (leaving_)
        return "the controller is shutting down";
    try {
        start_ =
            std::make_unique<PendingStart>(received.client, std::get<StartRun>(received.message).planText,
                                           settings_.plateLinkText, settings_.loop, control_, log_);
    } catch (const std::exception& error) {
        return std::string("the run was not started: ") + error.what();
    }
    return "";
}

void RunDesk::lookAtStart()
{
    if (!start_)
        return;
    const PendingStart::Step step = start_->look(latest_);
    if (const std::string why = start_->takeRefusal(); !why.empty())
        server_.send(start_->client(), Refused{why, wireName(StartRun{})});
    if (step == PendingStart::Step::Waiting)
        return;
    if (step == PendingStart::Step::Begun) {
        runKey_ = start_->runKey();
        cardIds_ = start_->cardIds();
        ended_.reset();
    }
    start_.reset();
}

std::string RunDesk::whyNotAcknowledged()
{
    takeRecords();
    if (!latest_.tripLatched)
        return "no trip stands that could be acknowledged";
    acknowledgedInCycle_ = control_.cyclesBegun();
    control_.acknowledgeTrip();
    return "";
}

std::string RunDesk::whyNotReset()
{
    takeRecords();
    if (!latest_.tripLatched)
        return "no trip stands that could be reset";
    const bool acknowledged = latest_.tripAcknowledged || acknowledgedInCycle_ >= latest_.cycle;
    if (!acknowledged)
        return "the trip was not acknowledged; look at its cause and acknowledge it first";
    if (latest_.causeSeen)
        return std::string("the cause of the trip is still there: ") + latest_.causeText.data();
    control_.resetTrip();
    return "";
}

std::string RunDesk::whyNotNoted(const std::string& text)
{
    Remark remark;
    if (!control_.busy())
        return "no run is on to which a note could be added";
    if (text.size() >= remark.text.size())
        return "the note has " + std::to_string(text.size()) + " bytes, expected fewer than " +
               std::to_string(remark.text.size());
    std::copy(text.begin(), text.end(), remark.text.begin());
    return rings_.fromDesk.try_enqueue(remark) ? "" : "too many notes at once; send it again";
}

std::string RunDesk::whyNotTaken(const SolderMark& mark)
{
    takeRecords();
    ControlLoop* run = control_.run();
    if (!run || latest_.state == RunState::Idle)
        return "no run is on whose solder could be marked";
    if (const std::string why = whyNotMarked(run->plan(), latest_, mark); !why.empty())
        return why;
    return run->markSolder(mark) ? "" : "too many marks at once; say it again";
}

std::string RunDesk::whyNotShutDown()
{
    takeRecords();
    const bool heatMayBeOn =
        control_.busy() && latest_.state != RunState::Cooling && latest_.state != RunState::Ended;
    if (heatMayBeOn || start_ || (!heaterConfirmedOff() && !goneWhileOff()))
        return "the heater is not confirmed off; stop heating first";
    if (!leaving_)
        leave(false);
    return "";
}

void RunDesk::takeRecords()
{
    while (rings_.toDesk.try_dequeue(latest_)) {
        for (int i = 0; i < latest_.eventCount; ++i) {
            Event event = messageOf(latest_.events[static_cast<size_t>(i)]);
            if (latest_.state == RunState::Idle)
                log_.note(event);
            tellEvent(event);
        }
        if (latest_.sampleSeq > 0)
            sample_ = latest_;
        if (latest_.state == RunState::Ended) {
            ended_ = latest_;
            nextSample_ = nextStatus_ = Clock::now();
        }
    }
    while (const std::optional<Event> notice = log_.takeNotice())
        tellEvent(*notice);
    answerStops();
}

void RunDesk::tellEvent(Event event)
{
    event.seq = ++eventSeq_;
    server_.sendAll(event);
}

void RunDesk::answerStops()
{
    // Each by its own status, however many one cycle has taken.
    while (!stops_.empty() && stops_.front().number <= latest_.stopTaken) {
        if (stops_.front().id > 0) {
            stopTaken_ = stops_.front().id;
            server_.sendAll(status());
        }
        stops_.erase(stops_.begin());
    }
}

Status RunDesk::status() const
{
    const bool inRun = latest_.state != RunState::Idle;
    const std::string card = inRun && latest_.card >= 0 ? cardIds_.at(static_cast<size_t>(latest_.card)) : "";
    Status status = statusOf(latest_, card, inRun || ended_ ? runKey_ : "");
    status.stopTaken = stopTaken_;
    if (!inRun && ended_) {
        // Between runs the last one stays in view, with the plate as it is now.
        status.state = RunState::Ended;
        status.timeS = ended_->timeS;
        status.profileS = ended_->profileS;
        status.endS = ended_->endS;
        status.outcome = ended_->outcome;
        status.outcomeText = ended_->outcomeText.data();
    }
    return status;
}

static bool sameTrip(const std::optional<Trip>& a, const std::optional<Trip>& b)
{
    return a.has_value() == b.has_value() &&
           (!a || (a->text == b->text && a->acknowledged == b->acknowledged && a->causeSeen == b->causeSeen));
}

void RunDesk::tell()
{
    const auto now = Clock::now();
    if (sample_ && now >= nextSample_) {
        server_.sendAll(sampleOf(*sample_, settings_.channelNames));
        sample_.reset();
        nextSample_ = now + sampleEvery;
    }
    const Status status = this->status();
    for (int client : server_.newClients())
        server_.send(client, status);
    const bool changed = status.state != told_.state || status.heater != told_.heater ||
                         status.link != told_.link || status.card != told_.card ||
                         status.strip != told_.strip || !sameTrip(status.trip, told_.trip);
    if (changed || now >= nextStatus_) {
        server_.sendAll(status);
        told_ = status;
        nextStatus_ = now + statusEvery;
    }
    if (now >= nextHeartbeat_) {
        server_.sendAll(Heartbeat{});
        nextHeartbeat_ = now + heartbeatEvery;
    }
}

} // namespace stripwright
