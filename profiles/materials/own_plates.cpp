#include "materials/own_plates.h"

#include "materials/entry_keys.h"
#include "materials/output_file.h"

#include <algorithm>
#include <charconv>
#include <cstdint>
#include <cstdio>

namespace stripwright {

namespace fs = std::filesystem;
using Ordered = nlohmann::ordered_json; // what the user wrote keeps its order

// FNV-1a, 32 bit: the same for a name on every computer.
static std::string markOf(const std::string& name)
{
    std::uint32_t hash = 2166136261u;
    for (const char c : name)
        hash = (hash ^ static_cast<unsigned char>(c)) * 16777619u;
    char text[12];
    std::snprintf(text, sizeof text, "-%08x", hash);
    return text;
}

std::string measuredPlateId(const std::string& name)
{
    constexpr size_t longest = 60;
    std::string id;
    bool lost = false; // a letter of which an id can have nothing
    for (const char c : name) {
        const bool letter = (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z'), digit = c >= '0' && c <= '9';
        lost = lost || static_cast<unsigned char>(c) > 0x7f;
        if (letter || digit)
            id += letter ? static_cast<char>(c | 0x20) : c;
        else if (!id.empty() && id.back() != '-')
            id += '-';
    }
    lost = lost || id.size() > longest || id.empty();
    id.resize(std::min(id.size(), longest));
    while (id.ends_with('-'))
        id.pop_back();
    return (id.empty() ? "plate" : id) + (lost ? markOf(name) : "") + "-measured";
}

void putOwnPlate(const fs::path& folder, const PlateType& plate)
{
    const std::string file = (folder / "plates.json").string();
    EntryWriter writer;
    PlateType written = plate;
    keysOf(writer, written);
    std::vector<Problem> problems;
    const Shelf none;
    const KnownEntries known{none};
    readEntry<PlateType>(writer.object(), file, "/entries/" + plate.id, known, problems);
    readPlatesOf(folder); // throws for a bad one
    const bool stands = fs::exists(file);
    if (!problems.empty())
        throw BadInput(std::move(problems));
    Ordered document = stands ? Ordered::parse(readTextFile(file))
                              : Ordered{{"format", "stripwright-plates"}, {"version", 1}};
    Ordered& entries = document["entries"];
    if (!entries.is_array())
        entries = Ordered::array();
    Ordered mine = Ordered{{"id", plate.id}, {"name", plate.name}}; // first, as in the shelf that ships
    mine.update(Ordered::parse(writer.object().dump()));
    const auto same = std::find_if(entries.begin(), entries.end(),
                                   [&](const Ordered& one) { return one.at("id") == plate.id; });
    if (same != entries.end())
        *same = std::move(mine);
    else
        entries.push_back(std::move(mine));
    std::error_code ignored; // then it cannot be written, which says why
    fs::create_directories(folder, ignored);
    writeWholeFile(file, document.dump(2) + "\n");
}

std::optional<PlateSize> readPlateSize(const std::string& typed, std::string& why)
{
    std::string plain;
    for (size_t i = 0; i < typed.size(); ++i) {
        const auto at = [&](std::string_view text) { return typed.compare(i, text.size(), text) == 0; };
        if (at("\u00d7")) {
            plain += 'x';
            ++i;
        } else if (at("mm")) {
            ++i;
        } else if (typed[i] == '*' || typed[i] == 'X') {
            plain += 'x';
        } else if (typed[i] != ' ' && typed[i] != '\t' && typed[i] != '\r') {
            plain += typed[i] == ',' ? '.' : typed[i];
        }
    }
    double mm[3] = {};
    const char *from = plain.data(), *const end = from + plain.size();
    bool read = true;
    for (int i = 0; i < 3 && read; ++i) {
        const auto [next, error] = std::from_chars(from, end, mm[i]);
        read = error == std::errc() && (i < 2 ? next != end && *next == 'x' : next == end);
        from = next + 1;
    }
    const auto in = [](double value, double least, double most) { return value >= least && value <= most; };
    if (read && in(mm[0], 5, 2000) && in(mm[1], 5, 2000) && in(mm[2], 0.5, 100))
        return PlateSize{mm[0], mm[1], mm[2]};
    why = "found " + quoted(nlohmann::json(typed)) +
          ", expected length along the strip x width x thickness in mm, such as 100x100x8: 5 to 2000, 5 to "
          "2000 and 0.5 to 100";
    return {};
}

} // namespace stripwright
