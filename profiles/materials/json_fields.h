#pragma once

#include "materials/problem.h"

#include <cstdint>
#include <limits>
#include <nlohmann/json.hpp>
#include <optional>
#include <set>

namespace stripwright {

/// Numbers accepted for a field, both ends included unless `aboveMin`.
struct Accepts {
    double min = -std::numeric_limits<double>::infinity();
    double max = std::numeric_limits<double>::infinity();
    bool aboveMin = false; ///< min itself is refused.
};
inline Accepts above(double min)
{
    return {.min = min, .aboveMin = true};
}
inline Accepts atLeast(double min)
{
    return {.min = min};
}
inline Accepts within(double min, double max)
{
    return {.min = min, .max = max};
}

/// Reads the members of one JSON object and collects every problem instead of throwing; a bad field reads as
/// its default so that reading can go on. Call finish() last: it reports the members nobody asked for.
class Fields {
public:
    /// `value` and `problems` must outlive this. A value that is no object is a problem, and every field then
    /// absent.
    Fields(const nlohmann::json& value, std::string file, std::string pointer,
           std::vector<Problem>& problems);

    double number(const std::string& key, Accepts accepts = {}); ///< Required.
    double numberOr(const std::string& key, double absent, Accepts accepts = {});
    std::optional<double> optionalNumber(const std::string& key, Accepts accepts = {});
    int integer(const std::string& key, int min, int max); ///< Required.
    int integerOr(const std::string& key, int absent, int min, int max);
    std::string text(const std::string& key); ///< Required, not empty.
    std::string textOr(const std::string& key, const std::string& absent);
    bool flagOr(const std::string& key, bool absent);
    /// Index of the text found at `key` among `choices`; 0 after a problem. Required unless `absent` is
    /// given.
    int choice(const std::string& key, const std::vector<std::string>& choices,
               std::optional<int> absent = {});
    std::vector<double> numbers(const std::string& key, Accepts accepts = {}); ///< Required array of numbers.

    const nlohmann::json* required(const std::string& key,
                                   const std::string& expected); ///< Null after a problem.
    const nlohmann::json* optional(const std::string& key);
    const nlohmann::json*
    peek(const std::string& key) const;    ///< Null if absent; does not count as asked for.
    std::vector<std::string> keys() const; ///< Those that stand there.

    std::string at(const std::string& key) const; ///< Pointer of a member.
    const std::string& file() const { return file_; }
    std::vector<Problem>& problems() const { return *problems_; }
    void report(const std::string& key, const std::string& found, const std::string& expected);
    void finish();

private:
    const nlohmann::json* find(const std::string& key);
    std::optional<double> checked(const std::string& pointer, const nlohmann::json& value, Accepts accepts);

    const nlohmann::json* object_ = nullptr;
    std::string file_, pointer_;
    std::vector<Problem>* problems_;
    std::vector<std::string> asked_;
};

/// A value as a message quotes it: compact JSON, cut at 60 characters.
std::string quoted(const nlohmann::json& value);

/// "one of a, b, c".
std::string oneOf(const std::vector<std::string>& choices);

/// Parses a document; a syntax error becomes a syntaxProblem() (json_syntax.h), and null is returned. So do a
/// key that stands twice in one object, brackets nested deeper than 64, over 1000 keys in an object and over
/// 8 million values. Checks "format" and "version" when a format is given: the caller's Fields must then ask
/// for both keys too.
std::optional<nlohmann::json> parseDocument(const std::string& text, const std::string& file,
                                            const std::string& format, int version,
                                            std::vector<Problem>& problems);

/// The largest files that are read. A shelf file of a thousand entries has 1 MB; a plan of a 5 m strip with
/// 150 of its 400 sites marked has 7 MB.
constexpr std::uintmax_t mostSheetMB = 16, mostPlanMB = 64, mostCurveMB = 64;

/// Whole file as text. Throws BadInput if it cannot be read, is no regular file, or is larger.
std::string readTextFile(const std::string& path, std::uintmax_t mostMB = mostSheetMB);

} // namespace stripwright
