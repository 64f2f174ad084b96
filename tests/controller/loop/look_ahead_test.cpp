#include "loop/look_ahead.h"
#include "reference_plate.h"

#include <chrono>
#include <gtest/gtest.h>
#include <thread>

namespace stripwright {

using namespace std::chrono_literals;

static const Replanner::Answer* answerOf(Replanner& replanner)
{
    for (int n = 0; n < 500; ++n) {
        if (const Replanner::Answer* answer = replanner.take())
            return answer;
        std::this_thread::sleep_for(10ms);
    }
    return nullptr;
}

TEST(Replanner, AnswersFromItsOwnThreadEachQuestionOnce)
{
    const HeatPlan plan = referencePlan();
    Replanner replanner(plan, false);
    for (int t = 0; t <= 100; ++t)
        replanner.note(t, 25 + 0.8 * t);
    ASSERT_TRUE(replanner.ask(100, PlateLearnt(), {}));
    const Replanner::Answer* answer = answerOf(replanner);
    ASSERT_NE(answer, nullptr);
    EXPECT_EQ(answer->path.plateC.size(), plan.timeS.size());
    EXPECT_GT(answer->tookS, 0);
    EXPECT_EQ(replanner.take(), nullptr);
    ASSERT_TRUE(replanner.ask(100, PlateLearnt(), {}));
    EXPECT_NE(answerOf(replanner), answer);
}

TEST(Replanner, EndsWhileAQuestionIsOpen)
{
    const HeatPlan plan = referencePlan();
    Replanner replanner(plan, false);
    replanner.note(0, 25);
    replanner.ask(0, PlateLearnt(), {});
}

/// Whether a look is asked for at a moment, when an answer always comes at once.
struct Watched {
    HeatPlan plan = referencePlan();
    LookAhead ahead{plan, 246, true};
    HeatBalance balance{figuresOf(plan.sheet.plate, 25)};
    LookAhead::Moment now{.stepS = 0.2, .plateC = 60, .sensorC = 60};

    void go(double seconds)
    {
        for (double s = 0; s < seconds; s += now.stepS) {
            now.timeS += now.stepS;
            now.profileS += now.stepS;
            ahead.advance(now, balance);
        }
    }
};

TEST(LookAhead, LooksAfterThreeSecondsOffThePathOrFiveOfStretchOrAMovedContactOrTheSoak)
{
    Watched off;
    off.go(20);
    EXPECT_EQ(off.ahead.looks(), 0);
    off.now.behindK = 3.5;
    off.go(2.5);
    EXPECT_EQ(off.ahead.looks(), 0);
    off.go(1);
    EXPECT_EQ(off.ahead.looks(), 1);
    off.go(9); // not again before ten seconds have passed
    EXPECT_EQ(off.ahead.looks(), 1);

    Watched stretched;
    stretched.go(20);
    stretched.now.stretchedS = 4.9;
    stretched.go(1);
    EXPECT_EQ(stretched.ahead.looks(), 0);
    stretched.now.stretchedS = 5.1;
    stretched.go(1);
    EXPECT_EQ(stretched.ahead.looks(), 1);

    Watched contact;
    contact.go(20);
    contact.now.contact = RunSoFar::Contact{0.6, 0.7, 0.8};
    contact.go(15);
    EXPECT_EQ(contact.ahead.looks(), 1);

    Watched soak;
    soak.now.profileS = 220;
    soak.go(25);
    EXPECT_EQ(soak.ahead.looks(), 0);
    soak.go(30);
    EXPECT_EQ(soak.ahead.looks(), 1);
}

TEST(LookAhead, LooksAtOnceWhenTheHandsHaveMarked)
{
    Watched watched;
    watched.go(20);
    watched.now.contact = RunSoFar::Contact{0.6, 0.7, 0.8};
    watched.go(0.2);
    EXPECT_EQ(watched.ahead.looks(), 1);
    watched.go(2);
    watched.now.marked = true;
    watched.go(0.2);
    EXPECT_EQ(watched.ahead.looks(), 2) << "whenever the last look was";
    EXPECT_FALSE(watched.ahead.looking());
    watched.now.marked = false;
    watched.go(5);
    EXPECT_EQ(watched.ahead.looks(), 2);
}

} // namespace stripwright
