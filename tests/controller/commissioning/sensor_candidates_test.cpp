#include "commissioning/candidate_table.h"

#include "link/register_codec.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

using namespace stripwright;
using enum RegisterType;
using enum WordOrder;

static RegisterField meaning(RegisterType type, WordOrder order, double scale)
{
    RegisterField field;
    field.type = type;
    field.order = order;
    field.scale = scale;
    return field;
}

static SensorWords wordsAt(double valueC, const RegisterField& truth, SensorWords around = {})
{
    EXPECT_TRUE(encodeValue(valueC, truth, around.data()));
    return around;
}

static std::vector<std::string> namesOf(const std::vector<RegisterField>& fields)
{
    std::vector<std::string> names;
    for (const RegisterField& field : fields)
        names.push_back(inWords(field));
    return names;
}

static std::vector<std::string> sensibleNames(const DraftLink& draft, const SensorWords& words,
                                              const ColdPlate& cold = {})
{
    CandidateTable table(sensorCandidates(draft, words), cold);
    table.take(words);
    std::vector<std::string> names;
    for (size_t i : table.sensible())
        names.push_back(inWords(table.rows()[i].field));
    return names;
}

TEST(SensorCandidates, WhateverTheRegistersMeanTheOneNearTheThermometerReadsLikeThem)
{
    std::vector<RegisterField> truths;
    for (double scale : {1.0, 0.1, 0.01, 1 / 16.0, 1 / 256.0})
        for (WordOrder order : {ABCD, CDAB, BADC, DCBA})
            for (RegisterType type : {Int16, Uint16, Int32})
                truths.push_back(meaning(type, order, scale));
    for (double scale : {1.0, 0.1})
        for (WordOrder order : {ABCD, CDAB, BADC, DCBA})
            truths.push_back(meaning(Float32, order, scale));
    for (const RegisterField& truth : truths) {
        if (truth.type == Int16 && truth.scale == 1 / 256.0)
            continue; // no hot plate's: it ends at 128 °C
        for (const SensorWords& around : {SensorWords{0, 0}, SensorWords{0, 7}, SensorWords{0, 248}}) {
            const SensorWords cold = wordsAt(23.4, truth, around);
            CandidateTable table(sensorCandidates({}, cold), {.plateC = 23});
            table.take(cold);
            ASSERT_EQ(table.sensible().size(), 1u) << inWords(truth) << " beside " << around[1];
            const RegisterField& found = table.rows()[table.sensible().front()].field;
            for (double valueC = 0; valueC <= 250; valueC += 7) {
                const SensorWords hot = wordsAt(valueC, truth, around);
                EXPECT_EQ(decodeValue(hot.data(), found), decodeValue(hot.data(), truth))
                    << inWords(truth) << " taken as " << inWords(found);
            }
        }
    }
}

TEST(SensorCandidates, ThatReadAlikeAreOneAndTheSimplestStays)
{
    EXPECT_THAT(namesOf(sensorCandidates({}, {230, 0})),
                testing::AllOf(testing::Contains("int16 x 0.1"),
                               testing::Not(testing::Contains("uint16 x 0.1")),
                               testing::Not(testing::Contains("int32 CDAB x 0.1")),
                               testing::Contains("int32 ABCD x 0.1")));
    // With another register behind it the pair reads otherwise.
    EXPECT_THAT(namesOf(sensorCandidates({}, {230, 3})), testing::Contains("int32 CDAB x 0.1"));
}

TEST(SensorCandidates, ThatCannotHoldTheHeatOfAPlateAreNone)
{
    const auto names = namesOf(sensorCandidates({}, {230, 3}));
    EXPECT_THAT(names, testing::Not(testing::Contains("int16 x 1/256"))); // ends at 127.996 °C
    EXPECT_THAT(names, testing::Contains("uint16 x 1/256"));
    DraftLink cool;
    cool.link.sensorMaxC = 120;
    EXPECT_THAT(namesOf(sensorCandidates(cool, {230, 3})), testing::Contains("int16 x 1/256"));
}

TEST(SensorCandidates, DraftThatSaysAllHasOne)
{
    DraftLink draft;
    draft.type = Uint16;
    draft.order = ABCD;
    draft.scale = 0.5;
    EXPECT_EQ(namesOf(sensorCandidates(draft, {46, 0})), std::vector<std::string>{"uint16 x 0.5"});
    draft.scale.reset();
    EXPECT_EQ(sensorCandidates(draft, {46, 0}).size(), 5u);
}

TEST(SensorCandidates, TypeHoldsTheValuesForNoSensorThatTheDraftNames)
{
    DraftLink draft;
    draft.link.noSensorRaw = {65535};
    EXPECT_THAT(
        namesOf(sensorCandidates(draft, {230, 0})),
        testing::AllOf(testing::Contains("uint16 x 0.1"), testing::Not(testing::Contains("int16 x 0.1"))));
}

TEST(SensorCandidates, WidthsThatThePlateRefusesAreNotTried)
{
    const auto one = namesOf(sensorCandidates({}, {230, 0}, {.one = true, .two = false}));
    EXPECT_THAT(one, testing::Each(testing::HasSubstr("int16")));
    const auto two = namesOf(sensorCandidates({}, {230, 0}, {.one = false, .two = true}));
    EXPECT_THAT(two, testing::Each(testing::Not(testing::HasSubstr("int16"))));
}

TEST(SensorCandidates, MoveAlikeWithScalesLessThanThreeTimesApart)
{
    EXPECT_TRUE(moveAlike(meaning(Int16, ABCD, 0.1), meaning(Int16, ABCD, 1 / 16.0)));
    EXPECT_TRUE(moveAlike(meaning(Int16, ABCD, 1 / 256.0), meaning(Int16, ABCD, 0.01)));
    EXPECT_FALSE(moveAlike(meaning(Int16, ABCD, 0.1), meaning(Int16, ABCD, 0.01)));
    EXPECT_FALSE(moveAlike(meaning(Int16, ABCD, 0.1), meaning(Int16, BADC, 1 / 16.0)));
}

TEST(CandidateTable, ValuesForNoSensorMakeNoSense)
{
    for (const long none : {-32768L, 32767L, -9999L, 9999L, 0L}) {
        DraftLink draft;
        draft.type = Int16;
        draft.order = ABCD;
        EXPECT_TRUE(sensibleNames(draft, wordsAt(none, meaning(Int16, ABCD, 1))).empty()) << none;
    }
    // Read as hundredths 4000 is 40 °C.
    EXPECT_THAT(sensibleNames({}, {4000, 0}), testing::Contains("int16 x 0.01"));
    EXPECT_THAT(sensibleNames({}, {4000, 0}, {.plateC = {}, .noSensorRaw = {4000}}),
                testing::Not(testing::Contains("int16 x 0.01")));
}

TEST(CandidateTable, ThermometerKeepsWhatIsWithinFiveKelvin)
{
    EXPECT_THAT(sensibleNames({}, {248, 1}),
                testing::ElementsAre("int16 x 0.1", "int16 x 0.01", "int16 x 1/16", "uint16 x 1/256"));
    EXPECT_THAT(sensibleNames({}, {248, 1}, {.plateC = 22}), testing::ElementsAre("int16 x 0.1"));
}

/// One candidate that reads tenths, fed with temperatures.
class TenthsTable : public testing::Test {
protected:
    TenthsTable() : table_({meaning(Int16, ABCD, 0.1)}, {}) {}

    void take(double valueC) { table_.take(wordsAt(valueC, meaning(Int16, ABCD, 0.1))); }
    void rest(const std::function<double(int)>& valueC)
    {
        take(valueC(0));
        table_.beginRest();
        for (int i = 0; i < 25; ++i)
            take(valueC(i));
        table_.endRest();
    }
    const CandidateRow& row() const { return table_.rows().front(); }

    CandidateTable table_;
};

TEST_F(TenthsTable, MovesByMoreThanThreeTenthsOfAKelvin)
{
    rest([](int) { return 24.0; });
    for (int i = 0; i < 10; ++i)
        take(24.2);
    EXPECT_FALSE(row().moved);
    for (int i = 0; i < 10; ++i)
        take(24.4);
    EXPECT_TRUE(row().moved);
    EXPECT_NEAR(row().movedK, 0.4, 1e-9);
}

TEST_F(TenthsTable, MovesByMoreThanThreeTimesItsNoise)
{
    rest([](int i) { return i % 2 ? 24.5 : 23.5; }); // 0.5 K
    for (int i = 0; i < 10; ++i)
        take(25.4);
    EXPECT_FALSE(row().moved);
    for (int i = 0; i < 10; ++i)
        take(25.7);
    EXPECT_TRUE(row().moved);
}

TEST_F(TenthsTable, HasNotMovedOnceItHasFallenBack)
{
    rest([](int) { return 24.0; });
    for (int i = 0; i < 10; ++i)
        take(26);
    EXPECT_TRUE(row().moved);
    for (int i = 0; i < 10; ++i)
        take(24.8);
    EXPECT_FALSE(row().moved);
}

TEST_F(TenthsTable, ThatMovesWithoutHeatIsOut)
{
    rest([](int i) { return 24 + 0.2 * 0.15 * i; }); // 0.15 K/s
    EXPECT_FALSE(row().sensible);
    EXPECT_TRUE(row().drifted);
}

TEST_F(TenthsTable, NoiseAtRestIsNoMovement)
{
    rest([](int i) { return i % 3 ? 24.0 : 24.6; });
    EXPECT_TRUE(row().sensible);
}

TEST_F(TenthsTable, OneOddReadingAtRestPutsItOutForGood)
{
    rest([](int i) { return i == 7 ? -10.0 : 24.0; });
    EXPECT_FALSE(row().sensible);
}
