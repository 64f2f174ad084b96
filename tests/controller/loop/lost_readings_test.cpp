#include "bench_run.h"

#include <random>

namespace stripwright {

/// Whether the n-th cycle gets no answer.
struct PoorLine {
    const char* name;
    std::function<bool(int)> loses;
};

/// The last one loses three in ten at random, but never five in a row: that would be a lost link.
static std::vector<PoorLine> poorLines()
{
    auto random = std::make_shared<std::mt19937>(7u);
    auto inARow = std::make_shared<int>(0);
    return {{"every second", [](int n) { return n % 2 == 0; }},
            {"every fourth", [](int n) { return n % 4 == 0; }},
            {"three in ten", [random, inARow](int) {
                 const bool loses = *inARow < 4 && std::uniform_real_distribution<>(0, 1)(*random) < 0.3;
                 *inARow = loses ? *inARow + 1 : 0;
                 return loses;
             }}};
}

/// Seconds from a fault to the event that ends heat, on a line that loses readings all the time.
static double secondsToTrip(const PoorLine& line, const std::function<void(ReferencePlate&)>& fault,
                            double atProfileS, LoopSettings settings = {},
                            const std::function<void(ReferencePlate&)>& plate = {})
{
    BenchRun run(referencePlan(), settings);
    if (plate)
        plate(run.plate);
    int n = 0;
    const auto cycle = [&] {
        run.plate.noAnswer = line.loses(++n);
        run.cycle();
    };
    while (run.last.profileS < atProfileS && run.wallS < 3000)
        cycle();
    EXPECT_GE(run.last.profileS, atProfileS);
    EXPECT_EQ(run.firstTrip(), nullptr) << run.firstTrip()->text.data();
    fault(run.plate);
    const double faultWallS = run.wallS;
    while (!run.firstTrip() && run.wallS - faultWallS < 120)
        cycle();
    if (!run.firstTrip())
        return INFINITY;
    EXPECT_TRUE(run.last.causeSeen);
    std::printf("%s lost, at %.0f s: \"%.20s...\" after %.1f s\n", line.name, atProfileS,
                run.firstTrip()->text.data(), run.wallS - faultWallS);
    return run.wallS - faultWallS;
}

/// What gaps may add: two windows of readings are never more than this apart.
constexpr double forTheGapsS = 1.5;
static const PoorLine good{"none", [](int) { return false; }};

/// On every line as on a good one, but for the gaps.
static void expectInTime(const std::function<void(ReferencePlate&)>& fault, double atProfileS, double boundS)
{
    SCOPED_TRACE(atProfileS);
    const double onGoodLineS = secondsToTrip(good, fault, atProfileS);
    EXPECT_LE(onGoodLineS, boundS);
    for (const PoorLine& line : poorLines()) {
        SCOPED_TRACE(line.name);
        EXPECT_LE(secondsToTrip(line, fault, atProfileS), onGoodLineS + forTheGapsS);
    }
}

TEST(LostReadings, RelayThatIsWeldedStillEndsTheHeatInTime)
{
    const auto welded = [](auto& plate) { plate.welded = true; };
    expectInTime(welded, 60, 22); // nearly full power is asked for: hardly more than that arrives
    expectInTime(welded, 200, 16);
    expectInTime(welded, 350, 20);
    expectInTime(welded, 400, 15);
}

TEST(LostReadings, HeaterThatIsOpenStillEndsTheHeatInTime)
{
    for (const double atS : {60.0, 200.0, 300.0})
        expectInTime([](auto& plate) { plate.heaterOpen = true; }, atS, 15);
}

TEST(LostReadings, SensorThatFallsOffStillEndsTheHeatInTime)
{
    for (const double atS : {60.0, 200.0, 300.0})
        expectInTime([](auto& plate) { plate.detached = true; }, atS, 5);
}

TEST(LostReadings, CommandsThatAreIgnoredStillEndTheHeat)
{
    for (const PoorLine& line : poorLines()) {
        SCOPED_TRACE(line.name);
        EXPECT_LE(secondsToTrip(
                      line, [](auto& plate) { plate.ignoresCommands = true; }, 60),
                  0.6 + forTheGapsS);
    }
}

TEST(LostReadings, AloneTripNothing)
{
    for (const PoorLine& line : poorLines())
        for (const double power : {0.8, 1.0, 1.2})
            for (const double capacity : {0.8, 1.0, 1.2}) {
                if (power < 1 && capacity > 1)
                    continue; // cannot follow, on any line
                SCOPED_TRACE(line.name);
                SCOPED_TRACE(power);
                SCOPED_TRACE(capacity);
                BenchRun run;
                run.plate.powerFactor = power;
                run.plate.capacityFactor = capacity;
                int n = 0;
                run.until([&] {
                    run.plate.noAnswer = line.loses(++n);
                    return run.last.state == RunState::Ended;
                });
                EXPECT_EQ(run.firstTrip(), nullptr) << run.firstTrip()->text.data();
                EXPECT_FALSE(run.said("cannot judge"));
            }
}

TEST(LostReadings, SoRareThatNothingCanBeJudgedAreSaidOnce)
{
    BenchRun run;
    run.untilState(RunState::Cooling);
    for (int n = 0; n < 300; ++n) {
        run.plate.noAnswer = n % 20 != 0;
        run.cycle();
    }
    int said = 0;
    for (const LoopEvent& event : run.events)
        if (std::string(event.text.data()).find("cannot judge") != std::string::npos) {
            ++said;
            EXPECT_EQ(event.severity, Severity::Warning);
        }
    EXPECT_EQ(said, 1);
}

TEST(SetpointPlate, ThatTellsNoDutyAndIsWeldedInCoolingTripsAsUnexpectedHeat)
{
    for (const bool tells : {false, true}) {
        for (const PoorLine& line : {good, poorLines()[2]}) {
            const double s = secondsToTrip(
                line, [](auto& plate) { plate.welded = true; }, 400, {.drive = DriveKind::Setpoint},
                [&](ReferencePlate& plate) {
                    plate.ownLoop = true;
                    plate.reportsDuty = tells;
                });
            EXPECT_LE(s, 15 + forTheGapsS) << tells << line.name;
        }
    }
}

TEST(SetpointPlate, ThatTellsItsDutyIsStillCheckedForItsHeatOnAPoorLine)
{
    for (const PoorLine& line : poorLines()) {
        SCOPED_TRACE(line.name);
        EXPECT_LE(secondsToTrip(
                      line, [](auto& plate) { plate.heaterOpen = true; }, 60, {.drive = DriveKind::Setpoint},
                      [](ReferencePlate& plate) { plate.ownLoop = true; }),
                  15 + forTheGapsS);
    }
}

} // namespace stripwright
