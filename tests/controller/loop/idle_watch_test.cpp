#include "loop/idle_watch.h"
#include "reference_plate.h"

#include <gtest/gtest.h>

namespace stripwright {

namespace {

struct HighPlate : ReferencePlate {
    using ReferencePlate::ReferencePlate;
    std::optional<double> highestC() const override { return 200; }
};

struct SlowPlate : ReferencePlate {
    using ReferencePlate::ReferencePlate;
    double readingEveryS() const override { return 5; }
};

struct Idle {
    HighPlate plate;
    IdleWatch watch{plate, 1};
    double wallS = 500;
    CycleRecord last;
    std::vector<LoopEvent> events;

    explicit Idle(double startC = 25) : plate(startC) {}
    const CycleRecord& cycle()
    {
        plate.advance(0.2);
        last = watch.cycle(wallS += 0.2);
        for (int i = 0; i < last.eventCount; ++i)
            events.push_back(last.events[size_t(i)]);
        return last;
    }
    void forS(double seconds)
    {
        for (double s = 0; s < seconds - 0.1; s += 0.2)
            cycle();
    }
    int said(const std::string& words, Severity severity) const
    {
        int n = 0;
        for (const LoopEvent& event : events)
            n +=
                event.severity == severity && std::string(event.text.data()).find(words) != std::string::npos;
        return n;
    }
};

} // namespace

TEST(IdleWatch, ColdPlateAtRestIsOffConfirmedAndNoCause)
{
    Idle idle;
    idle.forS(120);
    EXPECT_EQ(idle.last.heater, HeaterState::OffConfirmed);
    EXPECT_FALSE(idle.last.causeSeen);
    EXPECT_TRUE(idle.events.empty()) << idle.events.front().text.data();
}

TEST(IdleWatch, WeldedRelayIsACauseWithin15SecondsEvenWhereEverySecondReadingIsLost)
{
    for (const int everyNth : {0, 2, 4}) {
        Idle idle;
        idle.forS(10);
        idle.plate.welded = true;
        double s = 0;
        for (int n = 1; !idle.last.causeSeen && s < 60; ++n, s += 0.2) {
            idle.plate.noAnswer = everyNth > 0 && n % everyNth == 0;
            idle.cycle();
        }
        EXPECT_LE(s, 15) << everyNth;
        EXPECT_TRUE(idle.last.warmsUnasked);
        for (int n = 1; n < 100; ++n) {
            idle.plate.noAnswer = everyNth > 0 && n % everyNth == 0;
            EXPECT_TRUE(idle.cycle().causeSeen);
        }
        EXPECT_EQ(idle.said("unexpected heat", Severity::Trip), 1) << "said once: " << everyNth;
        EXPECT_NE(std::string(idle.last.causeText.data()).find("pull the mains plug"), std::string::npos);
    }
}

TEST(IdleWatch, WeldedRelayIsFoundWhereReadingsComeSeldom)
{
    SlowPlate plate;
    IdleWatch watch(plate, 1);
    double s = 0;
    bool seen = false;
    for (; s < 120 && !seen; s += 5) {
        plate.welded = s >= 30;
        plate.advance(5);
        seen = watch.cycle(500 + s).causeSeen;
        EXPECT_FALSE(seen && s < 30);
    }
    EXPECT_TRUE(seen);
    EXPECT_LE(s, 30 + 25);
}

TEST(IdleWatch, WhatSomebodyElseHasToldThePlateIsTurnedOffAtOnceAndSaid)
{
    const std::vector<std::function<void(ReferencePlate&)>> others = {
        [](auto& plate) { plate.setDuty(0.4); },
        [](auto& plate) { plate.setSetpointC(120); },
        [](auto& plate) { plate.setEnable(true); },
    };
    for (size_t i = 0; i < others.size(); ++i) {
        Idle idle;
        idle.plate.withEnable = true;
        idle.forS(1);
        others[i](idle.plate);
        idle.cycle();
        EXPECT_EQ(idle.plate.duty(), 0) << i;
        EXPECT_EQ(idle.plate.setpointC(), 0) << i;
        EXPECT_FALSE(idle.plate.enabled()) << i;
        EXPECT_EQ(idle.last.heater, HeaterState::OffCommanded)
            << "not shown as off in the cycle that found it";
        EXPECT_EQ(idle.said("something else drives this plate", Severity::Warning), 1) << i;
        idle.cycle();
        EXPECT_EQ(idle.last.heater, HeaterState::OffConfirmed);
    }
}

TEST(IdleWatch, AStopLeavesWhatWasSeenOfAWeldedRelay)
{
    Idle idle;
    idle.forS(10);
    idle.plate.welded = true;
    for (double s = 0; !idle.last.causeSeen && s < 60; s += 0.2)
        idle.cycle();
    idle.watch.heaterOffSent(false, idle.wallS);
    const long offs = idle.plate.heaterOffCalls;
    EXPECT_TRUE(idle.cycle().causeSeen);
    EXPECT_TRUE(idle.last.warmsUnasked);
    EXPECT_EQ(idle.last.heater, HeaterState::OffCommanded);
    EXPECT_EQ(idle.plate.heaterOffCalls, offs) << "sent for that cycle already";
    idle.cycle();
    EXPECT_GT(idle.plate.heaterOffCalls, offs);
}

TEST(IdleWatch, OneLowFirstReadingIsNoRise)
{
    Idle idle(70);
    idle.plate.spikeK = -65;
    idle.cycle();
    idle.plate.spikeK = 0;
    idle.forS(10);
    EXPECT_FALSE(idle.last.causeSeen) << idle.last.causeText.data();
}

TEST(IdleWatch, DutyOfAPlateWithItsOwnLoopIsNotTakenForSomebodyElse)
{
    struct WarmFloor : HighPlate {
        std::optional<PlateReading> read() override
        {
            auto reading = ReferencePlate::read();
            reading->duty = 0.02;
            reading->setpointC = 22.5;
            reading->toldToHeat = false;
            return reading;
        }
    } plate;
    IdleWatch watch(plate, 1);
    for (int n = 1; n < 10; ++n) {
        const CycleRecord record = watch.cycle(n * 0.2);
        EXPECT_EQ(record.eventCount, 0);
        EXPECT_EQ(record.heater, HeaterState::OffConfirmed);
    }
}

TEST(IdleWatch, APlateGoneAfterItWasReadBackOffIsKnownToHaveBeenOff)
{
    Idle idle;
    idle.plate.noAnswer = true;
    idle.forS(2);
    EXPECT_FALSE(idle.last.wasReadBackOff) << "never read back";
    idle.plate.noAnswer = false;
    idle.forS(1);
    idle.plate.noAnswer = true;
    idle.forS(2);
    EXPECT_TRUE(idle.last.wasReadBackOff);
    idle.watch.heaterOffSent(false, idle.wallS);
    EXPECT_TRUE(idle.cycle().wasReadBackOff) << "a stop tells no heat";
    idle.watch.restart();
    EXPECT_FALSE(idle.cycle().wasReadBackOff) << "a run has been";
}

TEST(IdleWatch, OffIsSentAgainAfterALostLinkAndToAPlateThatReadsNothingBack)
{
    Idle idle;
    idle.forS(1);
    idle.plate.noAnswer = true;
    idle.forS(2);
    EXPECT_EQ(idle.last.heater, HeaterState::Unknown);
    idle.plate.noAnswer = false;
    const long before = idle.plate.heaterOffCalls;
    idle.cycle();
    EXPECT_GT(idle.plate.heaterOffCalls, before);
    EXPECT_EQ(idle.last.heater, HeaterState::OffConfirmed);

    Idle mute;
    mute.plate.reportsDuty = false;
    mute.forS(1);
    mute.plate.setDuty(0.5);
    mute.forS(6);
    EXPECT_EQ(mute.plate.duty(), 0);
}

TEST(IdleWatch, TooHotTooMuchWarmerAndAFaultySensorAreCauses)
{
    Idle hot(205);
    hot.cycle();
    EXPECT_TRUE(hot.last.causeSeen);
    EXPECT_EQ(hot.said("over temperature", Severity::Trip), 1);

    Idle slow;
    slow.forS(2);
    // So slowly that no slope is seen: only the rise in all tells.
    slow.plate.capacityFactor = 3;
    slow.plate.draughtW = -130;
    for (int n = 0; n < 15000 && !slow.last.causeSeen; ++n)
        slow.cycle();
    EXPECT_TRUE(slow.last.causeSeen);
    EXPECT_FALSE(slow.last.warmsUnasked);
    EXPECT_NEAR(*slow.last.sensorC, 85, 0.5);

    Idle faulty;
    faulty.forS(1);
    faulty.plate.sensorFault = true;
    faulty.cycle();
    EXPECT_FALSE(faulty.last.causeSeen) << "one bad reading is a spike";
    faulty.cycle();
    EXPECT_TRUE(faulty.last.causeSeen);
    faulty.plate.sensorFault = false;
    faulty.cycle();
    EXPECT_FALSE(faulty.last.causeSeen);
}

} // namespace stripwright
