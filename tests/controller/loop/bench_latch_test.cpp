#include "loop/bench_latch.h"

#include <cstdio>
#include <gtest/gtest.h>

namespace stripwright {
namespace {

CycleRecord quiet()
{
    return {};
}

CycleRecord withCause(const char* text)
{
    CycleRecord record;
    record.causeSeen = true;
    std::snprintf(record.causeText.data(), record.causeText.size(), "%s", text);
    return record;
}

CycleRecord withEvent(EventKind kind, Severity severity, const char* text)
{
    CycleRecord record;
    record.eventCount = 1;
    record.events[0].kind = kind;
    record.events[0].severity = severity;
    std::snprintf(record.events[0].text.data(), record.events[0].text.size(), "%s", text);
    return record;
}

struct BenchLatchOfACycle : testing::Test {
    BenchLatch latch;
    CycleRecord after(CycleRecord record)
    {
        latch.take(record);
        return record;
    }
};

TEST_F(BenchLatchOfACycle, KeepsTheFirstCauseWhateverFollows)
{
    EXPECT_FALSE(after(quiet()).tripLatched);
    after(withCause("first"));
    const CycleRecord later = after(withCause("second"));
    EXPECT_TRUE(later.tripLatched);
    EXPECT_STREQ(later.tripText.data(), "first");
    EXPECT_STREQ(after(quiet()).tripText.data(), "first");
}

TEST_F(BenchLatchOfACycle, IsNotResetByAcknowledging)
{
    after(withCause("first"));
    EXPECT_TRUE(latch.acknowledge());
    EXPECT_FALSE(latch.acknowledge()) << "once is enough";
    const CycleRecord record = after(quiet());
    EXPECT_TRUE(record.tripLatched);
    EXPECT_TRUE(record.tripAcknowledged);
}

TEST_F(BenchLatchOfACycle, RefusesAResetUntilItWasAcknowledgedAndTheCauseIsGone)
{
    after(withCause("first"));
    after(quiet());
    EXPECT_FALSE(latch.reset()) << "nobody has seen it";
    latch.acknowledge();
    after(withCause("again"));
    EXPECT_FALSE(latch.reset()) << "the cause is there";
    after(quiet());
    EXPECT_TRUE(latch.reset());
    EXPECT_FALSE(after(quiet()).tripLatched);
}

TEST_F(BenchLatchOfACycle, MustBeAcknowledgedAnewForANewCause)
{
    after(withCause("first"));
    latch.acknowledge();
    after(quiet());
    latch.reset();
    const CycleRecord record = after(withCause("second"));
    EXPECT_STREQ(record.tripText.data(), "second");
    EXPECT_FALSE(record.tripAcknowledged);
}

TEST_F(BenchLatchOfACycle, TakesAnEndOfHeatThatNoCheckHasSeenFromItsEvent)
{
    EXPECT_FALSE(
        after(withEvent(EventKind::Operator, Severity::Info, "stopped by the operator")).tripLatched);
    EXPECT_FALSE(after(withEvent(EventKind::Interlock, Severity::Warning, "a warning")).tripLatched);
    EXPECT_FALSE(after(withEvent(EventKind::Note, Severity::Trip, "nobody has been watching")).tripLatched);
    EXPECT_TRUE(after(withEvent(EventKind::Interlock, Severity::Trip, "was asleep")).tripLatched);
}

} // namespace
} // namespace stripwright
