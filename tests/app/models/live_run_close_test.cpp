#include "fake_controller.h"

namespace stripwright::test {

TEST(LiveRunClose, LetsGoOfARunWhoseHeaterWasReadBackOffAndNeverOfOneThatHeats)
{
    LiveRun run;
    FakeController controller(run);
    controller.say(heating());
    ASSERT_TRUE(QTest::qWaitFor([&] { return run.runIsOn(); }));
    run.close();
    EXPECT_EQ(run.phase(), LiveRun::Phase::Connected);

    Status stopping = offNow();
    stopping.state = RunState::Stopping;
    controller.say(stopping);
    ASSERT_TRUE(QTest::qWaitFor([&] { return !run.heatMayBeOn(); }));
    ASSERT_TRUE(run.runIsOn());
    run.close();
    EXPECT_EQ(run.phase(), LiveRun::Phase::Off);
    EXPECT_TRUE(controller.hears<Shutdown>());
}

} // namespace stripwright::test
