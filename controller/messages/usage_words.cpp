#include "messages/usage_words.h"

#include "materials/problem.h"

#include <regex>

namespace stripwright {

namespace {

struct Saying {
    const char *parser, *plain; ///< A regular expression, and what takes its place.
};

// As CLI11 2.3 has them.
constexpr Saying sayings[] = {
    {R"(^A subcommand is required$)", "found no command, expected one"},
    {R"(^(-\S+) is required$)", "found no $1, expected it with a value"},
    {R"(^(\S+) is required$)", "found no $1, expected one"},
    {R"(^(\S+): \d+ required \S+ missing$)", "$1: found nothing behind it, expected a value"},
    {R"(^(\S+): At Most 1 required but received (\d+)$)", "$1: found it $2 times, expected it once"},
    {R"(^(\S+) was given a disallowed flag override$)", "$1: found a value behind it, expected none"},
    {R"(^(?:Could not convert:|Could not convert) (\S+) = ?(.*)$)", "$1: found $2, expected a number"},
    {R"(^The following arguments? (?:was|were) not expected: (-.*) \(commands: (.*)\)$)",
     "found $1, expected an option of the window, or a command before it: $2"},
    {R"(^The following arguments? (?:was|were) not expected: (.*) \(commands: (.*)\)$)",
     "found $1, expected a command: $2"},
    {R"(^The following arguments? (?:was|were) not expected: (-.*)$)",
     "found $1, expected only options that it knows"},
    {R"(^The following arguments? (?:was|were) not expected: (.*)$)", "found $1, expected nothing more here"},
    {R"(^(\S+): (.*) not in \{(.*)\}$)", "$1: found $2, expected one of $3"},
    {R"(^(\S+): Value (\S+) not in range (\S+) to (\S+)$)", "$1: found $2, expected a number from $3 to $4"},
    {R"(^(\S+) excludes (\S+)$)", "found $1 and $2, expected only one of them"},
    {R"(^(\S+) requires (\S+)$)", "found $1 without $2, expected both or neither"},
};

// std::regex calls itself once a character: a long argument would run the stack out. What the parser says
// stands at both ends.
std::string withoutItsMiddle(const std::string& text)
{
    constexpr size_t head = 300, tail = 200;
    if (text.size() <= head + tail)
        return text;
    size_t from = text.size() - tail;
    while (from < text.size() && (static_cast<unsigned char>(text[from]) & 0xC0) == 0x80)
        ++from;
    return cut(text, head) + text.substr(from);
}

} // namespace

std::string usageWords(const std::string& parserSays, const std::string& command)
{
    const std::string said = withoutItsMiddle(parserSays);
    std::string words = said;
    for (const Saying& saying : sayings)
        if (const std::regex pattern(saying.parser); std::regex_match(said, pattern)) {
            words = std::regex_replace(said, pattern, saying.plain);
            break;
        }
    return command + ": " + words + "; " + command + " --help says what it takes\n";
}

} // namespace stripwright
