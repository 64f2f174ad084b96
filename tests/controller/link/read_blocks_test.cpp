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
