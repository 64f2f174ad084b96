#include "commissioning/draft_link.h"

#include "materials/json_fields.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

using namespace stripwright;
using nlohmann::json;

static json draft()
{
    return json::parse(R"({"format": "stripwright-plate-link", "version": 1, "name": "bench-plate-100",
        "host": "192.0.2.7", "drive": "duty",
        "registers": {"sensor_C": {"table": "input", "address": 4},
                      "duty": {"table": "holding", "address": 0, "type": "uint16", "scale": 0.001}}})");
}

static std::string problemsOf(const json& document)
{
    try {
        readDraftLink(document.dump(), "bare.plate.json");
    } catch (const BadInput& bad) {
        std::string text;
        for (const Problem& problem : bad.problems())
            text += problem.text() + "\n";
        return text;
    }
    return {};
}

TEST(DraftLink, MayLackWhatTheSensorsRegistersMean)
{
    const DraftLink read = readDraftLink(draft().dump(), "bare.plate.json");
    EXPECT_FALSE(read.type || read.order || read.scale || read.meaningGiven());
    EXPECT_EQ(read.link.sensor.address, 4);
    EXPECT_EQ(read.link.host, "192.0.2.7");
    json given = draft();
    given["registers"]["sensor_C"].update({{"type", "float32"}, {"order", "CDAB"}, {"scale", 0.1}});
    const DraftLink whole = readDraftLink(given.dump(), "bare.plate.json");
    EXPECT_TRUE(whole.meaningGiven());
    EXPECT_EQ(whole.type, RegisterType::Float32);
    EXPECT_EQ(whole.order, WordOrder::CDAB);
    EXPECT_EQ(whole.scale, 0.1);
}

TEST(DraftLink, EveryOtherProblemIsReportedWithItsPlace)
{
    json wrong = draft();
    wrong["registers"]["sensor_C"]["type"] = "int17";
    wrong["registers"]["duty"].erase("type");
    wrong["speed"] = 3;
    const std::string problems = problemsOf(wrong);
    EXPECT_THAT(problems, testing::HasSubstr("bare.plate.json: /registers/sensor_C/type: found \"int17\""));
    EXPECT_THAT(problems, testing::HasSubstr("/registers/duty/type"));
    EXPECT_THAT(problems, testing::HasSubstr("/speed"));
}

TEST(DraftLink, LastRegisterCanBeTheSensors)
{
    json last = draft();
    last["registers"]["sensor_C"]["address"] = 65535;
    EXPECT_EQ(problemsOf(last), "");
    last["registers"]["sensor_C"] = {{"document_number", "365536"}};
    EXPECT_EQ(problemsOf(last), "");
}

TEST(DraftLink, EveryCommonValueForNoSensorIsTakenUntilTheTypeIsKnown)
{
    json draftLink = draft();
    draftLink["no_sensor_raw"] = {-32768, 65535};
    const DraftLink read = readDraftLink(draftLink.dump(), "bare.plate.json");
    EXPECT_EQ(read.link.noSensorRaw, (std::vector<long>{-32768, 65535}));
    RegisterField sensor = read.link.sensor;
    sensor.type = RegisterType::Int16;
    EXPECT_EQ(linkWithSensor(read, sensor).noSensorRaw, std::vector<long>{-32768});
}

TEST(DraftLink, WhatWasLearntStaysOnlyWithASensorThatIsReadAsBefore)
{
    DraftLink given = readDraftLink(draft().dump(), "bare.plate.json");
    given.link.identified.emplace();
    EXPECT_FALSE(linkWithSensor(given, given.link.sensor).identified);
    given.type = RegisterType::Int16;
    given.order = WordOrder::ABCD;
    given.scale = 0.1;
    EXPECT_TRUE(linkWithSensor(given, given.link.sensor).identified);
}
