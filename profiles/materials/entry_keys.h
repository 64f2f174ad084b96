#pragma once

#include "materials/json_fields.h"
#include "materials/shelf.h"

#include <initializer_list>

namespace stripwright {

/// What a kind of shelf entry is called in a sentence, the file it stands in, and where the shelf keeps it.
template <class Entry> struct KindOf;
#define STRIPWRIGHT_KIND(Entry, Word, File, Member)                                                          \
    template <> struct KindOf<Entry> {                                                                       \
        static constexpr const char* word = Word;                                                            \
        static constexpr const char* file = File;                                                            \
        static constexpr auto member = &Shelf::Member;                                                       \
    };
STRIPWRIGHT_KIND(Alloy, "alloy", "alloys", alloys)
STRIPWRIGHT_KIND(Paste, "paste", "pastes", pastes)
STRIPWRIGHT_KIND(LedPackage, "LED package", "leds", leds)
STRIPWRIGHT_KIND(Lens, "lens", "lenses", lenses)
STRIPWRIGHT_KIND(Glue, "glue", "glues", glues)
STRIPWRIGHT_KIND(CoreAlloy, "core alloy", "core-alloys", coreAlloys)
STRIPWRIGHT_KIND(StripType, "strip type", "strips", strips)
STRIPWRIGHT_KIND(PlateType, "plate", "plates", plates)
STRIPWRIGHT_KIND(ContactCondition, "contact condition", "contacts", contacts)
STRIPWRIGHT_KIND(SinkBlock, "sink block", "sink-blocks", sinkBlocks)
#undef STRIPWRIGHT_KIND

/// Entries that may be named by id. Ids of a kind whose file could not be read are taken on trust, so that
/// one broken file is not reported again by every entry that names something in it.
struct KnownEntries {
    const Shelf& shelf;
    std::set<std::string> unreadFiles = {};
};

/// Sides a window must state.
enum class Sides { Any, Max, Both };

/// The members of each kind, in one place for reading and writing: `Keys` is EntryReader or EntryWriter.
template <class Keys> void keysOf(Keys& keys, Composition& composition);
template <class Keys> void keysOf(Keys& keys, Alloy& alloy);
template <class Keys> void keysOf(Keys& keys, Paste& paste);
template <class Keys> void keysOf(Keys& keys, LedPackage& led);
template <class Keys> void keysOf(Keys& keys, Lens& lens);
template <class Keys> void keysOf(Keys& keys, Glue& glue);
template <class Keys> void keysOf(Keys& keys, CoreAlloy& alloy);
template <class Keys> void keysOf(Keys& keys, Core& core);
template <class Keys> void keysOf(Keys& keys, Dielectric& dielectric);
template <class Keys> void keysOf(Keys& keys, Copper& copper);
template <class Keys> void keysOf(Keys& keys, StripType& strip);
template <class Keys> void keysOf(Keys& keys, PlateType& plate);
template <class Keys> void keysOf(Keys& keys, ContactSegment& segment);
template <class Keys> void keysOf(Keys& keys, ContactCondition& contact);
template <class Keys> void keysOf(Keys& keys, SinkBlock& block);

/// Fills a struct from a JSON object, one call a member. "IfAny": an absent member leaves the value as it
/// stands.
class EntryReader {
public:
    static constexpr bool reading = true;

    EntryReader(const nlohmann::json& value, const std::string& file, const std::string& pointer,
                const KnownEntries& known, std::vector<Problem>& problems);

    void id(std::string& value);
    void text(const std::string& key, std::string& value);
    void textIfAny(const std::string& key, std::string& value);
    void number(const std::string& key, double& value, Accepts accepts)
    {
        value = fields_.number(key, accepts);
    }
    void numberIfAny(const std::string& key, double& value, Accepts accepts);
    void numberIfAny(const std::string& key, std::optional<double>& value, Accepts accepts);
    void whole(const std::string& key, int& value, int min, int max)
    {
        value = fields_.integer(key, min, max);
    }
    void wholeIfAny(const std::string& key, int& value, int min, int max);
    void wholeIfAny(const std::string& key, std::optional<int>& value, int min, int max);
    void flag(const std::string& key, bool& value);
    void flagIfAny(const std::string& key, bool& value) { value = fields_.flagOr(key, value); }
    void window(const std::string& key, Window& window, Accepts accepts, Sides sides);
    /// Listed, or by first site, pitch and count; each with `siteMm` of the strip to itself.
    void sites(std::vector<double>& siteXMm, double lengthMm, double siteMm);
    void texts(const std::string& key, std::vector<std::string>& values, size_t most); ///< Optional.
    /// "habit", if any: true, or plain values of this object by their keys.
    void habit(Habit& habit);
    bool states(const std::string& key) const { return fields_.peek(key); }
    template <class Entry> const Entry* shelved(const std::string& id) const
    {
        return findById(known_.shelf.*KindOf<Entry>::member, id);
    }
    template <class Entry> std::vector<std::string> shelvedIds() const
    {
        std::vector<std::string> ids;
        for (const Entry& known : known_.shelf.*KindOf<Entry>::member)
            ids.push_back(known.id);
        return ids;
    }

    template <class Choice>
    void choiceIfAny(const std::string& key, Choice& value, const std::vector<std::string>& words)
    {
        value = static_cast<Choice>(fields_.choice(key, words, static_cast<int>(value)));
    }

    template <class Part> void part(const std::string& key, Part& part)
    {
        if (const auto* value = fields_.required(key, "an object"))
            readPart(*value, key, part);
    }

    template <class Part> void partIfAny(const std::string& key, Part& part)
    {
        if (const auto* value = fields_.optional(key))
            readPart(*value, key, part);
    }

    template <class Part> void partIfAny(const std::string& key, std::optional<Part>& part)
    {
        if (const auto* value = fields_.optional(key))
            readPart(*value, key, part.emplace());
    }

    template <class Part> void partsIfAny(const std::string& key, std::vector<Part>& parts, size_t most)
    {
        const auto* value = arrayIfAny(key, most);
        for (size_t i = 0; value && i < value->size(); ++i) {
            parts.emplace_back();
            readPart((*value)[i], key + "/" + std::to_string(i), parts.back());
        }
    }

    template <class Entry> void entry(const std::string& key, Entry& entry)
    {
        if (const auto* value = fields_.required(key, expectedEntry(KindOf<Entry>::word)))
            readEntry(*value, key, entry);
    }

    template <class Entry> void entryIfAny(const std::string& key, std::optional<Entry>& entry)
    {
        if (const auto* value = fields_.optional(key))
            readEntry(*value, key, entry.emplace());
    }

    /// Reports at the first of `keys` unless `holds`. Silent when one of them was already found wrong: a
    /// value that could not be read says nothing about the others. A key may reach deeper, "sites/3/site".
    void require(std::initializer_list<std::string> keys, bool holds, const nlohmann::json& found,
                 const std::string& expected);
    bool sound(const std::string& key) const;

    Fields& fields() { return fields_; }
    void finish() { fields_.finish(); }

private:
    template <class Part> void readPart(const nlohmann::json& value, const std::string& key, Part& part)
    {
        EntryReader nested(value, fields_.file(), pointer_ + "/" + key, known_, fields_.problems());
        keysOf(nested, part);
        nested.finish();
    }

    template <class Entry> void readEntry(const nlohmann::json& value, const std::string& key, Entry& entry)
    {
        if (!value.is_string()) {
            if (value.is_object())
                readPart(value, key, entry);
            else
                report(key, quoted(value), expectedEntry(KindOf<Entry>::word));
            return;
        }
        const auto wanted = value.get<std::string>();
        if (const Entry* found = shelved<Entry>(wanted)) {
            entry = *found;
            return;
        }
        if (known_.unreadFiles.contains(KindOf<Entry>::file)) {
            entry.id = wanted;
            return;
        }
        reportUnknownId(key, wanted, KindOf<Entry>::word, shelvedIds<Entry>());
    }

    void requireShort(const std::string& key, const std::string& value);
    const nlohmann::json* arrayIfAny(const std::string& key, size_t most);
    static std::string expectedEntry(const std::string& word);
    void report(const std::string& key, const std::string& found, const std::string& expected);
    void reportUnknownId(const std::string& key, const std::string& wanted, const std::string& word,
                         const std::vector<std::string>& ids);

    std::string pointer_;
    const KnownEntries& known_;
    Fields fields_;
    size_t problemsBefore_;
};

/// Writes what EntryReader reads. With a shelf, entries that it holds unchanged are written as their id.
class EntryWriter {
public:
    static constexpr bool reading = false;

    explicit EntryWriter(const Shelf* byId = nullptr) : byId_(byId) {}

    void id(const std::string& value) { object_["id"] = value; }
    void text(const std::string& key, const std::string& value) { object_[key] = value; }
    void textIfAny(const std::string& key, const std::string& value);
    void number(const std::string& key, double value, Accepts) { object_[key] = value; }
    void numberIfAny(const std::string& key, double value, Accepts) { object_[key] = value; }
    void numberIfAny(const std::string& key, const std::optional<double>& value, Accepts);
    void whole(const std::string& key, int value, int, int) { object_[key] = value; }
    void wholeIfAny(const std::string& key, int value, int, int) { object_[key] = value; }
    void wholeIfAny(const std::string& key, const std::optional<int>& value, int, int);
    void flag(const std::string& key, bool value) { object_[key] = value; }
    void flagIfAny(const std::string& key, bool value) { object_[key] = value; }
    void window(const std::string& key, const Window& window, Accepts, Sides);
    void sites(const std::vector<double>& siteXMm, double, double) { object_["site_x_mm"] = siteXMm; }
    void texts(const std::string& key, const std::vector<std::string>& values, size_t);
    void habit(const Habit& habit);

    template <class Choice>
    void choiceIfAny(const std::string& key, Choice value, const std::vector<std::string>& words)
    {
        object_[key] = words.at(static_cast<size_t>(value));
    }

    template <class Part> void part(const std::string& key, Part& part)
    {
        EntryWriter nested(byId_);
        keysOf(nested, part);
        object_[key] = nested.object_;
    }
    template <class Part> void partIfAny(const std::string& key, Part& value) { part(key, value); }
    template <class Part> void partIfAny(const std::string& key, std::optional<Part>& value)
    {
        if (value)
            part(key, *value);
    }

    template <class Part> void partsIfAny(const std::string& key, std::vector<Part>& parts, size_t)
    {
        if (parts.empty())
            return;
        object_[key] = nlohmann::json::array();
        for (Part& each : parts) {
            EntryWriter nested(byId_);
            keysOf(nested, each);
            object_[key].push_back(nested.object_);
        }
    }

    template <class Entry> void entry(const std::string& key, Entry& entry)
    {
        const Entry* shelved = byId_ ? findById(byId_->*KindOf<Entry>::member, entry.id) : nullptr;
        if (shelved && *shelved == entry)
            object_[key] = entry.id;
        else
            part(key, entry);
    }

    template <class Entry> void entryIfAny(const std::string& key, std::optional<Entry>& value)
    {
        if (value)
            entry(key, *value);
    }

    void require(std::initializer_list<std::string>, bool, const nlohmann::json&, const std::string&) {}

    nlohmann::json& object() { return object_; }

private:
    const Shelf* byId_;
    nlohmann::json object_ = nlohmann::json::object();
};

/// Reads one entry given as an object, e.g. the plate inside another document. Problems go to `problems`.
template <class Entry>
Entry readEntry(const nlohmann::json& value, const std::string& file, const std::string& pointer,
                const KnownEntries& known, std::vector<Problem>& problems)
{
    Entry entry;
    EntryReader keys(value, file, pointer, known, problems);
    keysOf(keys, entry);
    keys.finish();
    return entry;
}

} // namespace stripwright
