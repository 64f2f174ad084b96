#include "messages/usage_words.h"

#include <gtest/gtest.h>

using namespace stripwright;

TEST(UsageWords, SayWhatWasFoundAndWhatWasExpected)
{
    const auto words = [](const char* parser) { return usageWords(parser, "stripwright plan"); };
    const std::string more = "; stripwright plan --help says what it takes\n";
    EXPECT_EQ(words("SHEET is required"), "stripwright plan: found no SHEET, expected one" + more);
    EXPECT_EQ(words("--power is required"),
              "stripwright plan: found no --power, expected it with a value" + more);
    EXPECT_EQ(words("--out: 1 required TEXT missing"),
              "stripwright plan: --out: found nothing behind it, expected a value" + more);
    EXPECT_EQ(words("--out: At Most 1 required but received 2"),
              "stripwright plan: --out: found it 2 times, expected it once" + more);
    EXPECT_EQ(words("The following argument was not expected: --foo"),
              "stripwright plan: found --foo, expected only options that it knows" + more);
    EXPECT_EQ(words("The following arguments were not expected: a b"),
              "stripwright plan: found a b, expected nothing more here" + more);
    EXPECT_EQ(words("Could not convert: --at = abc"),
              "stripwright plan: --at: found abc, expected a number" + more);
    EXPECT_EQ(words("--baud: 5 not in {9600,19200}"),
              "stripwright plan: --baud: found 5, expected one of 9600,19200" + more);
    EXPECT_EQ(words("--tcp: Value x not in range 0 to 65535"),
              "stripwright plan: --tcp: found x, expected a number from 0 to 65535" + more);
    EXPECT_EQ(words("--out requires --headless"),
              "stripwright plan: found --out without --headless, expected both or neither" + more);
    EXPECT_EQ(words("--light excludes --dark"),
              "stripwright plan: found --light and --dark, expected only one of them" + more);
    EXPECT_EQ(words("--speed: found 0, expected a number from 1 to 200"),
              "stripwright plan: --speed: found 0, expected a number from 1 to 200" + more);
}

TEST(UsageWords, OfALongArgumentKeepBothEndsAndNoHalfCharacter)
{
    const std::string said = "The following arguments were not expected: ";
    for (const char* one : {"x", "a.json ", "\xC2\xB0", "\xF0\x9F\x92\xA1"})
        for (size_t shift = 0; shift < 4; ++shift) {
            std::string surplus(shift, 'x');
            while (surplus.size() < 100'000)
                surplus += one;
            const std::string words = usageWords(said + surplus + "z (commands: plan, check)", "stripwright");
            EXPECT_LT(words.size(), 700u);
            EXPECT_EQ(words.find("stripwright: found " + surplus.substr(0, 200)), 0u) << words;
            EXPECT_NE(words.find("z, expected a command: plan, check; stripwright --help"), std::string::npos)
                << words;
            const size_t gap = words.find("...");
            ASSERT_NE(gap, std::string::npos) << words;
            const std::string last = one;
            if (last.size() > 1 && last != "a.json ") {
                EXPECT_EQ(words.substr(gap - last.size(), last.size()), last);
                EXPECT_EQ(words.substr(gap + 3, last.size()), last);
            }
        }
}
