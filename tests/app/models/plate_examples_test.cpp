#include "link/plate_link.h"
#include "models/plate_draft_json.h"

#include <fstream>
#include <gtest/gtest.h>

namespace stripwright {

static std::vector<std::string> examplesOfHelp()
{
    std::ifstream file(TESTS_DIR "/../app/help/plates.md");
    const std::string page(std::istreambuf_iterator<char>(file), {});
    const std::string from = "```json\n", to = "```\n";
    std::vector<std::string> found;
    for (size_t at = 0; (at = page.find(from, at)) != std::string::npos;) {
        at += from.size();
        found.push_back(page.substr(at, page.find(to, at) - at));
    }
    return found;
}

TEST(PlateExamples, OfTheHelpMeanTheSameAfterTheyWentThroughADraft)
{
    const std::vector<std::string> examples = examplesOfHelp();
    ASSERT_EQ(examples.size(), 4u);
    for (const std::string& example : examples) {
        const std::string through = toJson(draftOf(nlohmann::json::parse(example))).dump();
        EXPECT_EQ(toJsonText(readPlateLink(through, "draft")), toJsonText(readPlateLink(example, "help")));
    }
}

} // namespace stripwright
