#include "expect_problem.h"
#include "materials/json_fields.h"

#include <cmath>

namespace stripwright {
namespace {

namespace fs = std::filesystem;

const Shelf& shelf()
{
    static const Shelf read = shippedShelf();
    return read;
}

template <class Entry> void expectAtLeast(size_t count, const std::vector<Entry>& entries)
{
    EXPECT_GE(entries.size(), count);
    for (const Entry& entry : entries) {
        EXPECT_GT(entry.source.size(), 20u) << entry.id;
        EXPECT_EQ(entry.source.find('['), std::string::npos) << entry.id << " cites a number, not a text";
    }
}

TEST(ShippedShelf, HoldsEnoughOfEveryKindEachWithItsSource)
{
    expectAtLeast(6, shelf().alloys);
    expectAtLeast(6, shelf().pastes);
    expectAtLeast(6, shelf().leds);
    expectAtLeast(11, shelf().lenses);
    expectAtLeast(13, shelf().glues);
    expectAtLeast(11, shelf().coreAlloys);
    expectAtLeast(6, shelf().strips);
    expectAtLeast(4, shelf().plates);
    expectAtLeast(6, shelf().contacts);
    expectAtLeast(2, shelf().sinkBlocks);
}

TEST(ShippedShelf, StatesWhatItsAlloysAreMadeOf)
{
    for (const Alloy& alloy : shelf().alloys)
        EXPECT_TRUE(alloy.composition) << alloy.id;
    EXPECT_EQ(findById(shelf().alloys, "sn42bi57.6ag0.4")->composition->bismuthShare, 0.576);
}

TEST(ShippedShelf, GivesEveryLedAMoistureLevel)
{
    for (const LedPackage& led : shelf().leds)
        EXPECT_FALSE(led.moistureLevel.empty()) << led.id;
    EXPECT_TRUE(findById(shelf().leds, "2835")->habit.of("moisture_level"));
    EXPECT_FALSE(findById(shelf().leds, "5630")->habit.of("moisture_level"));
}

// Density of each polymer by optical-resin and handbook tables.
TEST(ShippedShelf, LensesOfOneShapeWeighAsTheirPolymersDo)
{
    const Lens& pmma = *findById(shelf().lenses, "lens-pmma-15");
    for (const auto& [id, densityKgPerM3] : {std::pair{"lens-ps-15", 1050.0}, {"lens-coc-15", 1020.0}}) {
        const Lens& lens = *findById(shelf().lenses, id);
        EXPECT_NEAR(lens.massG / pmma.massG, densityKgPerM3 / 1180, 0.01) << id;
    }
    for (const Lens& lens : shelf().lenses) {
        const double densityKgPerM3 = lens.volumetricHeatJPerM3K / lens.heatCapacityJPerKgK;
        EXPECT_GE(densityKgPerM3, 1009) << lens.id;
        EXPECT_LE(densityKgPerM3, 1201) << lens.id;
    }
    const Lens& cop = *findById(shelf().lenses, "lens-cop-24");
    EXPECT_NEAR(cop.volumetricHeatJPerM3K / cop.heatCapacityJPerKgK, 1010, 0.5);
    const Lens& silicone = *findById(shelf().lenses, "lens-silicone-24"); // Of the same shape.
    EXPECT_NEAR(cop.massG / silicone.massG, 1010.0 / 1100, 0.01);
}

// Coasting of a hot plate in air of 25 °C, computed from textbook films: K/s at 150 and 240 °C, then with a
// fan.
struct Coasting {
    std::string id;
    double at150, at240, fanAt150, fanAt240;
};

TEST(ShippedShelf, PlatesCoastAtTheRatesTheirLossesWereFittedTo)
{
    for (const Coasting& expected : {Coasting{"bench-plate-60", 0.23, 0.45, 0.53, 0.96},
                                     Coasting{"bench-plate-100", 0.15, 0.30, 0.37, 0.68},
                                     Coasting{"bench-plate-120", 0.14, 0.28, 0.36, 0.66},
                                     Coasting{"bench-plate-200", 0.10, 0.20, 0.28, 0.51},
                                     Coasting{"bench-plate-300", 0.08, 0.16, 0.23, 0.42}}) {
        const PlateType* plate = findById(shelf().plates, expected.id);
        ASSERT_TRUE(plate) << expected.id;
        const auto rate = [plate](double plateC, double fanShare) {
            const double radiation = 5.670374419e-8 * (std::pow(plateC + 273.15, 4) - std::pow(298.15, 4));
            const double loss = (plate->lossWPerK + fanShare * plate->fanLossWPerK) * (plateC - 25) +
                                plate->radiatingAreaM2 * radiation;
            return loss / plate->heatCapacityJPerK;
        };
        // The table gives two digits.
        EXPECT_NEAR(rate(150, 0), expected.at150, 0.005) << expected.id;
        EXPECT_NEAR(rate(240, 0), expected.at240, 0.005) << expected.id;
        EXPECT_NEAR(rate(150, 1), expected.fanAt150, 0.005) << expected.id;
        EXPECT_NEAR(rate(240, 1), expected.fanAt240, 0.005) << expected.id;
    }
}

TEST(ShippedShelf, ReadsEveryDemoSheetAndWritesItBackTheSame)
{
    int sheets = 0;
    for (const auto& file : fs::directory_iterator(SHELF_DIR)) {
        if (!file.path().string().ends_with(".bench.json"))
            continue;
        ++sheets;
        const BenchSheet sheet = readBenchSheet(readTextFile(file.path()), file.path(), shelf());
        EXPECT_EQ(sheet, readBenchSheet(toJson(sheet).dump(), "inline", Shelf{}));
        EXPECT_FALSE(sheet.targets().empty());
        // A demo sheet is written as a user would write it, so it names its entries.
        const auto written = toJsonById(sheet, shelf());
        for (const char* key : {"paste", "old_alloy", "strip", "plate", "contact"})
            EXPECT_TRUE(written.at(key).is_string()) << file.path() << " " << key;
    }
    EXPECT_GE(sheets, 2);
}

} // namespace
} // namespace stripwright
