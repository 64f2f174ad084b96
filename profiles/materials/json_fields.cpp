#include "materials/json_fields.h"

#include "materials/json_syntax.h"

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <unordered_set>

namespace stripwright {

using nlohmann::json;

static constexpr size_t longestQuote = 60;

static std::string plain(double value)
{
    return json(value).dump();
}

std::string quoted(const json& value)
{
    // error_handler replace: a message must not fail on bytes that are no UTF-8.
    std::string text = value.dump(-1, ' ', false, json::error_handler_t::replace);
    return cut(std::move(text), longestQuote);
}

std::string oneOf(const std::vector<std::string>& choices)
{
    std::string text = "one of ";
    for (size_t i = 0; i < choices.size(); ++i)
        text += (i ? ", " : "") + choices[i];
    return text;
}

Fields::Fields(const json& value, std::string file, std::string pointer, std::vector<Problem>& problems)
    : file_(std::move(file)), pointer_(std::move(pointer)), problems_(&problems)
{
    if (value.is_object())
        object_ = &value;
    else
        addProblem({file_, pointer_, quoted(value), "an object"}, *problems_);
}

std::string Fields::at(const std::string& key) const
{
    std::string escaped;
    for (char c : key)
        escaped += c == '~' ? "~0" : c == '/' ? "~1" : std::string(1, c);
    return pointer_ + "/" + escaped;
}

void Fields::report(const std::string& key, const std::string& found, const std::string& expected)
{
    addProblem({file_, at(key), found, expected}, *problems_);
}

const json* Fields::peek(const std::string& key) const
{
    if (!object_)
        return nullptr;
    auto member = object_->find(key);
    return member == object_->end() ? nullptr : &*member;
}

std::vector<std::string> Fields::keys() const
{
    std::vector<std::string> all;
    if (object_)
        for (const auto& [key, value] : object_->items())
            all.push_back(key);
    return all;
}

const json* Fields::find(const std::string& key)
{
    asked_.push_back(key);
    return peek(key);
}

const json* Fields::required(const std::string& key, const std::string& expected)
{
    const json* value = find(key);
    if (!value && object_)
        report(key, "nothing", expected);
    return value;
}

const json* Fields::optional(const std::string& key)
{
    return find(key);
}

static std::string described(Accepts accepts)
{
    const bool low = std::isfinite(accepts.min), high = std::isfinite(accepts.max);
    if (low && high && accepts.aboveMin)
        return "a number above " + plain(accepts.min) + ", at most " + plain(accepts.max);
    if (low && high)
        return "a number from " + plain(accepts.min) + " to " + plain(accepts.max);
    if (low)
        return std::string("a number ") + (accepts.aboveMin ? "above " : "of at least ") + plain(accepts.min);
    if (high)
        return "a number of at most " + plain(accepts.max);
    return "a number";
}

std::optional<double> Fields::checked(const std::string& pointer, const json& value, Accepts accepts)
{
    if (value.is_number()) {
        const double number = value.get<double>();
        const bool low = accepts.aboveMin ? number > accepts.min : number >= accepts.min;
        if (std::isfinite(number) && low && number <= accepts.max)
            return number;
    }
    addProblem({file_, pointer, quoted(value), described(accepts)}, *problems_);
    return {};
}

double Fields::number(const std::string& key, Accepts accepts)
{
    const json* value = required(key, described(accepts));
    return value ? checked(at(key), *value, accepts).value_or(0) : 0;
}

std::optional<double> Fields::optionalNumber(const std::string& key, Accepts accepts)
{
    const json* value = find(key);
    return value ? checked(at(key), *value, accepts) : std::nullopt;
}

double Fields::numberOr(const std::string& key, double absent, Accepts accepts)
{
    return optionalNumber(key, accepts).value_or(absent);
}

int Fields::integerOr(const std::string& key, int absent, int min, int max)
{
    const json* value = find(key);
    if (!value)
        return absent;
    const double number = value->is_number() ? value->get<double>() : std::nan("");
    if (number >= min && number <= max && number == std::floor(number))
        return static_cast<int>(number);
    report(key, quoted(*value), "a whole number from " + std::to_string(min) + " to " + std::to_string(max));
    return absent;
}

int Fields::integer(const std::string& key, int min, int max)
{
    required(key, "a whole number from " + std::to_string(min) + " to " + std::to_string(max));
    return integerOr(key, min, min, max);
}

std::string Fields::textOr(const std::string& key, const std::string& absent)
{
    const json* value = find(key);
    if (!value)
        return absent;
    if (value->is_string())
        return value->get<std::string>();
    report(key, quoted(*value), "a text");
    return absent;
}

std::string Fields::text(const std::string& key)
{
    if (!required(key, "a text"))
        return {};
    const size_t before = problems_->size();
    std::string found = textOr(key, "");
    if (found.empty() && problems_->size() == before)
        report(key, "\"\"", "a text that is not empty");
    return found;
}

bool Fields::flagOr(const std::string& key, bool absent)
{
    const json* value = find(key);
    if (!value)
        return absent;
    if (value->is_boolean())
        return value->get<bool>();
    report(key, quoted(*value), "true or false");
    return absent;
}

int Fields::choice(const std::string& key, const std::vector<std::string>& choices, std::optional<int> absent)
{
    const json* value = absent ? find(key) : required(key, oneOf(choices));
    if (!value)
        return absent.value_or(0);
    if (value->is_string()) {
        auto found = std::find(choices.begin(), choices.end(), value->get<std::string>());
        if (found != choices.end())
            return static_cast<int>(found - choices.begin());
    }
    report(key, quoted(*value), oneOf(choices));
    return absent.value_or(0);
}

std::vector<double> Fields::numbers(const std::string& key, Accepts accepts)
{
    std::vector<double> all;
    const json* value = required(key, "an array of numbers");
    if (!value)
        return all;
    if (!value->is_array()) {
        report(key, quoted(*value), "an array of numbers");
        return all;
    }
    for (size_t i = 0; i < value->size(); ++i)
        if (auto number = checked(at(key) + "/" + std::to_string(i), (*value)[i], accepts))
            all.push_back(*number);
    return all;
}

void Fields::finish()
{
    if (!object_)
        return;
    std::vector<std::string> known = asked_;
    std::sort(known.begin(), known.end());
    known.erase(std::unique(known.begin(), known.end()), known.end());
    for (const auto& [key, value] : object_->items())
        if (!std::binary_search(known.begin(), known.end(), key))
            report(cut(key, longestQuote), "an unknown key", oneOf(known));
}

namespace {

/// Watches a document while it is parsed, before it takes memory or stack that nobody has.
class ParseGuard {
public:
    ParseGuard(const std::string& file, std::vector<Problem>& problems) : file_(file), problems_(problems) {}

    struct Refused {
        std::string found, expected;
    };

    bool operator()(json::parse_event_t event, json& parsed)
    {
        using Event = json::parse_event_t;
        constexpr size_t deepest = 64, mostKeys = 1000, mostValues = 8'000'000;
        if (event == Event::key) {
            if (inside_.back().keys.size() == mostKeys)
                throw Refused{"an object with more than " + std::to_string(mostKeys) + " keys",
                              "the keys of its format"};
            inside_.back().key = parsed.get<std::string>();
            if (!inside_.back().keys.insert(inside_.back().key).second)
                addProblem({file_, pointer(), "the key a second time", "each key once in an object"},
                           problems_);
            return true;
        }
        if (event == Event::object_end || event == Event::array_end) {
            inside_.pop_back();
            return true;
        }
        if (++values_ > mostValues)
            throw Refused{"more than " + std::to_string(mostValues) + " values", "a shorter document"};
        if (!inside_.empty())
            ++inside_.back().count;
        if (event == Event::value)
            return true;
        // Messages write values out by recursion, which endless nesting would take below the stack.
        if (inside_.size() >= deepest)
            throw Refused{"brackets nested deeper than " + std::to_string(deepest), "a flatter document"};
        inside_.push_back({.isArray = event == Event::array_start});
        return true;
    }

private:
    struct Level {
        bool isArray;
        size_t count = 0;
        std::string key = {};
        std::unordered_set<std::string> keys = {};
    };

    std::string pointer() const
    {
        std::string text;
        for (const Level& level : inside_)
            text += "/" + (level.isArray ? std::to_string(level.count - 1) : cut(level.key, longestQuote));
        return text;
    }

    const std::string& file_;
    std::vector<Problem>& problems_;
    std::vector<Level> inside_;
    size_t values_ = 0;
};

} // namespace

std::optional<json> parseDocument(const std::string& text, const std::string& file, const std::string& format,
                                  int version, std::vector<Problem>& problems)
{
    json document;
    const size_t problemsBefore = problems.size();
    if (text.find_first_not_of(" \t\r\n") == std::string::npos) {
        addProblem({file, "", "an empty file", "a JSON document"}, problems);
        return {};
    }
    ParseGuard guard(file, problems);
    try {
        document = json::parse(
            text, [&guard](int, json::parse_event_t event, json& parsed) { return guard(event, parsed); });
    } catch (const ParseGuard::Refused& refused) {
        addProblem({file, "", refused.found, refused.expected}, problems);
        return {};
    } catch (const json::exception&) { // its words are for programmers
        addProblem(syntaxProblem(text, file), problems);
        return {};
    }
    if (problems.size() > problemsBefore)
        return {};
    if (format.empty())
        return document;
    if (!document.is_object()) {
        addProblem({file, "", quoted(document), "an object with \"format\": \"" + format + "\""}, problems);
        return {};
    }
    const json foundFormat = document.value("format", json());
    if (foundFormat != format) {
        problems.push_back(
            {file, "/format", foundFormat.is_null() ? "nothing" : quoted(foundFormat), quoted(json(format))});
        return {};
    }
    const json foundVersion = document.value("version", json());
    if (foundVersion != version) {
        problems.push_back({file, "/version", foundVersion.is_null() ? "nothing" : quoted(foundVersion),
                            std::to_string(version) + "; another version of Stripwright wrote this file"});
        return {};
    }
    return document;
}

std::string readTextFile(const std::string& path, std::uintmax_t mostMB)
{
    constexpr std::uintmax_t bytesPerMB = 1'000'000;
    std::error_code error;
    const auto status = std::filesystem::status(path, error);
    if (status.type() == std::filesystem::file_type::not_found)
        throw BadInput({{path, "", "no such file", "a readable file"}});
    if (error)
        throw BadInput({{path, "", error.message(), "a readable file"}});
    // A pipe or device would be waited for, or never end.
    if (!std::filesystem::is_regular_file(status))
        throw BadInput(
            {{path, "", std::filesystem::is_directory(status) ? "a folder" : "a pipe or device", "a file"}});
    const auto size = std::filesystem::file_size(path, error);
    if (error)
        throw BadInput({{path, "", error.message(), "a readable file"}});
    if (size > mostMB * bytesPerMB)
        throw BadInput({{path, "", std::to_string((size + bytesPerMB - 1) / bytesPerMB) + " MB",
                         "at most " + std::to_string(mostMB) + " MB"}});
    std::ifstream in(path, std::ios::binary);
    std::string text(size, '\0');
    in.read(text.data(), static_cast<std::streamsize>(size));
    if (!in)
        throw BadInput({{path, "", "a file that cannot be read", "a readable file"}});
    return text;
}

} // namespace stripwright
