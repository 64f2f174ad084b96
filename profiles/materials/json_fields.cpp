#include "materials/json_fields.h"

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <stdexcept>

namespace stripwright {

using nlohmann::json;

static std::string plain(double value)
{
    return json(value).dump();
}

std::string quoted(const json& value)
{
    // error_handler replace: a message must not fail on bytes that are no UTF-8.
    std::string text = value.dump(-1, ' ', false, json::error_handler_t::replace);
    constexpr size_t longest = 60;
    return text.size() > longest ? text.substr(0, longest) + "..." : text;
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
        problems_->push_back({file_, pointer_, quoted(value), "an object"});
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
    problems_->push_back({file_, at(key), found, expected});
}

const json* Fields::find(const std::string& key)
{
    asked_.push_back(key);
    if (!object_)
        return nullptr;
    auto member = object_->find(key);
    return member == object_->end() ? nullptr : &*member;
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
    problems_->push_back({file_, pointer, quoted(value), described(accepts)});
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
            report(key, "an unknown key", oneOf(known));
}

std::optional<json> parseDocument(const std::string& text, const std::string& file, const std::string& format,
                                  int version, std::vector<Problem>& problems)
{
    constexpr int deepest = 64;
    json document;
    try {
        document = json::parse(text, [](int depth, json::parse_event_t, json&) {
            // Messages write values out by recursion, which endless nesting would take below the stack.
            if (depth > deepest)
                throw std::length_error("nesting");
            return true;
        });
    } catch (const std::length_error&) {
        problems.push_back(
            {file, "", "brackets nested deeper than " + std::to_string(deepest), "a flatter document"});
        return {};
    } catch (const json::exception& error) {
        std::string what = error.what();
        if (auto start = what.find("] "); start != std::string::npos)
            what = what.substr(start + 2);
        problems.push_back({file, "", what, "a JSON document"});
        return {};
    }
    if (format.empty())
        return document;
    if (!document.is_object()) {
        problems.push_back({file, "", quoted(document), "an object with \"format\": \"" + format + "\""});
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

std::string readTextFile(const std::string& path)
{
    constexpr std::uintmax_t largest = 64u << 20;
    std::error_code error;
    const auto size = std::filesystem::file_size(path, error);
    if (error)
        throw BadInput({{path, "", error.message(), "a readable file"}});
    if (size > largest)
        throw BadInput({{path, "", std::to_string(size) + " bytes", "a file of at most 64 MiB"}});
    std::ifstream in(path, std::ios::binary);
    std::string text(size, '\0');
    in.read(text.data(), static_cast<std::streamsize>(size));
    if (!in)
        throw BadInput({{path, "", "a file that cannot be read", "a readable file"}});
    return text;
}

} // namespace stripwright
