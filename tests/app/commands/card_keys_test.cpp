#include "commands/card_keys.h"

#include <gtest/gtest.h>
#include <unistd.h>

using namespace stripwright;
using Answer = CardKeys::Answer;

TEST(CardKeys, AreConfirmedByAnEmptyLineOrTheWordAskedFor)
{
    for (const char* line : {"\n", "\r\n", "  \n", "done\n", " Done \n"})
        EXPECT_EQ(CardKeys().take(line), Answer::Confirmed) << line;
}

TEST(CardKeys, AreNotConfirmedByAnythingElseAndSayWhatWasFound)
{
    for (const char* line :
         {"no\n", "n\n", "y\n", "yes\n", "not done\n", "stop\n", "\x1b\n", "done done\n"}) {
        CardKeys keys;
        EXPECT_EQ(keys.take(line), Answer::SomethingElse) << line;
    }
    CardKeys keys;
    keys.take("n\x1bo\n");
    EXPECT_EQ(keys.found(), "\"n?o\"");
}

TEST(CardKeys, SayWhatTheSolderDoesWhereTheCardAsks)
{
    for (const char* line : {"l\n", " L\r\n", "liquid\n"}) {
        EXPECT_EQ(CardKeys().take(line, true), Answer::Liquid) << line;
        EXPECT_EQ(CardKeys().take(line), Answer::SomethingElse) << line;
    }
    for (const char* line : {"n\n", "N\n", "not yet\n"}) {
        EXPECT_EQ(CardKeys().take(line, true), Answer::NotYet) << line;
        EXPECT_EQ(CardKeys().take(line), Answer::SomethingElse) << line;
    }
    EXPECT_EQ(CardKeys().take("\n", true), Answer::Confirmed);
    EXPECT_EQ(CardKeys().take("no\n", true), Answer::SomethingElse);
}

TEST(CardKeys, SayLateOfACardBefore)
{
    for (const bool asksLiquid : {false, true}) {
        CardKeys keys;
        EXPECT_EQ(keys.take("late 12\n", asksLiquid), Answer::Late);
        EXPECT_EQ(keys.site(), 12);
        EXPECT_EQ(keys.take(" Late\n", asksLiquid), Answer::Late);
        EXPECT_EQ(keys.site(), 0);
        EXPECT_EQ(CardKeys().take("later\n", asksLiquid), Answer::SomethingElse);
    }
}

TEST(CardKeys, TakeTheSiteBehindWhatTheSolderDoes)
{
    CardKeys keys;
    EXPECT_EQ(keys.take("l 4\n", true), CardKeys::Answer::Liquid);
    EXPECT_EQ(keys.site(), 4);
    EXPECT_EQ(keys.take("n16\n", true), CardKeys::Answer::NotYet);
    EXPECT_EQ(keys.site(), 16);
    EXPECT_EQ(keys.take("l\n", true), CardKeys::Answer::Liquid);
    EXPECT_EQ(keys.site(), 0);
    for (const char* wrong : {"4\n", "done 4\n", "l 4 6\n", "l 12345678\n"})
        EXPECT_EQ(keys.take(wrong, true), CardKeys::Answer::SomethingElse) << wrong;
    EXPECT_EQ(keys.take("l 4\n", false), CardKeys::Answer::SomethingElse);
}

TEST(CardKeys, TakeALineThatComesInPieces)
{
    CardKeys keys;
    EXPECT_EQ(keys.take("n"), Answer::None);
    EXPECT_EQ(keys.take("o"), Answer::None);
    EXPECT_EQ(keys.take("\n"), Answer::SomethingElse);
    EXPECT_EQ(keys.take("\n"), Answer::Confirmed);
    for (int i = 0; i < 1000; ++i)
        EXPECT_EQ(keys.take("a long cat on the keyboard"), Answer::None);
    EXPECT_EQ(keys.take("\n"), Answer::SomethingElse);
    EXPECT_LT(keys.found().size(), 300u);
}

TEST(CardKeys, AnswerOnceForSeveralLinesAtOnce)
{
    CardKeys keys;
    EXPECT_EQ(keys.take("\n\n\n"), Answer::Confirmed);
    EXPECT_EQ(keys.take(""), Answer::None);
    EXPECT_EQ(keys.take("no\n\n"), Answer::SomethingElse);
}

TEST(CardKeys, DoNotCountWhatWasBegunBeforeTheCardCameUp)
{
    CardKeys keys;
    keys.take("no");
    keys.forget();
    EXPECT_EQ(keys.take("\n"), Answer::Confirmed);
}

TEST(CardKeys, AreAskedForOnlyByCardsThatSomethingIsDoneIn)
{
    EXPECT_NE(howToConfirm({.id = "lay-strip", .atS = -1, .mustConfirm = true}).find("waits for this"),
              std::string::npos);
    EXPECT_NE(howToConfirm({.id = "swap-led-6", .atS = 70}).find("Press Enter"), std::string::npos);
    for (const char* running : {"hands-off", "watch-solder", "hold-still", "cool-down", "stay-through-bake"})
        EXPECT_EQ(howToConfirm({.id = running, .atS = 70}), "") << running;
}

TEST(TypedBeforeACard, IsThrownAway)
{
    int ends[2];
    ASSERT_EQ(pipe(ends), 0);
    ASSERT_EQ(write(ends[1], "\n\n\n", 3), 3);
    dropTyped(ends[0]);
    ASSERT_EQ(write(ends[1], "x", 1), 1);
    char found = 0;
    EXPECT_EQ(read(ends[0], &found, 1), 1);
    EXPECT_EQ(found, 'x');
    close(ends[1]);
    dropTyped(ends[0]); // its end is no reason to wait
    close(ends[0]);
}
