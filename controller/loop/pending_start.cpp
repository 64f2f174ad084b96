#include "loop/pending_start.h"

#include "loop/own_loop_reach.h"

#include "materials/problem.h"

#include <cstdio>

namespace stripwright {

using namespace std::chrono_literals;

static constexpr auto diskAnswersWithin = 5s;
static constexpr double coldStartBelowC = 50;

static constexpr const char* noGuardian =
    "the guardian process is gone: nobody would turn the heater off if the controller died; end the "
    "controller and start it again";

static std::string joined(const std::vector<std::string>& reasons)
{
    std::string text;
    for (const std::string& reason : reasons)
        text += (text.empty() ? "" : "; ") + reason;
    return text;
}

static std::string whyPlateNotReady(const CycleRecord& latest)
{
    if (latest.tripLatched)
        return std::string("a trip stands: ") + latest.tripText.data() +
               "; look at its cause, acknowledge it and reset it";
    if (latest.link != LinkState::Up || !latest.sensorC)
        return "the plate gives no temperature; check its power, cable and sensor";
    if (latest.heater != HeaterState::OffConfirmed)
        return "the plate's heater could not be confirmed off; check the plate before a run";
    if (latest.warmsUnasked)
        return "the plate gets warmer although no run is on; check its relay before a run";
    if (!(*latest.sensorC < coldStartBelowC)) {
        char text[160];
        std::snprintf(text, sizeof text,
                      "the plate is at %.1f °C, expected below %.0f °C: a strip laid on a hot plate breaks "
                      "every ramp limit",
                      *latest.sensorC, coldStartBelowC);
        return text;
    }
    return "";
}

// Whatever may have come up while the log was waited for. What only a lost reading hides the run waits for.
static std::string whyNotHandedOver(const CycleRecord& latest, const ControlThread& control)
{
    if (control.guardianGone())
        return noGuardian;
    return latest.tripLatched || latest.warmsUnasked ? whyPlateNotReady(latest) : "";
}

// One that has just been opened has not been asked yet, and a slow line takes its time.
static std::chrono::steady_clock::duration plateAnswersWithin(const LoopSettings& loop)
{
    const std::chrono::duration<double> within(1 + 3 * loop.periodS / loop.plantSPerWallS);
    return std::chrono::duration_cast<std::chrono::steady_clock::duration>(within);
}

template <class Value> static bool isReady(const std::future<Value>& value)
{
    return value.wait_for(0s) == std::future_status::ready;
}

PendingStart::PendingStart(int client, std::string planText, std::string plateLinkText,
                           const LoopSettings& loop, ControlThread& control, LogThread& log)
    : control_(control), log_(log), client_(client), planText_(std::move(planText)),
      plateLinkText_(std::move(plateLinkText)), loop_(loop), askedInCycle_(control.cyclesBegun()),
      deadline_(Clock::now() + plateAnswersWithin(loop)),
      reading_(std::async(std::launch::async, [this] { return readPlan(); }))
{
}

PendingStart::ReadPlan PendingStart::readPlan() const
{
    try {
        HeatPlan plan = readHeatPlan(planText_, "plan");
        std::vector<std::string> reasons =
            whyNotRunnable(plan, loop_.identified, control_.plate().highestC());
        for (std::string& reason : whyOwnLoopCannot(plan, loop_))
            reasons.push_back(std::move(reason));
        return {std::move(plan), reasons.empty() ? "" : "the plan cannot be run: " + joined(reasons)};
    } catch (const std::exception& problem) {
        return {{}, problem.what()};
    }
}

PendingStart::Step PendingStart::refuse(std::string why)
{
    if (!cancelled_)
        refusal_ = std::move(why);
    return Step::Over;
}

void PendingStart::cancel(const char* why)
{
    if (!std::exchange(cancelled_, true))
        refusal_ = why;
}

std::string PendingStart::takeRefusal()
{
    return std::exchange(refusal_, {});
}

PendingStart::Step PendingStart::look(const CycleRecord& latest)
{
    if (reading_.valid()) {
        if (!isReady(reading_))
            return Step::Waiting;
        ReadPlan read = reading_.get();
        if (!read.refusal.empty())
            return refuse(read.refusal);
        plan_ = std::move(read.plan);
        for (const HandCard& card : plan_.cards)
            cardIds_.push_back(card.id);
    }
    if (onDisk_.valid())
        return lookAtLog(latest);
    return cancelled_ ? refuse("") : lookAtPlate(latest);
}

PendingStart::Step PendingStart::lookAtPlate(const CycleRecord& latest)
{
    if (control_.guardianGone())
        return refuse(noGuardian);
    const bool fresh = latest.cycle > askedInCycle_; // what was asked before the start has been done
    const std::string why = whyPlateNotReady(latest);
    if (!fresh || !why.empty()) {
        const bool mayChange =
            !fresh || latest.link != LinkState::Up || latest.heater != HeaterState::OffConfirmed;
        if (mayChange && Clock::now() < deadline_)
            return Step::Waiting;
        return refuse(why.empty() ? "the control cycle stands still: the plate does not answer" : why);
    }
    deadline_ = Clock::now() + diskAnswersWithin;
    onDisk_ = std::async(std::launch::async, [this] {
        auto run = std::make_unique<ControlLoop>(control_.plate(), std::move(plan_), loop_);
        return Ready{log_.begin(planText_, plateLinkText_), std::move(run)};
    });
    return Step::Waiting;
}

PendingStart::Step PendingStart::lookAtLog(const CycleRecord& latest)
{
    if (!isReady(onDisk_)) {
        if (Clock::now() > deadline_)
            cancel("the run log does not answer: its disk hangs or is overloaded; the run is not started");
        return Step::Waiting;
    }
    try {
        Ready ready = onDisk_.get();
        runKey_ = ready.runKey;
        if (const std::string why = whyNotHandedOver(latest, control_); !why.empty())
            cancel(why.c_str());
        if (cancelled_)
            ready.run->requestStop();
        control_.begin(std::move(ready.run));
        return Step::Begun;
    } catch (const std::exception& error) {
        return refuse(error.what());
    }
}

} // namespace stripwright
