#include "link/line_time.h"

#include <gtest/gtest.h>

using namespace stripwright;
using enum RegisterTable;

static SerialLine line(int baud, SerialFrame frame, double turnroundS = 0)
{
    return {.baud = baud, .frame = frame, .turnroundS = turnroundS};
}

// Polls a second with a turn-round of 3.5 characters: T = (13 + 2 N) c / b + 2 t3.5, t3.5 = 3.5 c / b up to
// 19200 baud and 1.75 ms above, c = 10 bits for 8N1 and 11 for 8E1.
TEST(LineTime, FollowsTheFormulaOfFramesAndSilences)
{
    struct {
        int baud;
        SerialFrame frame;
        int registers;
        double pollsPerS;
    } const rows[] = {
        {9600, SerialFrame::F8N1, 1, 43.6},     {9600, SerialFrame::F8E1, 10, 21.8},
        {19200, SerialFrame::F8N1, 2, 80.0},    {19200, SerialFrame::F8O1, 125, 6.5},
        {115200, SerialFrame::F8N1, 10, 157.1}, {115200, SerialFrame::F8N2, 40, 80.8},
    };
    for (const auto& row : rows)
        EXPECT_NEAR(1 / exchangeS(line(row.baud, row.frame), readCharacters(Holding, row.registers)),
                    row.pollsPerS, 0.05)
            << row.baud;
}

TEST(LineTime, LongTurnRoundTakesThePlaceOfTheSilence)
{
    // N = 10, 8E1, 50 ms: 33 characters and 3.5 more, and the turn-round.
    EXPECT_NEAR(exchangeS(line(9600, SerialFrame::F8E1, 0.05), readCharacters(Input, 10)),
                36.5 * 11 / 9600 + 0.05, 1e-12);
}

TEST(LineTime, BitsTakeAByteForEightAndWritesRepeatTheirHead)
{
    EXPECT_EQ(readCharacters(Coil, 8), 14);
    EXPECT_EQ(readCharacters(Discrete, 9), 15);
    EXPECT_EQ(writeCharacters(Coil, 1), 16);
    EXPECT_EQ(writeCharacters(Holding, 1), 16);
    EXPECT_EQ(writeCharacters(Holding, 2), 21);
}

TEST(LineTime, CycleIsEveryReadAndTheDutyWrittenAndReadBack)
{
    PlateLink link;
    link.serial = line(9600, SerialFrame::F8N1, 0.01);
    link.sensor = {.table = Input, .address = 0};
    link.counter = {.table = Input, .address = 1};
    link.duty = {.table = Holding, .address = 3};
    // Characters: inputs 13 + 4, duty 13 + 2; written 16, read back 13 + 2. Four exchanges.
    const double characterS = 10.0 / 9600;
    EXPECT_NEAR(cycleS(link), (17 + 15 + 16 + 15 + 4 * 3.5) * characterS + 4 * 0.01, 1e-12);
    link.duty->unit = 2;
    link.counter->unit = 2; // a second device: its own request
    EXPECT_NEAR(cycleS(link), (15 + 15 + 15 + 16 + 15 + 5 * 3.5) * characterS + 5 * 0.01, 1e-12);
    link.serial.reset();
    EXPECT_LT(cycleS(link), 0.1);
}

TEST(LineTime, CycleHasTheLongestRequestOfTheSettings)
{
    PlateLink link;
    link.serial = line(9600, SerialFrame::F8N1, 0.01);
    link.sensor = {.table = Input, .address = 0};
    link.duty = {.table = Holding, .address = 3};
    const double before = cycleS(link);
    link.settings = {{"a", {.table = Holding, .address = 50}, 0},
                     {"b", {.table = Holding, .address = 51, .type = RegisterType::Float32}, 0},
                     {"c", {.table = Coil, .address = 1}, 0}};
    // Three registers together: 13 + 6 characters; the coil, 14, has its own turn.
    EXPECT_NEAR(cycleS(link) - before, (19 + 3.5) * 10.0 / 9600 + 0.01, 1e-12);
}

TEST(LineTime, UsualPeriodIsAsLongAsReadingsTake)
{
    PlateLink link;
    link.sensor = {.table = Input, .address = 0};
    link.duty = {.table = Holding, .address = 3};
    EXPECT_EQ(usualPeriodS(link), 0.2);
    link.readingEveryS = 1;
    EXPECT_EQ(usualPeriodS(link), 1);
    link.serial = line(9600, SerialFrame::F8N1, 0.3);
    link.readingEveryS = 0.3;
    EXPECT_NEAR(usualPeriodS(link), 1.25 * cycleS(link), 1e-12);
}

TEST(LineTime, FarRegisterIsAskedForByItselfWhereReadingAlongTakesLonger)
{
    PlateLink link;
    link.serial = line(9600, SerialFrame::F8N1);
    link.sensor = {.table = Input, .address = 0};
    // Asking anew: 13 + 3.5 + 3.5 characters, as 10 registers of 2.
    EXPECT_EQ(longestGap(link), 10);
    link.serial->turnroundS = 0.05;
    EXPECT_GT(longestGap(link), 30);
    link.serial.reset();
    EXPECT_EQ(longestGap(link), 125);
}
