#include "link/plate_link.h"
#include "materials/problem.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

using namespace stripwright;
using testing::HasSubstr;

// Every key that the other test file does not have.
static const std::string whole = R"({
  "format": "stripwright-plate-link", "version": 1,
  "name": "bench 3", "unit": 7, "drive": "duty",
  "serial": {"device": "/dev/ttyUSB0", "baud": 9600, "frame": "8O1", "direction": "rts-low", "turnround_ms": 16},
  "registers": {
    "sensor_C": {"document_number": "30101", "type": "int16", "scale": 0.1, "unit": 2},
    "duty": {"table": "coil", "address": 7, "unit": 3},
    "setpoint_C": {"table": "holding", "document_number": "465535", "type": "float32"},
    "status": {"document_number": "100012", "strip_sensor_fault_mask": 1},
    "fan": {"document_number": "00001"},
    "watchdog_s": {"table": "holding", "address": 30, "type": "uint16", "scale": 0.1},
    "enable": {"table": "coil", "address": 9, "unit": 3},
    "strip_sensor_C": {"table": "input", "address": 101, "type": "int16", "scale": 0.0625, "unit": 2}
  },
  "watchdog_proven_s": 3.4,
  "channels": [{"name": "second_C", "document_number": "40002", "type": "float32", "order": "DCBA"}],
  "identified": {"measured_utc": "2026-11-25T22:00:00Z", "power_W": 890, "heat_capacity_J_per_K": 710,
    "loss_W_per_K": 1.2, "radiating_area_m2": 0.06, "element_lag_s": 4, "sensor_lag_s": 2.5, "dead_time_s": 1,
    "fit_rms_K": 0.3, "duty_per_K": 0.05, "integral_s": 20, "derivative_s": 2.5}
})";

static std::string with(const std::string& from, const std::string& to)
{
    std::string text = whole;
    const size_t at = text.find(from);
    EXPECT_NE(at, std::string::npos) << from;
    return text.replace(at, from.size(), to);
}

static std::vector<std::string> problemsOf(const std::string& text)
{
    try {
        readPlateLink(text, "c.plate.json");
    } catch (const BadInput& bad) {
        std::vector<std::string> lines;
        for (const Problem& problem : bad.problems())
            lines.push_back(problem.text());
        return lines;
    }
    return {};
}

TEST(PlateLinkLine, ReadsTheSerialLineAndTheUnitOfEachQuantity)
{
    const PlateLink link = readPlateLink(whole, "c.plate.json");
    ASSERT_TRUE(link.serial);
    EXPECT_EQ(link.serial->device, "/dev/ttyUSB0");
    EXPECT_EQ(link.serial->baud, 9600);
    EXPECT_EQ(link.serial->frame, SerialFrame::F8O1);
    EXPECT_EQ(link.serial->direction, SendDirection::RtsLow);
    EXPECT_EQ(link.serial->turnroundS, 0.016);
    EXPECT_EQ(link.host, "");
    EXPECT_EQ(link.unit, 7);
    EXPECT_EQ(link.sensor.unit, 2);
    EXPECT_EQ(link.duty->unit, 3);
    EXPECT_FALSE(link.setpoint->unit);
    EXPECT_EQ(placeOf(link), "/dev/ttyUSB0 at 9600 8O1");
}

TEST(PlateLinkLine, DocumentNumbersCountFromOneBehindTheDigitOfTheirTable)
{
    const PlateLink link = readPlateLink(whole, "c.plate.json");
    EXPECT_EQ(link.sensor.table, RegisterTable::Input);
    EXPECT_EQ(link.sensor.address, 100);
    EXPECT_EQ(link.setpoint->table, RegisterTable::Holding);
    EXPECT_EQ(link.setpoint->address, 65534);
    EXPECT_EQ(link.status->table, RegisterTable::Discrete);
    EXPECT_EQ(link.status->address, 11);
    EXPECT_EQ(link.fan->table, RegisterTable::Coil);
    EXPECT_EQ(link.fan->address, 0);
    EXPECT_EQ(link.channels[0].field.table, RegisterTable::Holding);
    EXPECT_EQ(link.channels[0].field.address, 1);
}

TEST(PlateLinkLine, ReadsOutputsStripSensorAndIdentifiedFigures)
{
    const PlateLink link = readPlateLink(whole, "c.plate.json");
    EXPECT_EQ(link.duty->table, RegisterTable::Coil);
    EXPECT_EQ(link.enable->address, 9);
    EXPECT_EQ(link.stripSensor->scale, 0.0625);
    EXPECT_EQ(link.stripSensorFaultMask, 1);
    EXPECT_EQ(link.watchdogProvenS, 3.4);
    ASSERT_TRUE(link.identified);
    EXPECT_EQ(link.identified->measuredUtc, "2026-11-25T22:00:00Z");
    EXPECT_EQ(link.identified->powerW, 890);
    EXPECT_EQ(link.identified->heatCapacityJPerK, 710);
    EXPECT_EQ(link.identified->lossWPerK, 1.2);
    EXPECT_EQ(link.identified->radiatingAreaM2, 0.06);
    EXPECT_EQ(link.identified->elementLagS, 4);
    EXPECT_EQ(link.identified->sensorLagS, 2.5);
    EXPECT_EQ(link.identified->deadTimeS, 1);
    EXPECT_EQ(link.identified->fitRmsK, 0.3);
    EXPECT_EQ(link.identified->dutyPerK, 0.05);
    EXPECT_EQ(link.identified->integralS, 20);
    EXPECT_EQ(link.identified->derivativeS, 2.5);
}

TEST(PlateLinkLine, ProofOfAnotherWatchdogTimeIsNone)
{
    const auto provenS = [](const std::string& proven, const std::string& registers) {
        std::string text = whole;
        text.replace(text.find("\"watchdog_proven_s\": 3.4"), 24, proven);
        if (!registers.empty())
            text.erase(text.find(registers), registers.size());
        return readPlateLink(text, "b.plate.json").watchdogProvenS;
    };
    EXPECT_EQ(provenS("\"watchdog_s\": 3.4, \"watchdog_proven_s\": 3.4", ""), 3.4);
    EXPECT_EQ(provenS("\"watchdog_s\": 5, \"watchdog_proven_s\": 3.4", ""), 0);
    EXPECT_EQ(provenS("\"watchdog_proven_s\": 3.4", "\"watchdog_s\": {\"table\": \"holding\", \"address\": "
                                                    "30, \"type\": \"uint16\", \"scale\": 0.1},"),
              0);
}

TEST(PlateLinkLine, WritesWhatItReadsBack)
{
    const PlateLink link = readPlateLink(whole, "c.plate.json");
    const std::string text = toJsonText(link);
    const PlateLink again = readPlateLink(text, "again");
    EXPECT_EQ(toJsonText(again), text);
    EXPECT_EQ(again.serial->frame, SerialFrame::F8O1);
    EXPECT_EQ(again.serial->direction, SendDirection::RtsLow);
    EXPECT_EQ(again.serial->turnroundS, 0.016);
    EXPECT_EQ(again.setpoint->address, 65534);
    EXPECT_EQ(again.stripSensor->unit, 2);
    EXPECT_EQ(again.stripSensorFaultMask, 1);
    EXPECT_EQ(again.watchdogProvenS, 3.4);
    EXPECT_EQ(again.identified->derivativeS, 2.5);
    EXPECT_EQ(text.find("host"), std::string::npos);
}

TEST(PlateLinkLine, KeepsWhatWasLearntOfTheFanAndHowWellItIsKnown)
{
    PlateLink link = readPlateLink(whole, "c.plate.json");
    EXPECT_FALSE(link.identified->fanLossWPerK || link.identified->lossError)
        << "a link of before they were kept";
    link.identified->fanLossWPerK = 0.34;
    link.identified->fanLossError = 0.05;
    link.identified->fullHeatRampCPerS = 1.55;
    link.identified->lossError = 0.03;
    const PlateLink again = readPlateLink(toJsonText(link), "again");
    EXPECT_EQ(again.identified->fanLossWPerK, 0.34);
    EXPECT_EQ(again.identified->fanLossError, 0.05);
    EXPECT_EQ(again.identified->fullHeatRampCPerS, 1.55);
    EXPECT_EQ(again.identified->lossError, 0.03);
}

TEST(PlateLinkLine, PlacesOfTcpAndSerialLinesAreSaidInWords)
{
    PlateLink link;
    link.host = "127.0.0.1";
    EXPECT_EQ(placeOf(link), "127.0.0.1 port 502");
    link.serial = SerialLine{.device = "/dev/ttyS4"};
    EXPECT_EQ(placeOf(link), "/dev/ttyS4 at 19200 8E1");
    EXPECT_EQ(serialBauds().front(), 1200);
    EXPECT_EQ(serialBauds().back(), 115200);
}

TEST(PlateLinkLine, SerialLineNeedsNoMoreThanItsDevice)
{
    const PlateLink link = readPlateLink(
        with(R"(, "baud": 9600, "frame": "8O1", "direction": "rts-low", "turnround_ms": 16)", ""),
        "c.plate.json");
    EXPECT_EQ(link.serial->baud, 19200);
    EXPECT_EQ(link.serial->frame, SerialFrame::F8E1);
    EXPECT_EQ(link.serial->direction, SendDirection::Adapter);
    EXPECT_EQ(link.serial->turnroundS, 0.05);
}

struct BadLine {
    const char* from;
    const char* to;
    const char* line;
};

class PlateLinkLineProblem : public testing::TestWithParam<BadLine> {};

TEST_P(PlateLinkLineProblem, IsNamedByFilePointerFoundAndExpected)
{
    const auto lines = problemsOf(with(GetParam().from, GetParam().to));
    ASSERT_EQ(lines.size(), 1u) << testing::PrintToString(lines);
    EXPECT_THAT(lines[0], HasSubstr(GetParam().line));
}

INSTANTIATE_TEST_SUITE_P(
    OneFault, PlateLinkLineProblem,
    testing::Values(
        BadLine{"\"serial\": {", "\"host\": \"10.0.0.7\", \"serial\": {",
                "/serial: found \"serial\" and \"host\", expected one of both"},
        BadLine{"\"serial\": {", "\"port\": 502, \"serial\": {", "/port: found 502, expected no \"port\""},
        BadLine{"\"baud\": 9600", "\"baud\": 9601", "/serial/baud: found 9601, expected one of 1200, 2400"},
        BadLine{"8O1", "7E1", "/serial/frame: found \"7E1\", expected one of 8N1, 8E1, 8O1, 8N2"},
        BadLine{"rts-low", "rts", "/serial/direction: found \"rts\", expected one of adapter, kernel"},
        BadLine{"\"turnround_ms\": 16", "\"turnround_ms\": 5000", "/serial/turnround_ms: found 5000"},
        BadLine{"\"device\": \"/dev/ttyUSB0\"", "\"device\": \"\"", "/serial/device: found"},
        BadLine{"\"unit\": 7", "\"unit\": 0", "/unit: found 0"},
        BadLine{"\"address\": 7, \"unit\": 3", "\"address\": 7, \"unit\": 248",
                "/registers/duty/unit: found 248"},
        BadLine{"\"30101\"", "30101",
                "/registers/sensor_C/document_number: found 30101, expected a text of 5"},
        BadLine{"\"00001\"", "\"00000\"", "/registers/fan/document_number: found \"00000\""},
        BadLine{"\"00001\"", "\"065537\"", "/registers/fan/document_number: found \"065537\""},
        BadLine{"\"00001\"", "\"20001\"", "/registers/fan/document_number: found \"20001\""},
        BadLine{"\"465535\"", "\"465536\"", "/registers/setpoint_C/document_number: found 65535"},
        BadLine{"{\"document_number\": \"30101\"", "{\"document_number\": \"30101\", \"table\": \"holding\"",
                "/registers/sensor_C/table: found \"holding\", expected \"input\", as the first digit"},
        BadLine{"{\"document_number\": \"30101\"", "{\"document_number\": \"30101\", \"address\": 100",
                "/registers/sensor_C/address: found 100, expected no \"address\""},
        BadLine{"\"table\": \"coil\", \"address\": 7", "\"table\": \"discrete\", \"address\": 7",
                "/registers/duty/table: found \"discrete\", expected one of holding, coil"},
        BadLine{"\"table\": \"coil\", \"address\": 9", "\"table\": \"input\", \"address\": 9",
                "/registers/enable/table: found \"input\""},
        BadLine{"\"watchdog_proven_s\": 3.4", "\"watchdog_proven_s\": -1", "/watchdog_proven_s: found -1"},
        BadLine{"\"power_W\": 890", "\"power_W\": 0", "/identified/power_W: found 0"},
        BadLine{"\"loss_W_per_K\": 1.2, ", "", "/identified/loss_W_per_K: found nothing"},
        BadLine{"\"dead_time_s\": 1", "\"dead_time_s\": -1", "/identified/dead_time_s: found -1"},
        BadLine{"2026-11-25T22:00:00Z", "25.11.2026", "/identified/measured_utc: found \"25.11.2026\""}),
    [](const auto& param) { return "Case" + std::to_string(param.index); });

TEST(PlateLinkLine, RequiresALine)
{
    std::string text = whole;
    const size_t start = text.find("\"serial\"");
    text.erase(start, text.find('\n', start) - start);
    const auto lines = problemsOf(text);
    ASSERT_EQ(lines.size(), 1u);
    EXPECT_THAT(lines[0],
                HasSubstr("/host: found nothing, expected \"host\" (and \"port\") for Modbus TCP, or "
                          "\"serial\""));
}

TEST(PlateLinkLine, ReservedUnitsAreRefusedOverTcp)
{
    std::string text = whole;
    const size_t start = text.find("\"serial\"");
    text.replace(start, text.find('\n', start) - start, "\"host\": \"10.0.0.7\",");
    EXPECT_TRUE(problemsOf(text).empty());
    text.replace(text.find("\"unit\": 7"), 9, "\"unit\": 250");
    EXPECT_THAT(problemsOf(text).at(0), HasSubstr("/unit: found 250, expected 0 to 247, or 255"));
}
