#include "link/read_blocks.h"

#include <gtest/gtest.h>

using namespace stripwright;

static RegisterField at(RegisterTable table, int address, RegisterType type = RegisterType::Uint16)
{
    return {.table = table, .address = address, .type = type};
}

TEST(ReadBlocks, OneRequestReadsNeighboursAcrossGaps)
{
    using enum RegisterTable;
    const auto blocks =
        planReadBlocks({at(Input, 40, RegisterType::Float32), at(Input, 0), at(Input, 2)}, true);
    ASSERT_EQ(blocks.size(), 1u);
    EXPECT_EQ(blocks[0].start, 0);
    EXPECT_EQ(blocks[0].count, 42);
}

TEST(ReadBlocks, RequestNeverExceeds125Registers)
{
    using enum RegisterTable;
    const auto fits = planReadBlocks({at(Holding, 10), at(Holding, 133, RegisterType::Float32)}, true);
    ASSERT_EQ(fits.size(), 1u);
    EXPECT_EQ(fits[0].count, 125);
    const auto split = planReadBlocks({at(Holding, 10), at(Holding, 134, RegisterType::Float32)}, true);
    ASSERT_EQ(split.size(), 2u);
    EXPECT_EQ(split[1].start, 134);
    EXPECT_EQ(split[1].count, 2);
}

TEST(ReadBlocks, TablesAreReadApartAndBitsReachFurther)
{
    using enum RegisterTable;
    const auto blocks = planReadBlocks({at(Coil, 0), at(Coil, 1999), at(Input, 0), at(Holding, 0)}, true);
    ASSERT_EQ(blocks.size(), 3u);
    EXPECT_EQ(blocks[0].count, 2000);
}

TEST(ReadBlocks, WithoutBridgingOnlyTouchingFieldsShareARequest)
{
    using enum RegisterTable;
    const auto blocks =
        planReadBlocks({at(Input, 0, RegisterType::Int32), at(Input, 2), at(Input, 4), at(Input, 4)}, false);
    ASSERT_EQ(blocks.size(), 2u);
    EXPECT_EQ(blocks[0].count, 3);
    EXPECT_EQ(blocks[1].start, 4);
    EXPECT_EQ(blocks[1].count, 1);
}

static RegisterField of(int unit, RegisterField field)
{
    field.unit = unit;
    return field;
}

TEST(ReadBlocks, DevicesAreReadApart)
{
    using enum RegisterTable;
    const auto blocks = planReadBlocks({of(2, at(Input, 0)), of(3, at(Input, 1)), of(2, at(Input, 2))}, true);
    ASSERT_EQ(blocks.size(), 2u);
    EXPECT_EQ(blocks[0].unit, 2);
    EXPECT_EQ(blocks[0].count, 3);
    EXPECT_EQ(blocks[1].unit, 3);
    EXPECT_EQ(blocks[1].start, 1);
}

TEST(ReadBlocks, GapLongerThanTheLineAllowsIsNotReadAlong)
{
    using enum RegisterTable;
    const std::vector<RegisterField> fields = {at(Holding, 0), at(Holding, 11), at(Coil, 0), at(Coil, 161)};
    EXPECT_EQ(planReadBlocks(fields, true, 10).size(), 2u);
    EXPECT_EQ(planReadBlocks(fields, true, 9).size(), 4u); // 10 registers, or 160 bits, between two fields
}

static PlateLink twoDevices()
{
    using enum RegisterTable;
    PlateLink link;
    link.unit = 4;
    link.sensor = at(Input, 0);
    link.duty = of(5, at(Coil, 1));
    link.stripSensor = at(Input, 1);
    link.fan = of(5, at(Coil, 2));
    link.channels = {{"second_C", at(Input, 2)}};
    return link;
}

TEST(ReadBlocks, CycleReadsWhatIsMeasuredAndDrivenEachWithItsUnit)
{
    const auto named = namedCycleFields(twoDevices());
    ASSERT_EQ(named.size(), 4u);
    EXPECT_EQ(named[0].key, "registers/sensor_C");
    EXPECT_EQ(named[0].field.unit, 4);
    EXPECT_EQ(named[1].key, "registers/duty");
    EXPECT_EQ(named[1].field.unit, 5);
    EXPECT_EQ(named[3].key, "channels/0");
    EXPECT_EQ(writtenFields(twoDevices()).size(), 2u);
}

TEST(Probes, FirstHasASizeThatNothingElseOfTheUnitHas)
{
    using enum RegisterTable;
    // One block of inputs 0 to 3; holding registers 10 and 11 to 12, 10 written and read back.
    const std::vector<RegisterField> read = {at(Input, 0), at(Input, 1, RegisterType::Float32), at(Input, 3),
                                             at(Holding, 10), at(Holding, 11, RegisterType::Float32)};
    const auto probes = planProbes(1, planReadBlocks(read, true), read, {at(Holding, 10)});
    ASSERT_FALSE(probes.empty());
    EXPECT_EQ(probes[0].table, Input);
    EXPECT_EQ(probes[0].start, 0);
    EXPECT_EQ(probes[0].count, 1);
    const std::vector<RegisterField> longer = {at(Holding, 10), at(Holding, 11, RegisterType::Float32),
                                               at(Holding, 13)};
    const auto shared = planProbes(1, planReadBlocks(longer, true), longer, {at(Holding, 10)});
    ASSERT_FALSE(shared.empty());
    EXPECT_EQ(shared[0].count, 3); // not 1, the read-back, nor 4, the block; 2 would cut a float in half
}

TEST(Probes, WithoutAFreeSizeEverySizeIsOffered)
{
    using enum RegisterTable;
    const std::vector<RegisterField> read = {at(Holding, 0), at(Holding, 1)};
    const auto probes = planProbes(1, planReadBlocks(read, true), read, {at(Holding, 1)});
    ASSERT_EQ(probes.size(), 2u);
    EXPECT_EQ(probes[0].count, 1);
    EXPECT_EQ(probes[1].count, 2);
}

TEST(Probes, UnitThatIsOnlyWrittenIsProbedByWhatIsReadBack)
{
    using enum RegisterTable;
    const auto probes = planProbes(5, {}, {}, {of(5, at(Coil, 2)), at(Coil, 9)});
    ASSERT_EQ(probes.size(), 1u);
    EXPECT_EQ(probes[0].start, 2);
    EXPECT_EQ(probes[0].unit, 5);
    EXPECT_TRUE(planProbes(6, {}, {}, {at(Coil, 9)}).empty());
}

TEST(Probes, EightBitsTakeOneByteAndLookAlike)
{
    using enum RegisterTable;
    EXPECT_TRUE(answersLookAlike(Coil, 1, Coil, 8));
    EXPECT_FALSE(answersLookAlike(Coil, 8, Coil, 9));
    EXPECT_FALSE(answersLookAlike(Coil, 1, Discrete, 1));
    EXPECT_FALSE(answersLookAlike(Holding, 1, Holding, 2));
}
