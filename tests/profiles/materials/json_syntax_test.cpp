#include "materials/json_syntax.h"

#include "expect_problem.h"
#include "materials/json_fields.h"

#include <fstream>

namespace stripwright {
namespace {

struct Slip {
    const char *text, *place, *found, *expected;
};

class JsonSyntax : public testing::TestWithParam<Slip> {};

// As every document of the project is read.
std::vector<Problem> problemsIn(const std::string& text)
{
    std::vector<Problem> problems;
    EXPECT_FALSE(parseDocument(text, "a.json", "", 0, problems)) << text;
    return problems;
}

TEST_P(JsonSyntax, IsSaidWithItsPlaceAndWhatToDo)
{
    const Slip& slip = GetParam();
    const auto problems = problemsIn(slip.text);
    ASSERT_EQ(problems.size(), 1u);
    EXPECT_EQ(problems[0].pointer, slip.place);
    EXPECT_THAT(problems[0].found, testing::HasSubstr(slip.found));
    EXPECT_THAT(problems[0].expected, testing::HasSubstr(slip.expected));
}

INSTANTIATE_TEST_SUITE_P(
    Slips, JsonSyntax,
    testing::Values(
        Slip{"{\"a\": 1,\n}", "line 1, column 8", "a comma too many before }", "take it out"},
        Slip{"[1, 2,]", "line 1, column 6", "a comma too many before ]", "take it out"},
        Slip{"{\"a\": 1,, \"b\": 2}", "line 1, column 9", "two commas", "take it out"},
        Slip{"{, \"a\": 1}", "line 1, column 2", "a comma right behind {", "take it out"},
        Slip{"{\n  \"a\": 1 // thick\n}", "line 2, column 10", "a comment: // thick", "not part of JSON"},
        Slip{"/* of the bench */ {}", "line 1, column 1", "a comment", "not part of JSON"},
        Slip{"# of the bench\n{}", "line 1, column 1", "a comment", "not part of JSON"},
        Slip{"{\"a\": 1\n \"b\": 2}", "line 2, column 2", "\"b\" right behind 1", "a comma between"},
        Slip{"{\"°\": 1 \"b\": 2}", "line 1, column 9", "\"b\" right behind 1", "a comma between"},
        Slip{"{\"a\": 1,5}", "line 1, column 8", "1,5, with a decimal comma", "1.5"},
        Slip{"{\"a\": 12 mm}", "line 1, column 7", "12 mm", "its key names the unit"},
        Slip{"{\"a\" 1}", "line 1, column 6", "1 right behind the key \"a\"", "a :"},
        Slip{"{\"a\" = 1}", "line 1, column 6", "= right behind the key \"a\"", "a :"},
        Slip{"{\"a\":}", "line 1, column 6", "a } right behind :", "a value"},
        Slip{"{a: 1}", "line 1, column 2", "a where a key belongs", "double quotes"},
        Slip{"{\"a\": 'x'}", "line 1, column 7", "'x'", "double quotes"},
        Slip{"{\"a\": True}", "line 1, column 7", "True as a value", "true, false, null"},
        Slip{"{\"a\": NaN}", "line 1, column 7", "NaN as a value", "a number"},
        Slip{"{\"a\": .5}", "line 1, column 7", ".5 as a number", "-0.5"},
        Slip{"{\"a\": 007}", "line 1, column 7", "007 as a number", "12"},
        Slip{"{\"a\": 1e999}", "line 1, column 7", "the number 1e999", "below 1e308"},
        Slip{"{\"a\": \"one\ntwo\"}", "line 1, column 7", "does not end on its line", "\\n"},
        Slip{"{\"a\": \"C:\\dir\"}", "line 1, column 10", "a \\ before d", "\\\\ for a backslash"},
        Slip{"{\"a\": \"\xE9\"}", "line 1, column 8", "no UTF-8", "saved as UTF-8"},
        Slip{"{\"a\": [1, 2}", "line 1, column 12", "a }", "a ] that closes the [ of line 1"},
        Slip{"{\n\"a\": {\"b\": 1}\n", "line 3, column 1", "the end of the file",
             "a } that closes the { of line 1"},
        Slip{"\xFF\xFE{", "line 1, column 1", "a file that is no UTF-8 text", "saved as UTF-8"},
        Slip{"\xFE\xFF{", "line 1, column 1", "a file that is no UTF-8 text", "saved as UTF-8"},
        Slip{"{\n\"a\": \xB0}", "line 2, column 6", "a file that is no UTF-8 text", "saved as UTF-8"},
        Slip{"{\"a\":\xC2\xA0"
             "1}",
             "line 1, column 6", "a no-break space", "a plain space"},
        Slip{"{\"a\": 1\xC2\xA0}", "line 1, column 8", "a no-break space", "a plain space"},
        Slip{"{\"a\": 1\xC2\xA0mm}", "line 1, column 7", "as a number", "without a unit"},
        Slip{"{\"a\": \"\xC2\xA0\",}", "line 1, column 10", "a comma too many", "take it out"},
        Slip{"{\"a\": \"b\\uD800\"}\n", "line 1, column 9", "\\uD800, half of a character", "both"},
        Slip{"{\"a\": \"\\uD800\\u0041\"}", "line 1, column 8", "\\uD800, half", "both"},
        Slip{"{\"a\": \"\\uDCA1\"}", "line 1, column 8", "\\uDCA1, half", "both"},
        Slip{"{\"a\": \"\\uD83D\\uDCA1\\u00b0\",}", "line 1, column 27", "a comma too many", "take it out"},
        Slip{"{}}", "line 1, column 3", "} that closes nothing", "take it out"},
        Slip{"{} {}", "line 1, column 4", "behind the end", "take it out"}));

TEST(JsonSyntax, AFileInUtf16ThatDoesNotSaySoIsNamed)
{
    for (const std::string& text : {std::string("{\0}\0", 4), std::string("\0{\0}", 4)}) {
        const auto problems = problemsIn(text);
        ASSERT_EQ(problems.size(), 1u);
        EXPECT_THAT(problems[0].found, testing::HasSubstr("no UTF-8 text"));
    }
}

TEST(JsonSyntax, FindsAFaultWhereverAShippedSheetIsCutOff)
{
    std::ifstream in(std::string(SHELF_DIR) + "/marram-lane-bar-7.bench.json");
    const std::string whole((std::istreambuf_iterator<char>(in)), {});
    ASSERT_GT(whole.size(), 500u);
    const size_t end = whole.rfind('}');
    for (size_t size = 1; size <= end; ++size) {
        const std::string text = whole.substr(0, size);
        if (text.find_first_not_of(" \t\r\n") == std::string::npos)
            continue;
        const auto problems = problemsIn(text);
        ASSERT_EQ(problems.size(), 1u) << text;
        ASSERT_THAT(problems[0].found, testing::Not(testing::HasSubstr("no JSON"))) << text;
    }
}

} // namespace
} // namespace stripwright
