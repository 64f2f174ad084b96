#include "models/sheet_model.h"

#include "demo_sheet.h"

#include <QFile>
#include <QTemporaryDir>
#include <gtest/gtest.h>

namespace stripwright {

using test::shippedSheet;
using test::shippedShelf;

TEST(ReadSites, TakesNumbersAndRangesInAnyOrder)
{
    QString why;
    EXPECT_EQ(readSites("8-9, 6", 12, why).value(), (std::vector<int>{6, 8, 9}));
    EXPECT_EQ(readSites("3 3;4", 12, why).value(), (std::vector<int>{3, 4}));
    EXPECT_EQ(readSites("", 12, why).value(), std::vector<int>());
}

TEST(ReadSites, RefusesWhatIsNotOnTheStripAndSaysWhatIs)
{
    QString why;
    EXPECT_FALSE(readSites("13", 12, why));
    EXPECT_TRUE(why.contains("1 to 12")) << why.toStdString();
    EXPECT_FALSE(readSites("0-2", 12, why));
    EXPECT_FALSE(readSites("9-8", 12, why));
    EXPECT_FALSE(readSites("six", 12, why));
    EXPECT_TRUE(why.contains("six")) << why.toStdString();
}

TEST(SitesText, JoinsNeighbours)
{
    EXPECT_EQ(sitesText({3, 7, 8, 9, 11}), "3, 7-9, 11");
    EXPECT_EQ(sitesText({}), "");
}

TEST(SheetModel, OpensTheDemoSheetAndSavesOneThatReadsTheSame)
{
    SheetModel model(shippedShelf());
    const QString demo = QStringLiteral(SHELF_DIR "/marram-lane-bar-7.bench.json");
    EXPECT_TRUE(model.open(demo).isEmpty());
    model.setSheet(withReplace(model.sheet(), {2}, true));
    QTemporaryDir folder;
    const QString copy = folder.filePath("copy.bench.json");
    ASSERT_EQ(model.save(copy), "");
    SheetModel again(shippedShelf());
    ASSERT_TRUE(again.open(copy).isEmpty());
    EXPECT_TRUE(again.sheet() == model.sheet());
}

TEST(SheetModel, ABadFileChangesNothingAndEveryProblemIsTold)
{
    SheetModel model(shippedShelf());
    const BenchSheet before = model.sheet();
    QTemporaryDir folder;
    QFile file(folder.filePath("bad.bench.json"));
    ASSERT_TRUE(file.open(QIODevice::WriteOnly));
    file.write(
        R"({"format": "stripwright-bench-sheet", "version": 1, "paste": "no-such-paste", "plate": "no-such-plate"})");
    file.close();
    const QStringList problems = model.open(file.fileName());
    EXPECT_GE(problems.size(), 2);
    EXPECT_TRUE(problems.join('\n').contains("no-such-paste")) << problems.join('\n').toStdString();
    EXPECT_TRUE(problems.join('\n').contains("no-such-plate"));
    EXPECT_TRUE(model.sheet() == before);
    EXPECT_TRUE(model.file().isEmpty());
}

TEST(SheetModel, AFolderThatCannotBeWrittenIsToldAndTheFileNameStays)
{
    SheetModel model(shippedShelf());
    EXPECT_TRUE(model.save("/no/such/folder/x.bench.json").contains("/no/such/folder"));
    EXPECT_TRUE(model.file().isEmpty());
}

TEST(OnStrip, KeepsMarksOfSitesThatExistThere)
{
    const Shelf shelf = shippedShelf();
    const BenchSheet demo = shippedSheet("marram-lane-bar-7.bench.json"); // site 6 of 12
    const StripType* longer = nullptr;
    for (const StripType& strip : shelf.strips)
        if (strip.siteXMm.size() > 12)
            longer = &strip;
    ASSERT_NE(longer, nullptr);
    const BenchSheet moved = onStrip(demo, *longer);
    EXPECT_EQ(moved.sites.size(), longer->siteXMm.size());
    EXPECT_EQ(moved.targets(), demo.targets());
    EXPECT_EQ(moved.sites.back().site, int(longer->siteXMm.size()));
    EXPECT_DOUBLE_EQ(moved.air.ambientC, demo.air.ambientC);
}

TEST(NextLensState, OffersReleaseOnlyInAHeatThatReleasesLenses)
{
    BenchSheet sheet = shippedSheet("marram-lane-bar-7.bench.json");
    const auto next = [&] {
        sheet = withLens(sheet, {2}, nextLensState(sheet, 2));
        return sheet.sites[1].lens;
    };
    EXPECT_EQ(next(), LensState::Off);
    EXPECT_EQ(next(), LensState::On);
    sheet.heat = HeatKind::Release;
    EXPECT_EQ(next(), LensState::Release);
    EXPECT_EQ(next(), LensState::Off);
    EXPECT_EQ(next(), LensState::On);
    sheet = withLens(sheet, {2}, LensState::Release);
    sheet.heat = HeatKind::Swap;
    EXPECT_EQ(next(), LensState::On) << "off already in any other heat";
}

TEST(WithPlateAt, LeavesTenMillimetresUnderTheStrip)
{
    const BenchSheet demo = shippedSheet("marram-lane-bar-7.bench.json");
    EXPECT_DOUBLE_EQ(withPlateAt(demo, -1000).plateEndMm(), 10);
    EXPECT_DOUBLE_EQ(withPlateAt(demo, 1000).plateStartMm, demo.strip.lengthMm - 10);
    EXPECT_DOUBLE_EQ(withPlateAt(demo, 100).plateStartMm, 100);
}

TEST(OnPlate, StaysCentredWhereTheOldOneWas)
{
    const BenchSheet demo = shippedSheet("marram-lane-bar-7.bench.json");
    int otherLengths = 0;
    for (const PlateType& plate : shippedShelf().plates) {
        const BenchSheet moved = onPlate(demo, plate);
        otherLengths += plate.lengthMm != demo.plate.lengthMm;
        EXPECT_DOUBLE_EQ((moved.plateStartMm + moved.plateEndMm()) / 2,
                         (demo.plateStartMm + demo.plateEndMm()) / 2);
    }
    EXPECT_GT(otherLengths, 0) << "a plate as long as the old one stays where it is";
}

TEST(SheetModel, TakesAnotherShelfAndLeavesTheOneOfBeforeToWhoeverStillLooksAtIt)
{
    SheetModel model(shippedShelf());
    const Shelf& before = model.shelf();
    const BenchSheet sheet = model.sheet();
    Shelf other = shippedShelf();
    other.plates.push_back(other.plates.front());
    other.plates.back().id = "north-measured";
    int changes = 0;
    QObject::connect(&model, &SheetModel::shelfChanged, [&] { ++changes; });
    model.takeShelf(other);
    EXPECT_EQ(changes, 1);
    EXPECT_TRUE(findById(model.shelf().plates, "north-measured"));
    EXPECT_FALSE(findById(before.plates, "north-measured"));
    EXPECT_EQ(model.sheet(), sheet);
}

} // namespace stripwright
