#include "materials/entry_keys.h"

#include <algorithm>

namespace stripwright {

using nlohmann::json;

EntryReader::EntryReader(const json& value, const std::string& file, const std::string& pointer,
                         const KnownEntries& known, std::vector<Problem>& problems)
    : pointer_(pointer), known_(known), fields_(value, file, pointer, problems),
      problemsBefore_(problems.size())
{
}

void EntryReader::id(std::string& value)
{
    value = fields_.text("id");
    const bool plain = std::all_of(value.begin(), value.end(), [](unsigned char c) {
        return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '.' ||
               c == '-' || c == '_';
    });
    require({"id"}, plain && value != "unknown" && value.size() <= 80, quoted(json(value)),
            "at most 80 letters, digits, dots, hyphens and underscores, and not \"unknown\"");
}

void EntryReader::text(const std::string& key, std::string& value)
{
    value = fields_.text(key);
    requireShort(key, value);
}

void EntryReader::textIfAny(const std::string& key, std::string& value)
{
    value = fields_.textOr(key, value);
    requireShort(key, value);
}

void EntryReader::requireShort(const std::string& key, const std::string& value)
{
    constexpr size_t longest = 2000;
    require({key}, value.size() <= longest, std::to_string(value.size()) + " bytes",
            "a text of at most " + std::to_string(longest) + " bytes");
}

void EntryReader::numberIfAny(const std::string& key, double& value, Accepts accepts)
{
    value = fields_.numberOr(key, value, accepts);
}

void EntryReader::numberIfAny(const std::string& key, std::optional<double>& value, Accepts accepts)
{
    if (const auto stated = fields_.optionalNumber(key, accepts))
        value = stated;
}

void EntryReader::wholeIfAny(const std::string& key, int& value, int min, int max)
{
    value = fields_.integerOr(key, value, min, max);
}

void EntryReader::wholeIfAny(const std::string& key, std::optional<int>& value, int min, int max)
{
    if (fields_.optional(key))
        value = fields_.integerOr(key, min, min, max);
}

void EntryReader::flag(const std::string& key, bool& value)
{
    if (fields_.required(key, "true or false"))
        value = fields_.flagOr(key, value);
}

void EntryReader::window(const std::string& key, Window& window, Accepts accepts, Sides sides)
{
    const std::string expected = "an object with min, max or both";
    const json* value = sides == Sides::Any ? fields_.optional(key) : fields_.required(key, expected);
    if (!value)
        return;
    EntryReader nested(*value, fields_.file(), pointer_ + "/" + key, known_, fields_.problems());
    nested.numberIfAny("min", window.min, accepts);
    nested.numberIfAny("max", window.max, accepts);
    Habit habit;
    nested.habit(habit);
    window.minIsHabit = window.min && habit.of("min");
    window.maxIsHabit = window.max && habit.of("max");
    const bool needsMin = sides == Sides::Both, needsMax = sides != Sides::Any;
    nested.require({"min"}, window.min || !needsMin, "nothing", "a number: this side must be stated");
    nested.require({"max"}, window.max || !needsMax, "nothing", "a number: this side must be stated");
    if (window.min && window.max)
        nested.require({"min", "max"}, *window.min <= *window.max, *window.min,
                       "at most max, " + quoted(*window.max));
    nested.finish();
}

void EntryReader::sites(std::vector<double>& siteXMm, double lengthMm, double siteMm)
{
    constexpr int mostSites = 400;
    constexpr Accepts onStrip = {.min = 0, .max = 5000, .aboveMin = true};
    const json* list = fields_.optional("site_x_mm");
    if (list) {
        const bool fits = list->is_array() && !list->empty() && list->size() <= mostSites;
        require({"site_x_mm"}, fits,
                list->is_array() ? std::to_string(list->size()) + " sites" : quoted(*list),
                "an array of 1 to " + std::to_string(mostSites) + " numbers");
        if (fits)
            siteXMm = fields_.numbers("site_x_mm", onStrip);
    } else if (!fields_.optional("first_site_mm") && !fields_.optional("pitch_mm") &&
               !fields_.optional("site_count")) {
        report("site_x_mm", "nothing", "the LED centres, or first_site_mm, pitch_mm and site_count");
    } else {
        const double first = fields_.number("first_site_mm", onStrip);
        const double pitch = fields_.number("pitch_mm", onStrip);
        const int count = fields_.integer("site_count", 1, mostSites);
        for (int i = 0; i < count; ++i)
            siteXMm.push_back(first + i * pitch);
    }
    for (size_t i = 0; i < siteXMm.size(); ++i) {
        const std::string place = list ? "site_x_mm/" + std::to_string(i) : "site_count";
        const std::string found = "site " + std::to_string(i + 1) + " at " + quoted(siteXMm[i]) + " mm";
        // One site in the wrong place says enough: the sites after it are wrong with it.
        require({place, "site_x_mm", "first_site_mm", "pitch_mm", "length_mm"}, siteXMm[i] < lengthMm, found,
                "sites inside length_mm, " + quoted(lengthMm));
        if (i > 0)
            require({place, "site_x_mm"}, siteXMm[i] > siteXMm[i - 1], found,
                    "sites in rising order, the one before is at " + quoted(siteXMm[i - 1]));
        // Parts that overlap or hang over an end have no heat path that the model could state.
        const double roomMm = i > 0 ? siteXMm[i] - siteXMm[i - 1] : siteMm;
        const double endMm = std::min(siteXMm[i], lengthMm - siteXMm[i]);
        require({place, "site_x_mm", "first_site_mm", "pitch_mm", "length_mm", "led"},
                endMm >= siteMm / 2 - 1e-9 && roomMm >= siteMm - 1e-9, found,
                "sites clear of each other and of the ends: LED and pad are " + quoted(siteMm) + " mm long");
    }
}

void EntryReader::texts(const std::string& key, std::vector<std::string>& values, size_t most)
{
    constexpr size_t longest = 200;
    const json* list = arrayIfAny(key, most);
    for (size_t i = 0; list && i < list->size(); ++i) {
        const json& value = (*list)[i];
        if (value.is_string() && value.get_ref<const std::string&>().size() <= longest)
            values.push_back(value.get<std::string>());
        else
            report(key + "/" + std::to_string(i), quoted(value),
                   "a text of at most " + std::to_string(longest) + " bytes");
    }
}

void EntryReader::habit(Habit& habit)
{
    const json* stated = fields_.optional("habit");
    if (!stated)
        return;
    if (stated->is_boolean()) {
        habit.whole = stated->get<bool>();
        return;
    }
    std::vector<std::string> plainKeys;
    for (const std::string& key : fields_.keys())
        if (!fields_.peek(key)->is_object() && key != "id" && key != "name" && key != "source" &&
            key != "habit")
            plainKeys.push_back(key);
    if (!stated->is_array()) {
        report("habit", quoted(*stated), "true, or an array of keys of this object whose values are habit");
        return;
    }
    for (size_t i = 0; i < stated->size(); ++i) {
        const json& each = (*stated)[i];
        const std::string key = each.is_string() ? each.get<std::string>() : "";
        const bool known = std::find(plainKeys.begin(), plainKeys.end(), key) != plainKeys.end();
        const bool again = std::find(habit.values.begin(), habit.values.end(), key) != habit.values.end();
        if (known && !again)
            habit.values.push_back(key);
        else
            report("habit/" + std::to_string(i), quoted(each),
                   plainKeys.empty() ? "no such key: this object states no value"
                                     : "each value of this object that is habit once by its key, " +
                                           oneOf(plainKeys) + "; parts and windows mark their own");
    }
}

const json* EntryReader::arrayIfAny(const std::string& key, size_t most)
{
    const json* value = fields_.optional(key);
    if (!value || (value->is_array() && value->size() <= most))
        return value;
    report(key, value->is_array() ? std::to_string(value->size()) + " items" : quoted(*value),
           "an array of at most " + std::to_string(most) + " items");
    return nullptr;
}

bool EntryReader::sound(const std::string& key) const
{
    const std::string pointer = pointer_ + "/" + key;
    const auto& problems = fields_.problems();
    return std::none_of(problems.begin() + static_cast<std::ptrdiff_t>(problemsBefore_), problems.end(),
                        [&](const Problem& problem) {
                            return problem.pointer == pointer || problem.pointer.starts_with(pointer + "/");
                        });
}

void EntryReader::require(std::initializer_list<std::string> keys, bool holds, const json& found,
                          const std::string& expected)
{
    if (holds ||
        !std::all_of(keys.begin(), keys.end(), [this](const std::string& key) { return sound(key); }))
        return;
    report(*keys.begin(), found.is_string() ? found.get<std::string>() : quoted(found), expected);
}

std::string EntryReader::expectedEntry(const std::string& word)
{
    return "the id of a shelf entry (" + word + ") or an object of its shape";
}

void EntryReader::report(const std::string& key, const std::string& found, const std::string& expected)
{
    addProblem({fields_.file(), pointer_ + "/" + key, found, expected}, fields_.problems());
}

void EntryReader::reportUnknownId(const std::string& key, const std::string& wanted, const std::string& word,
                                  const std::vector<std::string>& ids)
{
    report(key, "an unknown " + word + ", " + quoted(json(wanted)),
           ids.empty() ? "an inline object: the shelf holds no such entries" : oneOf(ids));
}

void EntryWriter::textIfAny(const std::string& key, const std::string& value)
{
    if (!value.empty())
        object_[key] = value;
}

void EntryWriter::numberIfAny(const std::string& key, const std::optional<double>& value, Accepts)
{
    if (value)
        object_[key] = *value;
}

void EntryWriter::wholeIfAny(const std::string& key, const std::optional<int>& value, int, int)
{
    if (value)
        object_[key] = *value;
}

void EntryWriter::window(const std::string& key, const Window& window, Accepts, Sides)
{
    if (!window.min && !window.max)
        return;
    json& object = object_[key] = json::object();
    if (window.min)
        object["min"] = *window.min;
    if (window.max)
        object["max"] = *window.max;
    if (window.min && window.minIsHabit)
        object["habit"].push_back("min");
    if (window.max && window.maxIsHabit)
        object["habit"].push_back("max");
}

void EntryWriter::habit(const Habit& habit)
{
    if (habit.whole)
        object_["habit"] = true;
    else if (!habit.values.empty())
        object_["habit"] = habit.values;
}

void EntryWriter::texts(const std::string& key, const std::vector<std::string>& values, size_t)
{
    if (!values.empty())
        object_[key] = values;
}

} // namespace stripwright
