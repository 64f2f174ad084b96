#include "interlocks/heat_balance.h"
#include "interlocks/no_rise.h"

#include <gtest/gtest.h>

using namespace stripwright;

// Near the warmest it can get with so little nothing rises, and nothing is wrong.
TEST(NoRise, LoopThatGivesAFifthAtMostIsExpectedToRaiseThePlateByNoMoreThanThat)
{
    const PlateFigures plate{700, 900, 1.2, 0.05, 4, 2.5, 1, 25};
    for (const double fullShare : {1.0, 0.2}) {
        NoRise rule(plate);
        const HeatBalance balance(plate);
        bool trips = false;
        for (double s = 0; s < 130; s += 0.2) {
            Observation seen;
            seen.plantS = seen.wallS = s;
            seen.answered = seen.heating = seen.fullDemand = true;
            seen.fullShare = fullShare;
            seen.sensorC = 110;
            trips = trips || rule.examine(seen, balance).action == Action::HeaterOff;
        }
        EXPECT_EQ(trips, fullShare == 1) << fullShare;
    }
}
