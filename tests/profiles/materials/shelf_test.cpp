#include "expect_problem.h"
#include "materials/entry_keys.h"

#include <fstream>

namespace stripwright {
namespace {

namespace fs = std::filesystem;
using nlohmann::json;

/// A user's folder that is gone after the test.
class UserFolder : public testing::Test {
protected:
    UserFolder() { fs::create_directories(folder); }
    ~UserFolder() override { fs::remove_all(folder); }

    void write(const std::string& kind, const json& entries)
    {
        std::ofstream(folder / (kind + ".json"))
            << json{{"format", "stripwright-" + kind}, {"version", 1}, {"entries", entries}};
    }
    Shelf read() const { return readShelf(std::vector<fs::path>{SHELF_DIR, folder}); }

    const fs::path folder =
        fs::path(testing::TempDir()) /
        ("shelf-" + std::string(testing::UnitTest::GetInstance()->current_test_info()->name()));
    const Shelf shipped = shippedShelf();
};

TEST_F(UserFolder, MayBeEmpty)
{
    EXPECT_EQ(read().pastes, shipped.pastes);
}

TEST_F(UserFolder, NeedNotExist)
{
    fs::remove_all(folder);
    EXPECT_EQ(read().strips, shipped.strips);
}

TEST_F(UserFolder, EntryReplacesTheShippedOneOfItsIdAndLeavesTheOthers)
{
    Paste mine = shipped.pastes[2];
    mine.peakC.max = 229;
    mine.source = "sheet of the jar on the bench";
    write("pastes", json::array({entryToJson(mine)}));
    const Shelf shelf = read();
    ASSERT_EQ(shelf.pastes.size(), shipped.pastes.size());
    EXPECT_EQ(shelf.pastes[2], mine);
    EXPECT_EQ(shelf.pastes[1], shipped.pastes[1]);
}

TEST_F(UserFolder, NewEntryIsAddedAfterTheShippedOnes)
{
    PlateType mine = shipped.plates[0];
    mine.id = "kitchen-plate";
    write("plates", json::array({entryToJson(mine)}));
    const Shelf shelf = read();
    ASSERT_EQ(shelf.plates.size(), shipped.plates.size() + 1);
    EXPECT_EQ(shelf.plates.back(), mine);
}

TEST_F(UserFolder, LedReplacedByTheUserIsTheOneInShippedStrips)
{
    LedPackage mine = *findById(shipped.leds, "2835");
    mine.bodyMaxC = 235;
    write("leds", json::array({entryToJson(mine)}));
    EXPECT_EQ(findById(read().strips, "growbar-420-12")->led.bodyMaxC, 235);
}

TEST_F(UserFolder, MoreThanAThousandEntriesAreRefusedUnread)
{
    write("alloys", json(std::vector<int>(1001, 0)));
    const auto problems = problemsOf([&] { read(); });
    ASSERT_EQ(problems.size(), 1u);
    EXPECT_EQ(problems[0].pointer, "/entries");
    EXPECT_EQ(problems[0].found, "1001 entries");
}

TEST_F(UserFolder, BrokenFileLeavesEveryOtherKindUnblamed)
{
    std::ofstream(folder / "leds.json") << "[";
    Paste mine = shipped.pastes[0];
    mine.peakC.max = -1;
    write("pastes", json::array({entryToJson(mine)}));
    const auto problems = problemsOf([&] { read(); });
    ASSERT_EQ(problems.size(), 2u) << BadInput(problems).what();
    EXPECT_EQ(problems[0].pointer, "/entries/0/peak_C/max");
    EXPECT_EQ(problems[1].file, (folder / "leds.json").string());
}

template <class Entry> void expectSameAfterWriting(const std::vector<Entry>& entries)
{
    const Shelf nothingKnown;
    for (const Entry& entry : entries) {
        std::vector<Problem> problems;
        const json written = json::parse(entryToJson(entry).dump());
        EXPECT_EQ(readEntry<Entry>(written, "written", "", {nothingKnown}, problems), entry) << entry.id;
        EXPECT_TRUE(problems.empty()) << BadInput(problems).what();
    }
}

TEST(ShelfEntry, ReadsBackAsWrittenWithNothingElseKnown)
{
    const Shelf shelf = shippedShelf();
    expectSameAfterWriting(shelf.alloys);
    expectSameAfterWriting(shelf.pastes);
    expectSameAfterWriting(shelf.leds);
    expectSameAfterWriting(shelf.lenses);
    expectSameAfterWriting(shelf.glues);
    expectSameAfterWriting(shelf.coreAlloys);
    expectSameAfterWriting(shelf.strips);
    expectSameAfterWriting(shelf.plates);
    expectSameAfterWriting(shelf.contacts);
    expectSameAfterWriting(shelf.sinkBlocks);
}

TEST(ShelfEntry, DefaultsOfAlloyAndPasteComeFromWhatTheyAreMadeOf)
{
    const Shelf shelf = shippedShelf();
    json alloy = entryToJson(shelf.alloys[0]);
    alloy.erase("movable_above_C");
    json paste = entryToJson(shelf.pastes[0]);
    paste.erase("count_liquidus_C");
    std::vector<Problem> problems;
    EXPECT_EQ(readEntry<Alloy>(alloy, "", "", {shelf}, problems).movableAboveC, shelf.alloys[0].solidusC);
    EXPECT_EQ(readEntry<Paste>(paste, "", "", {shelf}, problems).countLiquidusC, shelf.alloys[0].liquidusC);
    EXPECT_TRUE(problems.empty());
}

TEST(ShelfEntry, SitesByPitchStandAtFirstPlusWholePitches)
{
    const Shelf shelf = shippedShelf();
    const StripType& bar = *findById(shelf.strips, "growbar-420-12");
    ASSERT_EQ(bar.siteXMm.size(), 12u);
    for (size_t i = 0; i < 12; ++i)
        EXPECT_EQ(bar.siteXMm[i], 17.5 + 35.0 * static_cast<double>(i));
}

} // namespace
} // namespace stripwright
