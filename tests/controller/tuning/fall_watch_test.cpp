#include "reference_plate.h"
#include "tuning/fall_watch.h"

#include <gtest/gtest.h>

namespace stripwright {

namespace {

struct Watched {
    explicit Watched(double startC) : plate(startC) { plate.setStripLifted(true); }

    bool endsWithin(double forS)
    {
        for (const double untilS = wallS + forS; wallS < untilS && !watch.ended(); wallS += 0.2) {
            plate.advance(0.2);
            watch.cycle(wallS);
        }
        return watch.ended();
    }

    ReferencePlate plate;
    FallWatch watch{plate, {}};
    double wallS = 1000;
};

} // namespace

TEST(FallWatch, StaysWhileSomebodyElseHeatsAndUntilThePlateGetsColder)
{
    Watched one(100);
    one.plate.welded = true; // heats whatever it is told
    EXPECT_FALSE(one.endsWithin(20));
    EXPECT_FALSE(one.watch.getsHotter()) << "that much may come late";
    EXPECT_FALSE(one.endsWithin(40));
    EXPECT_TRUE(one.watch.getsHotter());
    EXPECT_NE(std::string(one.watch.stepInWords()).find("PULL THE MAINS PLUG"), std::string::npos);
    const long calls = one.plate.heaterOffCalls;
    one.plate.welded = false;
    EXPECT_TRUE(one.endsWithin(120));
    EXPECT_GT(one.plate.heaterOffCalls, calls + 10) << "told again and again";
    EXPECT_EQ(one.plate.duty(), 0);
}

TEST(FallWatch, LeavesAPlateThatStaysCold)
{
    Watched one(30);
    EXPECT_FALSE(one.endsWithin(19));
    EXPECT_TRUE(one.endsWithin(5));
}

TEST(FallWatch, EndsAtAStopOnlyOnceTheHeaterIsReadBackOff)
{
    Watched one(100);
    one.plate.noAnswer = true;
    one.watch.stop("stopped by the operator");
    EXPECT_FALSE(one.endsWithin(10));
    one.plate.noAnswer = false;
    EXPECT_TRUE(one.endsWithin(1));
}

TEST(FallWatch, GivesUpNothingOnAPlateThatFallsSilent)
{
    Watched one(100);
    one.plate.noAnswer = true;
    EXPECT_FALSE(one.endsWithin(59));
    EXPECT_EQ(one.watch.why(), "");
    EXPECT_FALSE(one.endsWithin(5));
    EXPECT_NE(one.watch.why(), "");
}

} // namespace stripwright
