#include "models/plate_draft_json.h"
#include "scratch_folder.h"

#include <fstream>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace stripwright {

using nlohmann::json;

static json linkFile(const char* text)
{
    json link = json::parse(text);
    link.update({{"format", "stripwright-plate-link"}, {"version", 1}, {"watchdog_s", 3.0}});
    return link;
}

// Every key of a link that a form of a draft shows, and many that it does not.
static json wholeLink()
{
    return linkFile(R"({"name": "Bench plate", "unit": 5, "drive": "setpoint",
        "serial": {"device": "/dev/ttyUSB0", "baud": 9600, "frame": "8N1", "direction": "rts-high", "turnround_ms": 16},
        "registers": {
          "sensor_C": {"table": "input", "address": 0, "type": "int16", "order": "BADC", "scale": 0.1, "offset": -2.5},
          "setpoint_C": {"table": "holding", "address": 10, "type": "float32", "order": "CDAB", "scale": 0.00390625},
          "duty": {"table": "input", "address": 3, "type": "uint16", "scale": 0.0001, "unit": 6},
          "status": {"table": "input", "address": 4, "type": "uint16", "sensor_fault_mask": 36,
                     "watchdog_tripped_mask": 2, "strip_sensor_fault_mask": 64},
          "clear_watchdog": {"table": "holding", "address": 12, "value": 21930},
          "counter": {"table": "input", "address": 5, "type": "int32", "order": "DCBA"},
          "watchdog_s": {"table": "holding", "address": 20, "type": "uint16", "scale": 0.001},
          "enable": {"table": "coil", "address": 0}, "fan": {"table": "holding", "address": 30},
          "strip_lifted": {"table": "coil", "address": 9},
          "strip_sensor_C": {"table": "holding", "address": 1, "type": "int16", "scale": 0.1}},
        "settings": [{"name": "own ramp off", "table": "holding", "address": 31, "type": "uint16", "scale": 0.01,
                      "offset": 1, "value": 0.0},
                     {"name": "remote", "table": "coil", "address": 7, "value": 1.0}],
        "channels": [{"name": "heatsink_C", "table": "holding", "address": 40, "type": "int16"}],
        "no_sensor_raw": [32767], "sensor_min_C": -20, "sensor_max_C": 400, "plate_max_C": 280.0,
        "setpoint_floor_C": 5.0, "own_ramp_C_per_s": 1.2, "watchdog_proven_s": 4.4, "reading_every_s": 0.5, "simulated": true,
        "identified": {"power_W": 300}})");
}

TEST(PlateDraft, LosesNothingOfALinkThatItWasReadFrom)
{
    EXPECT_EQ(toJson(draftOf(wholeLink())), wholeLink());
    const json relays =
        linkFile(R"({"name": "Relays", "host": "192.0.2.1", "port": 502, "unit": 1, "drive": "duty",
        "registers": {"sensor_C": {"table": "input", "address": 0, "order": "CDAB", "scale": 0.1},
                      "duty": {"table": "holding", "address": 1, "unit": 2, "switched": true}},
        "least_on_s": 2.0})");
    EXPECT_EQ(toJson(draftOf(relays)), relays);
    EXPECT_EQ(draftOf(relays).drive, PlateDraft::Drive::Switch);
}

TEST(PlateDraft, WhatIsChangedInItIsChangedInTheLinkAndNothingElse)
{
    PlateDraft draft = draftOf(wholeLink());
    draft.fan.address.reset();
    draft.counter.address = 6;
    draft.sensorFaultMask = 1;
    draft.settings.erase(draft.settings.begin());
    draft.plateMaxC.reset();
    draft.readingEveryS = 0;
    json expected = wholeLink();
    expected["registers"].erase("fan");
    expected["registers"]["counter"]["address"] = 6;
    expected["registers"]["status"]["sensor_fault_mask"] = 1;
    expected["settings"].erase(0);
    expected.erase("plate_max_C");
    expected.erase("reading_every_s");
    EXPECT_EQ(toJson(draft), expected);
}

TEST(PlateDraft, RegisterThatMovesToABitHasNoCodingThereAndAManualsNumberBecomesItsAddress)
{
    json link = wholeLink();
    link["registers"]["status"].erase("table");
    link["registers"]["status"].erase("address");
    link["registers"]["status"]["document_number"] = "30005";
    PlateDraft draft = draftOf(link);
    EXPECT_EQ(toJson(draft), wholeLink());
    draft.status.table = "discrete";
    draft.sensorFaultMask = draft.stripFaultMask = 0;
    draft.watchdogMask = 1;
    EXPECT_EQ(
        toJson(draft)["registers"]["status"],
        json::parse(R"({"table": "discrete", "address": 4, "sensor_fault_mask": 0, "watchdog_tripped_mask": 1,
                              "strip_sensor_fault_mask": 0})"));
}

TEST(PlateDraft, PlateThatIsDrivenOtherwiseIsWrittenSo)
{
    PlateDraft draft = draftOf(wholeLink());
    draft.drive = PlateDraft::Drive::Switch;
    draft.heat = {.table = "holding", .address = 2, .coding = "uint16"};
    draft.leastOnS = 2;
    const json relay = toJson(draft);
    EXPECT_EQ(relay["drive"], "duty");
    EXPECT_EQ(relay["registers"]["duty"],
              json::parse(R"({"table": "holding", "address": 2, "switched": true})"));
    EXPECT_EQ(relay["least_on_s"], 2);
    EXPECT_FALSE(relay.contains("own_ramp_C_per_s"));
    draft.drive = PlateDraft::Drive::Duty;
    draft.kept = relay;
    const json duty = toJson(draft);
    EXPECT_FALSE(duty["registers"]["duty"].contains("switched"));
    EXPECT_FALSE(duty.contains("least_on_s"));
    draft.serial = false;
    draft.host = "192.0.2.1";
    EXPECT_FALSE(toJson(draft).contains("serial"));
}

TEST(PlateDraft, WhatWasProvenAndLearntDoesNotGoOverToAnotherPlate)
{
    const char* const ofThatPlate[] = {"simulated", "identified", "watchdog_proven_s"};
    PlateDraft named = draftOf(wholeLink());
    named.name = "South bench";
    named.plateMaxC = 200;
    named.host = "192.0.2.7"; // of the network, where it is not
    for (const char* key : ofThatPlate)
        EXPECT_TRUE(toJson(named).contains(key)) << key;
    using Draft = PlateDraft;
    const auto network = [](Draft& draft) { draft.serial = false; };
    void (*const changes[])(Draft&) = {[](Draft& draft) { draft.device = "/dev/ttyUSB1"; },
                                       [](Draft& draft) { draft.unit = 6; },
                                       network,
                                       [](Draft& draft) { draft.sensor.address = 1; },
                                       [](Draft& draft) { draft.sensor.table = "holding"; },
                                       [](Draft& draft) { draft.sensor.unit = 9; },
                                       [](Draft& draft) { draft.drive = Draft::Drive::Duty; },
                                       [](Draft& draft) { draft.heat.address = 11; }};
    for (size_t i = 0; i < std::size(changes); ++i) {
        PlateDraft other = draftOf(wholeLink());
        changes[i](other);
        for (const char* key : ofThatPlate)
            EXPECT_FALSE(toJson(other).contains(key)) << key << ", change " << i;
    }
    json link = wholeLink();
    link.erase("serial");
    link.update({{"host", "192.0.2.1"}, {"port", 502}});
    PlateDraft moved = draftOf(link);
    EXPECT_TRUE(toJson(moved).contains("simulated"));
    moved.port = 503;
    EXPECT_FALSE(toJson(moved).contains("simulated"));
    moved = draftOf(link);
    moved.host = "192.0.2.2";
    EXPECT_FALSE(toJson(moved).contains("simulated"));
}

TEST(PlateDraft, WhatAFileLeavesOpenOfItsSensorsCodingStaysOpen)
{
    const auto sensorIs = [](const char* coded) {
        json link = wholeLink();
        link["registers"]["sensor_C"] = json::parse(coded);
        return link;
    };
    for (const char* coded : {R"({"table": "input", "address": 0, "type": "int32", "scale": 0.1})",
                              R"({"table": "input", "address": 0, "type": "float32", "order": "CDAB"})",
                              R"({"table": "input", "address": 0, "type": "int16"})"}) {
        PlateDraft draft = draftOf(sensorIs(coded));
        EXPECT_EQ(draft.sensor.coding, "") << coded;
        EXPECT_EQ(toJson(draft), sensorIs(coded));
        draft.sensor.coding = "int32 CDAB";
        draft.sensor.scale = 1;
        EXPECT_EQ(
            toJson(draft)["registers"]["sensor_C"],
            json::parse(R"({"table": "input", "address": 0, "type": "int32", "order": "CDAB", "scale": 1})"));
    }
    const json given = sensorIs(R"({"table": "input", "address": 0, "type": "int16", "scale": 0.1})");
    PlateDraft draft = draftOf(given);
    EXPECT_EQ(draft.sensor.coding, "int16");
    EXPECT_EQ(toJson(draft), given);
    draft.sensor.coding.clear();
    EXPECT_EQ(toJson(draft)["registers"]["sensor_C"], json::parse(R"({"table": "input", "address": 0})"));
}

TEST(PlateDraft, SaysWhatIsMissingAndLeavesTheSensorsCodingOpen)
{
    PlateDraft draft;
    EXPECT_EQ(missingIn(draft).size(), 4); // name, host, sensor, heat
    draft.name = "Bench plate";
    draft.host = "192.0.2.1";
    draft.sensor.address = 0;
    draft.heat.address = 3;
    EXPECT_TRUE(missingIn(draft).isEmpty());
    const json link = toJson(draft);
    EXPECT_FALSE(link["registers"]["sensor_C"].contains("type"));
    EXPECT_EQ(link["registers"]["duty"]["address"], 3);
    EXPECT_EQ(toJson(draftOf(link)), link);
}

TEST(PlateDraft, NumbersOfAManualAreCountedFromOneBehindTheDigitOfTheirTable)
{
    EXPECT_EQ(manualNumber("holding", 0), "40001");
    EXPECT_EQ(manualNumber("input", 9), "30010");
    EXPECT_EQ(manualNumber("coil", 2), "00003");
    EXPECT_EQ(manualNumber("holding", 10000), "410001");
    QString why;
    const auto back = readManualNumber("30010", why);
    ASSERT_TRUE(back);
    EXPECT_EQ(back->table, "input");
    EXPECT_EQ(back->address, 9);
    EXPECT_FALSE(readManualNumber("70001", why));
    EXPECT_FALSE(why.isEmpty());
}

TEST(PlateDraft, BitsAreNumberedFromZeroAndAddUpToAMask)
{
    QString why;
    EXPECT_EQ(readBits("", why), 0);
    EXPECT_EQ(readBits("0", why), 1);
    EXPECT_EQ(readBits("5, 2", why), 36);
    EXPECT_EQ(readBits("15", why), 32768);
    EXPECT_EQ(bitsText(36), "2, 5");
    EXPECT_EQ(bitsText(0), "");
    for (const char* wrong : {"16", "-1", "1.5", "0x4", "two"}) {
        why.clear();
        EXPECT_FALSE(readBits(wrong, why)) << wrong;
        EXPECT_TRUE(why.contains(wrong) && why.contains("0 to 15")) << why.toStdString();
    }
}

TEST(PlateDraft, FileThatIsNoLinkIsSaidInWords)
{
    const ScratchFolder folder;
    const auto read = [&](const std::string& text, QString& why) {
        std::ofstream(folder / "a.plate.json") << text;
        return readPlateDraft(QString::fromStdString((folder / "a.plate.json").string()), why);
    };
    QString why;
    EXPECT_FALSE(read("{\"format\": \"stripwright-heat-plan\"}", why));
    EXPECT_TRUE(why.contains("a.plate.json") && why.contains("/format")) << why.toStdString();
    json odd = wholeLink();
    odd["registers"]["fan"]["address"] = "nine";
    EXPECT_FALSE(read(odd.dump(), why));
    EXPECT_TRUE(why.contains("another kind of value")) << why.toStdString();
    const auto whole = read(wholeLink().dump(), why);
    ASSERT_TRUE(whole);
    EXPECT_EQ(whole->name, "Bench plate");
}

} // namespace stripwright
