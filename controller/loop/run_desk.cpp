#include "loop/run_desk.h"

#include "materials/problem.h"

#include <algorithm>

namespace stripwright {

using namespace std::chrono_literals;

static constexpr auto unwatchedAfter = 30s, giveUpLeavingAfter = 10s;
static constexpr auto heartbeatEvery = 500ms, statusEvery = 250ms, sampleEvery = 50ms;
static constexpr double coldStartBelowC = 50;

RunDesk::RunDesk(MessageServer& server, ControlThread& control, LogThread& log, Rings& rings,
                 DeskSettings settings)
    : server_(server), control_(control), log_(log), rings_(rings), settings_(std::move(settings)),
      lastHeartbeat_(Clock::now()), nextHeartbeat_(Clock::now()), nextStatus_(Clock::now()),
      nextSample_(Clock::now())
{
}

int RunDesk::serve(const volatile std::sig_atomic_t& stopSignal)
{
    bool stoppedInRun = false;
    for (;;) {
        for (const MessageServer::Received& received : server_.receive(20))
            carryOut(received);
        if (stopSignal && !leaving_) {
            leaving_ = true;
            stoppedInRun = control_.busy();
        }
        if (leaving_ && !giveUpLeaving_) {
            giveUpLeaving_ = Clock::now() + giveUpLeavingAfter;
            if (run_)
                run_->requestLeave();
        }
        if (run_)
            run_->setWatchedByNobody(Clock::now() - lastHeartbeat_ > unwatchedAfter);
        // Nobody is left to watch or to start anything: without this a window that crashed would leave the
        // plate locked.
        if (!run_ && !control_.busy() && Clock::now() - lastHeartbeat_ > unwatchedAfter)
            leaving_ = true;
        control_.setLogFailing(log_.failing());
        takeRecords();
        tell();
        dropEndedRun();
        if (!leaving_)
            continue;
        const bool done =
            !control_.busy() && !log_.runOpen() && latest_.state == RunState::Idle && heaterConfirmedOff();
        if (done)
            return stoppedInRun ? 6 : 0;
        if (Clock::now() > *giveUpLeaving_)
            return heaterConfirmedOff() ? 8 : 1;
    }
}

void RunDesk::dropEndedRun()
{
    if (run_ && !control_.busy())
        run_.reset();
}

void RunDesk::carryOut(const MessageServer::Received& received)
{
    lastHeartbeat_ = Clock::now(); // whoever sends anything is there
    std::string refusal;
    if (const auto* start = std::get_if<StartRun>(&received.message)) {
        refusal = whyNotStarted(*start);
    } else if (const auto* confirm = std::get_if<ConfirmCard>(&received.message)) {
        if (!run_)
            refusal = "no run is on that could have a card";
        else if (!run_->confirmCard(confirm->card))
            refusal = "the plan of this run has no card " + confirm->card;
    } else if (std::holds_alternative<StopHeating>(received.message)) {
        if (run_)
            run_->requestStop(); // with no run on, the heater is watched to be off anyway
    } else if (const auto* note = std::get_if<AddNote>(&received.message)) {
        Remark remark;
        if (!run_)
            refusal = "no run is on to which a note could be added";
        else if (note->text.size() >= remark.text.size())
            refusal = "the note has " + std::to_string(note->text.size()) + " bytes, expected fewer than " +
                      std::to_string(remark.text.size());
        else {
            std::copy(note->text.begin(), note->text.end(), remark.text.begin());
            if (!rings_.fromDesk.try_enqueue(remark))
                refusal = "too many notes at once; send it again";
        }
    } else if (std::holds_alternative<Shutdown>(received.message)) {
        refusal = whyNotShutDown();
    } else if (!std::holds_alternative<Heartbeat>(received.message)) {
        refusal = "only the controller sends this message";
    }
    if (!refusal.empty())
        server_.send(received.client, Refused{refusal});
}

static std::string joined(const std::vector<std::string>& reasons)
{
    std::string text;
    for (const std::string& reason : reasons)
        text += (text.empty() ? "" : "; ") + reason;
    return text;
}

std::string RunDesk::whyNotStarted(const StartRun& start)
{
    takeRecords();
    for (int n = 0; n < 100 && !(latest_.link == LinkState::Up && heaterConfirmedOff()); ++n) {
        std::this_thread::sleep_for(10ms); // a controller that has just begun has not asked its plate yet
        takeRecords();
    }
    if (control_.busy() || log_.runOpen() || run_)
        return "a run is on; wait until it has ended";
    if (leaving_)
        return "the controller is shutting down";
    if (latest_.link != LinkState::Up || !latest_.sensorC)
        return "the plate gives no temperature; check its power, cable and sensor";
    if (latest_.heater != HeaterState::OffConfirmed)
        return "the plate's heater could not be confirmed off; check the plate before a run";
    if (latest_.warmsUnasked)
        return "the plate gets warmer although no run is on; check its relay before a run";
    if (!(*latest_.sensorC < coldStartBelowC)) {
        char text[160];
        std::snprintf(text, sizeof text,
                      "the plate is at %.1f °C, expected below %.0f °C: a strip laid on a hot plate breaks "
                      "every ramp limit",
                      *latest_.sensorC, coldStartBelowC);
        return text;
    }
    HeatPlan plan;
    try {
        plan = readHeatPlan(start.planText, "plan");
    } catch (const BadInput& problem) {
        return problem.what();
    }
    if (const std::vector<std::string> reasons = whyNotRunnable(plan, settings_.loop.identified, control_.plate().highestC());
        !reasons.empty())
        return "the plan cannot be run: " + joined(reasons);
    try {
        runKey_ = log_.begin(start.planText, settings_.plateLinkText);
    } catch (const std::exception& error) {
        return error.what();
    }
    cardIds_.clear();
    for (const HandCard& card : plan.cards)
        cardIds_.push_back(card.id);
    ended_.reset();
    run_ = std::make_unique<ControlLoop>(control_.plate(), std::move(plan), settings_.loop);
    control_.begin(*run_);
    return "";
}

std::string RunDesk::whyNotShutDown()
{
    takeRecords();
    const bool heatMayBeOn =
        control_.busy() && latest_.state != RunState::Cooling && latest_.state != RunState::Ended;
    if (heatMayBeOn || !heaterConfirmedOff())
        return "the heater is not confirmed off; stop heating first";
    leaving_ = true;
    return "";
}

void RunDesk::takeRecords()
{
    while (rings_.toDesk.try_dequeue(latest_)) {
        for (int i = 0; i < latest_.eventCount; ++i)
            server_.sendAll(messageOf(latest_.events[static_cast<size_t>(i)]));
        if (latest_.sampleSeq > 0)
            sample_ = latest_;
        if (latest_.state == RunState::Ended) {
            ended_ = latest_;
            nextSample_ = nextStatus_ = Clock::now();
        }
    }
}

Status RunDesk::status() const
{
    const bool inRun = latest_.state != RunState::Idle;
    const std::string card = inRun && latest_.card >= 0 ? cardIds_.at(static_cast<size_t>(latest_.card)) : "";
    Status status = statusOf(latest_, card, inRun || ended_ ? runKey_ : "");
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
                         status.link != told_.link || status.card != told_.card;
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
