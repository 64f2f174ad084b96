#include "expect_problem.h"
#include "materials/bow_contact.h"
#include "materials/entry_keys.h"

namespace stripwright {
namespace {

using nlohmann::json;
using testing::ElementsAre;
using testing::HasSubstr;

// 0.15 mm at 180 °C, 20 µm of roughness, worked out apart from this code: k 0.03653763 W/mK.
TEST(BowedContact, IsGasOverTheGapAndRadiationAsWorkedOutByHand)
{
    EXPECT_NEAR(evenGapWPerM2K(0.15, 180), 243.5842 + 1.711265, 1e-4);
    EXPECT_NEAR(archGasWPerM2K(0.15, 180), 396.3812, 1e-4);
    EXPECT_NEAR(rockerGasWPerM2K(0.15, 180), 814.3016, 1e-4);
}

// The same average, summed over slices of the parabola.
TEST(BowedContact, OfArchAndRockerIsTheMeanOverTheParabola)
{
    constexpr int slices = 200000;
    for (const double bowMm : {0.05, 0.3, 1.0}) {
        double arch = 0, rocker = 0;
        const double gasWPerMK = (evenGapWPerM2K(1, 200) - evenGapWPerM2K(2, 200)) * 2e-3;
        for (int i = 0; i < slices; ++i) {
            const double x = (i + 0.5) / slices;
            arch += gasWPerMK / ((bowMm * (1 - x * x) + 0.02) * 1e-3) / slices;
            rocker += gasWPerMK / ((bowMm * x * x + 0.02) * 1e-3) / slices;
        }
        EXPECT_NEAR(archGasWPerM2K(bowMm, 200), arch, 1e-4 * arch) << bowMm;
        EXPECT_NEAR(rockerGasWPerM2K(bowMm, 200), rocker, 1e-4 * rocker) << bowMm;
    }
}

TEST(BowedContact, HoldsLowUnderNominalUnderHighAndFallsWithTheBow)
{
    double before = 1e6;
    for (double bowMm = leastBowMm; bowMm <= mostBowMm; bowMm *= 1.1) {
        const ContactCondition contact = bowedContact(bowMm);
        EXPECT_LT(contact.lowWPerM2K, contact.nominalWPerM2K) << bowMm;
        EXPECT_LT(contact.nominalWPerM2K, contact.highWPerM2K) << bowMm;
        EXPECT_LT(contact.lowWPerM2K, before);
        before = contact.lowWPerM2K;
    }
}

// Chart of gas conductivities: 26.2, 33.3, 39.7 and 45.7 mW/mK of air at 300 to 600 K.
TEST(BowedContact, TakesTheConductivityOfAirFromTheChart)
{
    const double kelvin[] = {300, 400, 500, 600}, chart[] = {0.0262, 0.0333, 0.0397, 0.0457};
    for (size_t i = 0; i < 4; ++i) {
        const double meanC = kelvin[i] - 273.15;
        const double k = (evenGapWPerM2K(1, meanC) - evenGapWPerM2K(2, meanC)) * 2e-3;
        EXPECT_NEAR(k, chart[i], 0.02 * chart[i]) << kelvin[i];
    }
}

// Even gaps of 0.31, 0.17 and 0.073 mm at 180 °C.
TEST(BowedContact, OfTheShelfsRangeIsTheSameLaw)
{
    const ContactCondition* shelved = nullptr;
    const Shelf shelf = shippedShelf();
    shelved = findById(shelf.contacts, "bowed-0.07-0.3mm");
    ASSERT_TRUE(shelved);
    EXPECT_NEAR(shelved->lowWPerM2K, evenGapWPerM2K(0.31, 180), 1);
    EXPECT_NEAR(shelved->nominalWPerM2K, evenGapWPerM2K(0.17, 180), 4);
    EXPECT_NEAR(shelved->highWPerM2K, evenGapWPerM2K(0.073, 180), 3);
}

json sheetWithContact(const json& contact)
{
    json sheet = json::parse(readTextFile(SHELF_DIR "/marram-lane-bar-7.bench.json"));
    sheet["contact"] = contact;
    return sheet;
}

TEST(BowedContact, MayStandInASheetByItsMeasuredBow)
{
    const BenchSheet sheet = readBenchSheet(sheetWithContact({{"bow_mm", 0.15}}).dump(), "", shippedShelf());
    EXPECT_EQ(sheet.contact, bowedContact(0.15));
    EXPECT_TRUE(sheet.contact.bare) << "air alone";
    EXPECT_THAT(sheet.contact.name, HasSubstr("0.15 mm"));
    EXPECT_EQ(readBenchSheet(toJson(sheet).dump(), "inline", Shelf{}), sheet);
}

std::vector<std::string> problemsWith(const json& contact)
{
    std::vector<std::string> texts;
    for (const Problem& problem :
         problemsOf([&] { readBenchSheet(sheetWithContact(contact).dump(), "sheet", shippedShelf()); }))
        texts.push_back(problem.text());
    return texts;
}

TEST(BowedContact, SaysWhichBowsItTakesAndThatNothingStandsBesideThem)
{
    for (const json& bowMm : {json(0), json(5), json(-0.1), json("0.15")})
        EXPECT_THAT(problemsWith({{"bow_mm", bowMm}}),
                    ElementsAre(HasSubstr("/contact/bow_mm: found " + bowMm.dump() +
                                          ", expected a number from 0.03 to 1.0")));
    EXPECT_THAT(
        problemsWith({{"bow_mm", 0.1}, {"low_W_per_m2K", 50}}),
        ElementsAre(HasSubstr("/contact/low_W_per_m2K: found an unknown key, expected one of bow_mm")));
}

} // namespace
} // namespace stripwright
