#include "materials/entry_keys.h"

namespace stripwright {

using nlohmann::json;
namespace fs = std::filesystem;

static constexpr int shelfVersion = 1;
static constexpr size_t mostEntries = 1000;

// The document of one file; nothing, with the reason in `problems`, if it cannot be used.
static std::optional<json> readDocument(const fs::path& path, const std::string& format,
                                        std::vector<Problem>& problems)
{
    try {
        return parseDocument(readTextFile(path.string()), path.string(), format, shelfVersion, problems);
    } catch (const BadInput& bad) {
        problems.insert(problems.end(), bad.problems().begin(), bad.problems().end());
        return {};
    }
}

template <class Entry>
static std::vector<Entry> readEntries(const json& document, const std::string& file,
                                      const KnownEntries& known, std::vector<Problem>& problems)
{
    std::vector<Entry> entries;
    Fields fields(document, file, "", problems);
    fields.text("format");
    fields.integer("version", shelfVersion, shelfVersion);
    const std::string expected = "an array of at most " + std::to_string(mostEntries) + " objects";
    const json* list = fields.required("entries", expected);
    fields.finish();
    if (list && (!list->is_array() || list->size() > mostEntries)) {
        fields.report("entries", list->is_array() ? std::to_string(list->size()) + " entries" : quoted(*list),
                      expected);
        return entries;
    }
    for (size_t i = 0; list && i < list->size(); ++i) {
        const std::string pointer = "/entries/" + std::to_string(i);
        Entry entry = readEntry<Entry>((*list)[i], file, pointer, known, problems);
        if (entry.id.empty())
            continue;
        if (findById(entries, entry.id))
            addProblem({file, pointer + "/id", quoted(json(entry.id)), "an id that no entry before it has"},
                       problems);
        entries.push_back(std::move(entry));
    }
    return entries;
}

template <class Entry>
static void addKind(std::span<const fs::path> folders, Shelf& shelf, KnownEntries& known,
                    std::vector<Problem>& problems)
{
    std::vector<Entry> merged;
    for (const fs::path& folder : folders) {
        const fs::path path = folder / (std::string(KindOf<Entry>::file) + ".json");
        std::error_code error;
        const bool isFirst = &folder == folders.data();
        if (!isFirst && fs::status(path, error).type() == fs::file_type::not_found)
            continue;
        const auto document = readDocument(path, std::string("stripwright-") + KindOf<Entry>::file, problems);
        if (!document) {
            known.unreadFiles.insert(KindOf<Entry>::file);
            continue;
        }
        for (Entry& entry : readEntries<Entry>(*document, path.string(), known, problems)) {
            if (const Entry* replaced = findById(merged, entry.id))
                merged[static_cast<size_t>(replaced - merged.data())] = std::move(entry);
            else
                merged.push_back(std::move(entry));
        }
    }
    shelf.*KindOf<Entry>::member = std::move(merged);
}

std::vector<PlateType> readPlatesOf(const fs::path& folder)
{
    const fs::path path = folder / "plates.json";
    std::error_code error;
    if (fs::status(path, error).type() == fs::file_type::not_found)
        return {};
    const Shelf shelf;
    const KnownEntries known{shelf};
    std::vector<Problem> problems;
    std::vector<PlateType> plates;
    if (const auto document = readDocument(path, "stripwright-plates", problems))
        plates = readEntries<PlateType>(*document, path.string(), known, problems);
    if (!problems.empty())
        throw BadInput(std::move(problems));
    return plates;
}

Shelf readShelf(std::span<const fs::path> folders)
{
    Shelf shelf;
    KnownEntries known{shelf};
    std::vector<Problem> problems;
    // A kind comes after those that it names, so that a strip gets the user's LED rather than the shipped
    // one.
    addKind<Alloy>(folders, shelf, known, problems);
    addKind<Paste>(folders, shelf, known, problems);
    addKind<LedPackage>(folders, shelf, known, problems);
    addKind<Lens>(folders, shelf, known, problems);
    addKind<Glue>(folders, shelf, known, problems);
    addKind<CoreAlloy>(folders, shelf, known, problems);
    addKind<StripType>(folders, shelf, known, problems);
    addKind<PlateType>(folders, shelf, known, problems);
    addKind<ContactCondition>(folders, shelf, known, problems);
    addKind<SinkBlock>(folders, shelf, known, problems);
    if (!problems.empty())
        throw BadInput(std::move(problems));
    return shelf;
}

} // namespace stripwright
