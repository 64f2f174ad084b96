#include "models/operator_signals.h"

#include <QSignalSpy>
#include <QTest>
#include <gtest/gtest.h>

namespace stripwright {

TEST(OperatorSignals, EachOfThemIsAStopAndNeverTheEndOfTheProgramOrItsStandingStill)
{
    std::signal(SIGHUP, SIG_DFL);
    OperatorSignals heard;
    QSignalSpy stops(&heard, &OperatorSignals::stop);
    int expected = 0;
    for (const int number : OperatorSignals::numbers) {
        raise(number);
        ++expected;
        EXPECT_TRUE(QTest::qWaitFor([&] { return stops.count() == expected; })) << number;
        EXPECT_EQ(heard.last(), number);
    }
}

TEST(OperatorSignals, AHangUpThatWasIgnoredBeforeStaysSo)
{
    std::signal(SIGHUP, SIG_IGN);
    OperatorSignals heard;
    QSignalSpy stops(&heard, &OperatorSignals::stop);
    raise(SIGHUP);
    raise(SIGTERM);
    EXPECT_TRUE(QTest::qWaitFor([&] { return stops.count() > 0; }));
    EXPECT_EQ(heard.last(), SIGTERM);
    EXPECT_EQ(stops.count(), 1);
    std::signal(SIGHUP, SIG_DFL);
}

TEST(OperatorSignals, WhatWasSetBeforeIsSetAgainAfterwards)
{
    std::signal(SIGHUP, SIG_IGN);
    {
        const OperatorSignals heard;
    }
    EXPECT_EQ(std::signal(SIGHUP, SIG_DFL), SIG_IGN);
}

} // namespace stripwright
