#pragma once

#include "reference_plate.h"

#include <gtest/gtest.h>
#include <string>

namespace stripwright {

/// A heating of the reference plate in virtual time, cycle by cycle.
template <class Heating> struct BenchHeating {
    ReferencePlate& plate;
    Heating& heating;
    double wallS = 1000;

    void cycle()
    {
        plate.advance(0.2);
        heating.cycle(wallS += 0.2);
    }
    /// False: not within that time.
    template <class Done> bool until(Done done, double longestS)
    {
        for (const double endS = wallS + longestS; wallS < endS;) {
            if (done())
                return true;
            cycle();
        }
        return done();
    }
    void goOn(double forS)
    {
        until([] { return false; }, forS);
    }
};

struct HeatingFault {
    const char* words; ///< Of the check that must find it.
    void (*happen)(ReferencePlate&);
};
inline const HeatingFault heatingFaults[] = {
    {"sensor", [](ReferencePlate& plate) { plate.sensorFault = true; }},
    {"link lost", [](ReferencePlate& plate) { plate.noAnswer = true; }},
    {"take commands", [](ReferencePlate& plate) { plate.ignoresCommands = true; }},
    {"stale", [](ReferencePlate& plate) { plate.counterStands = true; }},
    {"no rise", [](ReferencePlate& plate) { plate.heaterOpen = true; }},
    {"watchdog", [](ReferencePlate& plate) { plate.watchdogTripped = true; }},
};

/// Under heat: its check ends it in that time, and the heater is off as soon as the plate lets it be.
template <class Heating>
void expectFound(BenchHeating<Heating>& bench, const HeatingFault& fault, double withinS)
{
    ASSERT_EQ(bench.heating.why(), "");
    ASSERT_GT(bench.plate.duty(), 0.5) << bench.heating.stepInWords();
    fault.happen(bench.plate);
    bench.until([&] { return !bench.heating.why().empty(); }, withinS);
    EXPECT_NE(bench.heating.why().find(fault.words), std::string::npos)
        << fault.words << ": " << bench.heating.why();
    bench.plate.noAnswer = bench.plate.ignoresCommands = false;
    bench.goOn(1);
    EXPECT_EQ(bench.plate.duty(), 0) << fault.words;
    EXPECT_EQ(bench.plate.setpointC(), 0) << fault.words;
    EXPECT_TRUE(bench.heating.ended()) << fault.words;
}

} // namespace stripwright
