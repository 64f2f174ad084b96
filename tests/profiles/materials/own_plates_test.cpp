#include "materials/own_plates.h"

#include "materials/json_fields.h"
#include "materials/output_file.h"
#include "scratch_folder.h"

#include <fstream>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <set>

namespace stripwright {

static PlateType measured(const std::string& id, double heatCapacityJPerK)
{
    PlateType plate;
    plate.id = id;
    plate.name = "North bench";
    plate.lengthMm = plate.widthMm = 100;
    plate.thicknessMm = 8;
    plate.powerW = 300;
    plate.heatCapacityJPerK = heatCapacityJPerK;
    plate.lossWPerK = 0.15;
    plate.radiatingAreaM2 = 0.007;
    plate.maxC = 300;
    plate.ownLoop = OwnLoopFigures{.gainPerK = 0.05, .integralS = 40, .cutAfterS = 3};
    plate.source = "measured";
    return plate;
}

TEST(OwnPlates, AnIdComesFromTheNameAndIsNoneThatShips)
{
    EXPECT_EQ(measuredPlateId("North bench, left (2)"), "north-bench-left-2-measured");
    EXPECT_LE(measuredPlateId(std::string(500, 'a')).size(), 80u);
    const std::filesystem::path shipped = SHELF_DIR;
    for (const PlateType& plate : readPlatesOf(shipped))
        EXPECT_FALSE(plate.id.ends_with("-measured")) << plate.id;
}

TEST(OwnPlates, NamesWithLettersThatNoIdMayHaveShareNone)
{
    std::set<std::string> ids;
    const std::vector<std::string> names = {"",
                                            "  ⌂ ",
                                            "Северный стол",
                                            "Южный стол",
                                            "北のプレート",
                                            "Sädbank",
                                            "Södbank",
                                            "Sdbank",
                                            std::string(60, 'a'),
                                            std::string(61, 'a'),
                                            std::string(61, 'a') + "b"};
    for (const std::string& name : names) {
        const std::string id = measuredPlateId(name);
        EXPECT_TRUE(ids.insert(id).second) << name << ": " << id;
        EXPECT_TRUE(id.ends_with("-measured")) << id;
        EXPECT_EQ(id.find_first_not_of("abcdefghijklmnopqrstuvwxyz0123456789-"), std::string::npos) << id;
        EXPECT_EQ(id, measuredPlateId(name));
    }
    EXPECT_EQ(measuredPlateId("Южный стол"), "plate-0b27285d-measured") << "the same on every computer";
}

TEST(OwnPlates, FirstOneMakesTheFileAndTheShelfCanChooseIt)
{
    const ScratchFolder folder;
    const auto own = folder / "made/shelf";
    EXPECT_TRUE(readPlatesOf(own).empty());
    putOwnPlate(own, measured("north-measured", 194));
    const std::filesystem::path folders[] = {SHELF_DIR, own};
    const Shelf shelf = readShelf(folders);
    const PlateType* found = findById(shelf.plates, "north-measured");
    ASSERT_TRUE(found);
    EXPECT_EQ(*found, measured("north-measured", 194));
    EXPECT_TRUE(findById(shelf.plates, "bench-plate-100"));
}

TEST(OwnPlates, MeasuredAgainItTakesThePlaceOfItsOwnEntryAndOfNoOther)
{
    const ScratchFolder folder;
    putOwnPlate(folder / "", measured("mine", 100));
    putOwnPlate(folder / "", measured("north-measured", 194));
    putOwnPlate(folder / "", measured("other", 400));
    putOwnPlate(folder / "", measured("north-measured", 243));
    const std::vector<PlateType> plates = readPlatesOf(folder / "");
    ASSERT_EQ(plates.size(), 3u);
    EXPECT_EQ(plates[0], measured("mine", 100));
    EXPECT_EQ(plates[1], measured("north-measured", 243));
    EXPECT_EQ(plates[2], measured("other", 400));
}

TEST(OwnPlates, BadFileIsRefusedWithAllItsProblemsAndStaysAsItIs)
{
    const ScratchFolder folder;
    const std::string bad =
        R"({"format": "stripwright-plates", "version": 1, "entries": [{"id": "a"}, {"id": "b", "mass": 3}]})";
    std::ofstream(folder / "plates.json") << bad;
    try {
        putOwnPlate(folder / "", measured("north-measured", 194));
        FAIL();
    } catch (const BadInput& error) {
        EXPECT_GT(error.problems().size(), 10u);
        EXPECT_THAT(error.what(), testing::HasSubstr("/entries/1/mass"));
    }
    EXPECT_EQ(readTextFile((folder / "plates.json").string()), bad);
}

TEST(OwnPlates, FigureThatNoEntryMayHaveNeverReachesTheFile)
{
    const ScratchFolder folder;
    putOwnPlate(folder / "", measured("north-measured", 194));
    PlateType wrong = measured("north-measured", 194);
    wrong.maxC = 900;
    wrong.lossWPerK = 0;
    EXPECT_THROW(putOwnPlate(folder / "", wrong), BadInput);
    EXPECT_EQ(readPlatesOf(folder / "").at(0), measured("north-measured", 194));
}

TEST(OwnPlates, FailedWriteSaysSoAndKeepsTheOldFile)
{
    const ScratchFolder folder;
    std::ofstream(folder / "file") << "x";
    EXPECT_THROW(putOwnPlate(folder / "file", measured("a", 194)), CannotWrite);
    EXPECT_EQ(readTextFile((folder / "file").string()), "x");
}

TEST(OwnPlates, SizeIsReadAsPeopleWriteIt)
{
    std::string why;
    for (const char* typed : {"100x80x8", "100 x 80 x 8", "100 × 80 × 8 mm", "100mm*80mm*8mm", "100X80X8.0"})
        EXPECT_EQ(readPlateSize(typed, why), (PlateSize{100, 80, 8})) << typed << why;
    for (const char* typed :
         {"", "100", "100x80", "100x80x8x2", "100x80x0", "nanx80x8", "1e9x80x8", "axbxc"}) {
        why.clear();
        EXPECT_FALSE(readPlateSize(typed, why)) << typed;
        EXPECT_THAT(why, testing::HasSubstr("such as 100x100x8"));
    }
}

} // namespace stripwright
