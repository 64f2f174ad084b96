#include "commands/wrapped.h"

#include <QString>

#include <gtest/gtest.h>
#include <sstream>

using namespace stripwright;

TEST(Wrapped, BreaksBetweenWordsAndIndentsAsWideAsTheLead)
{
    EXPECT_EQ(wrapped("- ", "one two three four", 11), "- one two\n  three\n  four");
    EXPECT_EQ(wrapped("", "one two", 7), "one two");
    EXPECT_EQ(wrapped("", "one two", 6), "one\ntwo");
}

TEST(Wrapped, CountsWhatTheEyeSeesNotBytes)
{
    EXPECT_EQ(wrapped("", "°°°° ····", 9), "°°°° ····");
    EXPECT_EQ(wrapped("− ", "°° ··", 4), "− °°\n  ··");
}

TEST(Wrapped, LeavesAFigureItsUnit)
{
    EXPECT_EQ(wrapped("", "up to 80 °C, 1 K/s", 9), "up to\n80 °C,\n1 K/s");
    EXPECT_EQ(wrapped("", "62 (68) K. A K", 9), "62\n(68) K. A\nK");
}

TEST(Wrapped, KeepsLineBreaksAndLeavesAWordThatIsLongerWhole)
{
    EXPECT_EQ(wrapped("a ", "b\nc", 80), "a b\n  c");
    EXPECT_EQ(wrapped("a ", "b /a/long/path c", 6), "a b\n  /a/long/path\n  c");
}

TEST(Wrapped, LeavesAPathWithSpacesInOnePiece)
{
    const std::string path = "/home/bench three/run log.db";
    EXPECT_EQ(wrapped("", "Kept in " + inOnePiece(path) + " now", 20), "Kept in\n" + path + "\nnow");
}

TEST(Wrapped, GoesIntoEightyColumnsWhereNoTerminalIsWider)
{
    std::ostringstream out;
    std::string text;
    for (int i = 0; i < 60; ++i)
        text += "word° ";
    printWrapped(out, "    ", text);
    std::istringstream lines(out.str());
    qsizetype longest = 0;
    for (std::string line; std::getline(lines, line);)
        longest = std::max(longest, QString::fromStdString(line).size());
    EXPECT_LE(longest, 80);
    EXPECT_GT(longest, 80 - 6);
}
