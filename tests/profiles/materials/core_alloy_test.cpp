#include "expect_problem.h"
#include "materials/entry_keys.h"

namespace stripwright {
namespace {

using nlohmann::json;
using testing::ElementsAre;
using testing::HasSubstr;

json stripWithCore(const json& core)
{
    json strip = entryToJson(*findById(shippedShelf().strips, "growbar-300-10"));
    strip["core"] = core;
    return strip;
}

StripType read(const json& core, std::vector<Problem>& problems)
{
    const Shelf shelf = shippedShelf();
    return readEntry<StripType>(stripWithCore(core), "a file", "", {shelf}, problems);
}

Core coreOf(const json& core)
{
    std::vector<Problem> problems;
    const StripType strip = read(core, problems);
    EXPECT_TRUE(problems.empty()) << BadInput(problems).what();
    return strip.core;
}

TEST(Core, OfANamedAlloyTakesItsFiguresFromTheShelf)
{
    const Core core = coreOf({{"alloy", "1060"}, {"thickness_mm", 1.5}});
    EXPECT_EQ(core.thicknessMm, 1.5);
    EXPECT_EQ(core.conductivityWPerMK, 232);
    EXPECT_EQ(core.densityKgPerM3, 2700);
    EXPECT_EQ(core.heatCapacityJPerKgK, 900);
    EXPECT_EQ(core.heatCapacitySlopeJPerKgK2, 0.43);
    EXPECT_FALSE(core.conductivityLowWPerMK || core.conductivityHighWPerMK || core.habit.any());
}

TEST(Core, WithoutAMarkMayConductAsAnyAlloyThatBoardsAreMadeOf)
{
    const Core core = coreOf({{"alloy", "unmarked"}, {"thickness_mm", 1}});
    EXPECT_EQ(core.conductivityLowWPerMK, 138);
    EXPECT_EQ(core.conductivityWPerMK, 165);
    EXPECT_EQ(core.conductivityHighWPerMK, 232);
    EXPECT_TRUE(core.habit.of("conductivity_W_per_mK"));
    EXPECT_FALSE(core.habit.of("density_kg_per_m3"));
    for (const CoreAlloy& alloy : shippedShelf().coreAlloys)
        if (alloy.id == "1060" || alloy.id == "5052" || alloy.id == "6061") {
            EXPECT_GE(alloy.conductivityWPerMK, *core.conductivityLowWPerMK) << alloy.id;
            EXPECT_LE(alloy.conductivityWPerMK, *core.conductivityHighWPerMK) << alloy.id;
        }
}

TEST(Core, ThatStatesAFigureKeepsItAndNoRangeOfAnotherNominal)
{
    const Core core = coreOf({{"alloy", "unmarked"}, {"thickness_mm", 1}, {"conductivity_W_per_mK", 120}});
    EXPECT_EQ(core.conductivityWPerMK, 120);
    EXPECT_FALSE(core.conductivityLowWPerMK || core.conductivityHighWPerMK);
    EXPECT_FALSE(core.habit.of("conductivity_W_per_mK"));
    EXPECT_EQ(core.densityKgPerM3, 2700);
}

TEST(Core, IsWrittenWithEveryFigureSoThatItReadsWithoutTheShelf)
{
    std::vector<Problem> problems;
    for (const char* alloy : {"unmarked", "5052"})
        for (const json& habit : {json(), json({"thickness_mm"}), json(true)}) {
            json core = {{"alloy", alloy}, {"thickness_mm", 1}};
            if (!habit.is_null())
                core["habit"] = habit;
            const StripType strip = read(core, problems);
            const Shelf nothingKnown;
            EXPECT_EQ(readEntry<StripType>(entryToJson(strip), "", "", {nothingKnown}, problems), strip);
            EXPECT_EQ(strip.core.habit.of("thickness_mm"), !habit.is_null());
        }
    EXPECT_TRUE(problems.empty()) << BadInput(problems).what();
}

std::vector<std::string> problemsWith(const json& core)
{
    std::vector<Problem> problems;
    read(core, problems);
    std::vector<std::string> texts;
    for (const Problem& problem : problems)
        texts.push_back(problem.text());
    return texts;
}

TEST(Core, OfAnAlloyThatTheShelfDoesNotKnowMustStateItsFigures)
{
    EXPECT_THAT(
        problemsWith({{"alloy", "7075"},
                      {"thickness_mm", 1},
                      {"density_kg_per_m3", 2810},
                      {"heat_capacity_J_per_kgK", 960}}),
        ElementsAre(HasSubstr("/core/conductivity_W_per_mK: found nothing, expected a number, or as alloy "
                              "one that the shelf knows, one of 1050, 1060")));
    EXPECT_EQ(problemsWith({{"alloy", "7075"}, {"thickness_mm", 1}}).size(), 3u);
}

TEST(Core, HoldsItsNominalConductivityInsideItsRange)
{
    const json core = {{"alloy", "5052"},
                       {"thickness_mm", 1},
                       {"conductivity_W_per_mK", 140},
                       {"conductivity_low_W_per_mK", 150},
                       {"conductivity_high_W_per_mK", 130}};
    EXPECT_THAT(problemsWith(core),
                ElementsAre(HasSubstr("/core/conductivity_low_W_per_mK: found 150.0, expected at most"),
                            HasSubstr("/core/conductivity_high_W_per_mK: found 130.0, expected at least")));
}

} // namespace
} // namespace stripwright
