#pragma once

#include "loop/plate_learnt.h"

#include <atomic>
#include <deque>
#include <readerwriterqueue/readerwriterqueue.h>
#include <thread>

namespace stripwright {

/// Looks for a better way through the rest of a heat while the run goes on, in a thread of its own: the
/// control cycle leaves notes and takes answers, and never waits or allocates.
class Replanner {
public:
    static constexpr double longestS = 0.08; ///< A search stops after this and gives the best it has.

    /// The plan must outlive this. `inCycle`: no thread, asked() answers at once; for runs in virtual time.
    Replanner(const HeatPlan& plan, bool inCycle);
    ~Replanner();

    /// Where the plate is, about once a second of the run.
    void note(double timeS, double plateC);
    /// Asks for a look at the rest. False while one is on.
    bool ask(double profileS, const PlateLearnt& plate, const std::optional<RunSoFar::Contact>& contact);

    bool busy() const { return busy_; }

    struct Answer {
        RemainingPath path;
        double tookS = 0; ///< From question to answer.
    };
    /// The answer to the last question, once; it stays valid as long as this lives.
    const Answer* take() { return ready_.exchange(nullptr); }

private:
    struct Note {
        bool question = false;
        double timeS = 0, plateC = 0, profileS = 0, askedS = 0;
        PlateLearnt plate;
        std::optional<RunSoFar::Contact> contact;
    };
    void work();
    void takeIn(const Note& note);

    const HeatPlan& plan_;
    const bool inCycle_;
    RunSoFar run_;
    std::deque<Answer> answers_; ///< All kept: the control cycle may still follow an older one.
    std::atomic<const Answer*> ready_ = nullptr;
    std::atomic<bool> busy_ = false, quit_ = false;
    moodycamel::BlockingReaderWriterQueue<Note> notes_{4096};
    std::thread thread_;
};

} // namespace stripwright
