#include "commands/heat_files.h"

#include "commands/wrapped.h"
#include "materials/json_fields.h"
#include "materials/output_file.h"
#include "materials/problem.h"

#include <algorithm>
#include <filesystem>
#include <optional>

namespace stripwright {

namespace {

constexpr std::string_view heatMark = ".heat-";

/// "bar.plan.json" in two: what comes before the number of a heat, and what behind it.
struct Naming {
    std::filesystem::path folder;
    std::string stem, ending;

    explicit Naming(const std::string& out)
    {
        const std::filesystem::path path(out);
        const std::string name = path.filename().string();
        const size_t dot = name.find('.', 1);
        folder = path.parent_path();
        stem = name.substr(0, dot);
        ending = dot == std::string::npos ? "" : name.substr(dot);
    }
    std::string ofHeat(size_t heat) const
    {
        return (folder / (stem + std::string(heatMark) + std::to_string(heat) + ending)).string();
    }
    bool names(const std::string& file) const
    {
        const std::string before = stem + std::string(heatMark);
        if (!file.starts_with(before) || !file.ends_with(ending) ||
            file.size() <= before.size() + ending.size())
            return false;
        const std::string number = file.substr(before.size(), file.size() - before.size() - ending.size());
        return number.find_first_not_of("0123456789") == std::string::npos;
    }
};

std::vector<std::string> filesOfOtherHeats(const std::string& out, const std::vector<std::string>& written)
{
    const Naming naming(out);
    std::vector<std::string> others;
    if (written.size() > 1 && std::filesystem::exists(out))
        others.push_back(out);
    std::error_code none;
    const std::filesystem::path folder = naming.folder.empty() ? "." : naming.folder;
    for (const auto& entry : std::filesystem::directory_iterator(folder, none)) {
        const std::string file = (naming.folder / entry.path().filename()).string();
        if (naming.names(entry.path().filename().string()) &&
            std::find(written.begin(), written.end(), file) == written.end())
            others.push_back(file);
    }
    std::sort(others.begin(), others.end());
    return others;
}

std::string heatsInWords(size_t heats)
{
    return heats == 1 ? "one heat" : std::to_string(heats) + " heats";
}

/// Removes it if it is of the same strip.
std::string putAway(const std::string& file, const JobPlan& job)
{
    const std::string name = inOnePiece(file);
    const std::string leftAs = "; left as it is, and no part of this answer";
    std::optional<HeatPlan> plan;
    try {
        plan = readHeatPlan(readTextFile(file), file);
    } catch (const BadInput&) {
        return name + ": is named like a heat of this job and holds no heat plan" + leftAs;
    }
    if (plan->sheet.title != job.sheet.title || plan->sheet.strip.id != job.sheet.strip.id)
        return name + ": is named like a heat of this job and holds the plan of another strip (" +
               plan->sheet.title + ")" + leftAs;
    if (!job.runnable())
        return name + ": of an earlier answer for this strip" + leftAs;
    std::error_code error;
    std::filesystem::remove(file, error);
    return error ? name + ": of an earlier answer for this strip, which now takes " +
                       heatsInWords(job.heats.size()) + ", and cannot be removed (" + error.message() +
                       "): do not run it"
                 : name + ": removed, it was of an earlier answer for this strip, which now takes " +
                       heatsInWords(job.heats.size());
}

std::optional<std::string> earlierContent(const std::string& file)
{
    if (!std::filesystem::is_regular_file(file)) // what else it may be, who writes refuses
        return {};
    return readTextFile(file);
}

void putBack(const std::string& file, const std::optional<std::string>& content)
{
    if (content)
        writeWholeFile(file, *content);
    else
        std::filesystem::remove(file);
}

} // namespace

std::vector<std::string> planFiles(const std::string& out, size_t heats)
{
    if (out.empty())
        return {};
    if (heats == 1)
        return {out};
    std::vector<std::string> files;
    for (size_t heat = 1; heat <= heats; ++heat)
        files.push_back(Naming(out).ofHeat(heat));
    return files;
}

std::vector<std::string> writeHeats(const std::string& out, const JobPlan& job)
{
    const std::vector<std::string> files = planFiles(out, job.heats.size());
    std::vector<std::optional<std::string>> before;
    for (const std::string& file : files)
        before.push_back(earlierContent(file));
    for (size_t i = 0; i < files.size(); ++i)
        try {
            writeWholeFile(files[i], toJson(job.heats[i]).dump() + '\n');
        } catch (const CannotWrite& error) {
            std::string why = error.what();
            for (size_t done = 0; done < i; ++done)
                try {
                    putBack(files[done], before[done]);
                } catch (const std::exception& again) {
                    why += "\n" + files[done] + ": holds the new answer, without its other heats (" +
                           again.what() + "); do not run it";
                }
            throw CannotWrite(why);
        }
    std::vector<std::string> said;
    if (!files.empty())
        for (const std::string& file : filesOfOtherHeats(out, files))
            said.push_back(putAway(file, job));
    return said;
}

} // namespace stripwright
