#include "demo_sheet.h"

#include "rules/residue.h"

#include <gtest/gtest.h>

namespace stripwright {
namespace {

const Alloy& alloy(const std::string& id)
{
    static const Shelf shelf = test::shippedShelf();
    return *findById(shelf.alloys, id);
}

// Mass balance by hand, printed to the digits given here.
struct Row {
    std::string old, fresh;
    double oldShare, elementPercent, liquidusC;
};

class HighMeltingResidueInTinBismuth : public testing::TestWithParam<Row> {};
TEST_P(HighMeltingResidueInTinBismuth, RaisesTheLiquidus)
{
    const auto& [old, fresh, oldShare, bismuthPercent, liquidusC] = GetParam();
    const auto joint = mixedJoint(alloy(fresh), alloy(old), oldShare);
    ASSERT_TRUE(joint && joint->liquidusC);
    EXPECT_NEAR(*joint->liquidusC, liquidusC, 0.5);
    EXPECT_EQ(joint->lastLiquidC, 138);
    EXPECT_NEAR(joint->lastLiquidShareMax * 57, bismuthPercent, 0.5);
}
INSTANTIATE_TEST_SUITE_P(
    SacIn, HighMeltingResidueInTinBismuth,
    testing::Values(Row{"sac305", "sn42bi58", 0.1, 52, 148}, Row{"sac305", "sn42bi58", 0.2, 46, 159},
                    Row{"sac305", "sn42bi58", 0.3, 41, 169}, Row{"sac305", "sn42bi58", 0.4, 35, 179},
                    Row{"sac305", "sn42bi58", 0.5, 29, 189}, Row{"sn99.3cu0.7", "sn42bi58", 0.2, 46, 159}));

class TinBismuthResidueInSac : public testing::TestWithParam<Row> {};
TEST_P(TinBismuthResidueInSac, LowersTheLiquidusAndSetsLast)
{
    const auto& [old, fresh, oldShare, bismuthPercent, liquidusC] = GetParam();
    const auto joint = mixedJoint(alloy(fresh), alloy(old), oldShare);
    ASSERT_TRUE(joint && joint->liquidusC);
    EXPECT_NEAR(*joint->liquidusC, liquidusC, 0.5);
    EXPECT_EQ(joint->lastLiquidC, 138);
    EXPECT_NEAR(joint->lastLiquidShareMax * 57, bismuthPercent, 0.05);
}
INSTANTIATE_TEST_SUITE_P(Shares, TinBismuthResidueInSac,
                         testing::Values(Row{"sn42bi58", "sac305", 0.1, 5.8, 212},
                                         Row{"sn42bi58", "sac305", 0.2, 11.6, 204},
                                         Row{"sn42bi58", "sac305", 0.3, 17.4, 195}));

struct LowPhase {
    std::string fresh;
    double oldShare, lastLiquidC, sharePercent, roundingPercent;
};

class TinLeadResidue : public testing::TestWithParam<LowPhase> {};
TEST_P(TinLeadResidue, LeavesAtMostThisMuchOfTheLowMeltingPhase)
{
    const auto& [fresh, oldShare, lastLiquidC, sharePercent, rounding] = GetParam();
    const auto joint = mixedJoint(alloy(fresh), alloy("sn63pb37"), oldShare);
    ASSERT_TRUE(joint);
    EXPECT_EQ(joint->lastLiquidC, lastLiquidC);
    EXPECT_NEAR(joint->lastLiquidShareMax * 100, sharePercent, rounding);
    EXPECT_EQ(joint->liquidusC.has_value(), fresh != "sn42bi58"); // No ternary fit.
}
INSTANTIATE_TEST_SUITE_P(
    Shares, TinLeadResidue,
    testing::Values(LowPhase{"sn42bi58", 0.05, 96, 5.7, 0.05}, LowPhase{"sn42bi58", 0.1, 96, 11.3, 0.05},
                    LowPhase{"sn42bi58", 0.2, 96, 22.7, 0.05}, LowPhase{"sn42bi58", 0.3, 96, 34, 0.5},
                    LowPhase{"sac305", 0.05, 178, 4.9, 0.05}, LowPhase{"sac305", 0.1, 178, 9.7, 0.05},
                    LowPhase{"sac305", 0.2, 178, 19.4, 0.05}, LowPhase{"sn99.3cu0.7", 0.2, 183, 19.4, 0.05}));

TEST(MixedJoint, StaysMushyToAbout215WithTinLeadInSac)
{
    EXPECT_NEAR(*mixedJoint(alloy("sac305"), alloy("sn63pb37"), 0.1)->liquidusC, 215, 0.5);
}

TEST(MixedJoint, IsTheNewAlloyItselfWithoutOldSolder)
{
    for (const char* id : {"sac305", "sn99.3cu0.7", "sn63pb37", "sn42bi58"}) {
        const auto joint = mixedJoint(alloy(id), alloy("sac305"), 0);
        EXPECT_NEAR(*joint->liquidusC, alloy(id).liquidusC, 1e-9) << id;
    }
}

// Bi-Pb-Sn: 51.6 % Bi, 32.6 % Pb, 15.8 % Sn (Yoon & Lee, CALPHAD 22 (1998) 167).
TEST(MixedJoint, HasNoMoreOfTheTernaryPhaseThanItsScarcestElementAllows)
{
    // 80 % Sn63Pb37 would do for 91 % of it by lead, 20 % Sn42Bi58 for no more than 22 by bismuth.
    const auto joint = mixedJoint(alloy("sn63pb37"), alloy("sn42bi58"), 0.2);
    EXPECT_NEAR(joint->lastLiquidShareMax, 0.2 * 0.58 / 0.516, 1e-12);
    // Of little tin, tin is the scarcest.
    Alloy bismuth = alloy("sn42bi58"), lead = alloy("sn63pb37");
    bismuth.composition = Composition{.tinShare = 0.02, .bismuthShare = 0.98};
    lead.composition = Composition{.tinShare = 0.02, .leadShare = 0.98};
    EXPECT_NEAR(mixedJoint(bismuth, lead, 0.4)->lastLiquidShareMax, 0.02 / 0.158, 1e-12);
}

TEST(MixedJoint, HasAsMuchOfTheTernaryPhaseWhicheverAlloyIsTheNewOne)
{
    for (const double share : {0.05, 0.2, 0.5, 0.8})
        EXPECT_NEAR(mixedJoint(alloy("sn63pb37"), alloy("sn42bi58"), share)->lastLiquidShareMax,
                    mixedJoint(alloy("sn42bi58"), alloy("sn63pb37"), 1 - share)->lastLiquidShareMax, 1e-12)
            << share;
}

TEST(MixedJoint, IsTheOldAlloyItselfWithNothingElse)
{
    for (const char* fresh : {"sn42bi58", "sac305", "sn63pb37"})
        for (const char* old : {"sac305", "sn99.3cu0.7", "sn63pb37", "sn62pb36ag2", "sn42bi58"}) {
            const auto joint = mixedJoint(alloy(fresh), alloy(old), 1);
            ASSERT_TRUE(joint && joint->liquidusC) << fresh << " " << old;
            EXPECT_NEAR(*joint->liquidusC, alloy(old).liquidusC, 1e-9) << fresh << " " << old;
            EXPECT_NEAR(joint->lastLiquidC, alloy(old).solidusC, 1) << fresh << " " << old;
        }
}

TEST(MixedJoint, ChangesWithoutAStepAsOldSolderTakesOver)
{
    double before = *mixedJoint(alloy("sn42bi58"), alloy("sac305"), 0.2)->liquidusC;
    for (double share = 0.21; share <= 1; share += 0.01) {
        const double here = *mixedJoint(alloy("sn42bi58"), alloy("sac305"), share)->liquidusC;
        EXPECT_NEAR(here, before, 1.5) << share;
        EXPECT_GE(here, before) << share;
        before = here;
    }
}

TEST(MixedJoint, IsNotGuessedWithoutACompositionOrBeyondAWholeJoint)
{
    Alloy unnamed = alloy("sac305");
    unnamed.composition.reset();
    EXPECT_FALSE(mixedJoint(unnamed, alloy("sn42bi58"), 0.2));
    EXPECT_FALSE(mixedJoint(alloy("sn42bi58"), unnamed, 0.2));
    EXPECT_FALSE(mixedJoint(alloy("sn42bi58"), alloy("sac305"), 1.01));
    EXPECT_FALSE(mixedJoint(alloy("sn42bi58"), alloy("sac305"), -0.01));
}

TEST(MixedJoint, HasNoLiquidusBeyondTheEutectic)
{
    Alloy richer = alloy("sn42bi58");
    richer.composition = Composition{.tinShare = 0.3, .bismuthShare = 0.7};
    EXPECT_FALSE(mixedJoint(richer, alloy("sac305"), 0.1)->liquidusC);
    EXPECT_TRUE(mixedJoint(richer, alloy("sac305"), 0.4)->liquidusC);
}

} // namespace
} // namespace stripwright
