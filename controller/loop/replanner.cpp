#include "loop/replanner.h"

#include <chrono>

namespace stripwright {

static double nowS()
{
    return std::chrono::duration<double>(std::chrono::steady_clock::now().time_since_epoch()).count();
}

Replanner::Replanner(const HeatPlan& plan, bool inCycle) : plan_(plan), inCycle_(inCycle)
{
    if (!inCycle_)
        thread_ = std::thread([this] { work(); });
}

Replanner::~Replanner()
{
    quit_ = true;
    if (thread_.joinable())
        thread_.join();
}

void Replanner::note(double timeS, double plateC)
{
    const Note note{.timeS = timeS, .plateC = plateC};
    if (inCycle_)
        takeIn(note);
    else
        notes_.try_enqueue(note);
}

bool Replanner::ask(double profileS, const PlateLearnt& plate,
                    const std::optional<RunSoFar::Contact>& contact)
{
    if (busy_.exchange(true))
        return false;
    const Note note{
        .question = true, .profileS = profileS, .askedS = nowS(), .plate = plate, .contact = contact};
    if (inCycle_)
        takeIn(note);
    else if (!notes_.try_enqueue(note))
        busy_ = false;
    return true;
}

void Replanner::work()
{
    Note note;
    while (!quit_)
        if (notes_.wait_dequeue_timed(note, 100000))
            takeIn(note);
}

void Replanner::takeIn(const Note& note)
{
    if (!note.question) {
        run_.timeS.push_back(note.timeS);
        run_.plateC.push_back(note.plateC);
        return;
    }
    if (!run_.timeS.empty()) {
        run_.profileS = note.profileS;
        run_.capacityFactor = note.plate.capacityFactor();
        run_.lossFactor = note.plate.lossFactor();
        run_.contact = note.contact;
        const RemainingPath* inUse = nullptr;
        for (const Answer& answer : answers_)
            if (answer.path.better)
                inUse = &answer.path;
        Answer answer{
            remainingPath(plan_, run_, inUse, [&] { return !inCycle_ && nowS() - note.askedS > longestS; }),
            0};
        answer.tookS = nowS() - note.askedS;
        answers_.push_back(std::move(answer));
        ready_ = &answers_.back();
    }
    busy_ = false;
}

} // namespace stripwright
