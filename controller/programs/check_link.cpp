#include "programs/programs.h"

#include "commissioning/draft_link.h"
#include "link/register_codec.h"
#include "materials/json_fields.h"
#include "programs/link_in_words.h"

#include <cstdio>

namespace stripwright {

static std::string leftOpen(const DraftLink& draft)
{
    std::string keys;
    const auto add = [&](bool given, const char* key) {
        if (!given)
            keys += (keys.empty() ? "\"" : ", \"") + std::string(key) + '"';
    };
    add(draft.type.has_value(), "type");
    add(draft.order || (draft.type && wordsOf(draft.link.sensor) == 1),
        "order"); // there ABCD is as good as any
    add(draft.scale.has_value(), "scale");
    return keys;
}

int checkLinks(const std::vector<std::string>& files)
{
    int code = 0;
    for (const std::string& file : files) {
        try {
            const DraftLink draft = readDraftLink(readTextFile(file), file);
            const PlateLink& link = draft.link;
            std::printf("%s: ok, %s\n", file.c_str(), linkInWords(link).c_str());
            if (!leftOpen(draft).empty())
                std::printf("%s: but: how the sensor's value is coded is left open (no %s): \"stripwright "
                            "connect\" finds it out\n",
                            file.c_str(), leftOpen(draft).c_str());
            for (const std::string& warning : warningsOf(link))
                std::printf("%s: but: %s\n", file.c_str(), warning.c_str());
        } catch (const BadInput& bad) {
            for (const Problem& problem : bad.problems())
                std::printf("%s\n", problem.text().c_str());
            code = 3;
        }
    }
    return code;
}

} // namespace stripwright
