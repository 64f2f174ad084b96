#include "link/plate_link.h"
#include "materials/problem.h"

#include <algorithm>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

using namespace stripwright;
using testing::HasSubstr;

static const std::string whole = R"({
  "format": "stripwright-plate-link", "version": 1,
  "name": "bench 2", "host": "10.0.0.7", "port": 5020, "unit": 3, "drive": "duty",
  "registers": {
    "sensor_C": {"table": "input", "address": 100, "type": "int16", "scale": 0.1, "offset": -2.5},
    "duty": {"table": "holding", "address": 7, "type": "uint16", "scale": 0.001},
    "setpoint_C": {"table": "holding", "address": 8, "type": "float32", "order": "CDAB"},
    "status": {"table": "input", "address": 3, "type": "uint16", "sensor_fault_mask": 4, "watchdog_tripped_mask": 32},
    "counter": {"table": "input", "address": 4, "type": "uint16"},
    "watchdog_s": {"table": "holding", "address": 9, "type": "uint16", "scale": 0.1},
    "fan": {"table": "coil", "address": 0}, "strip_lifted": {"table": "holding", "address": 30}
  },
  "no_sensor_raw": [-32768, 32767], "sensor_min_C": -20, "sensor_max_C": 400, "plate_max_C": 280, "setpoint_floor_C": 5, "watchdog_s": 2.5,
  "channels": [{"name": "second_C", "table": "input", "address": 65534, "type": "float32", "order": "DCBA"}]
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
        readPlateLink(text, "b.plate.json");
    } catch (const BadInput& bad) {
        std::vector<std::string> lines;
        for (const Problem& problem : bad.problems())
            lines.push_back(problem.text());
        return lines;
    }
    return {};
}

TEST(PlateLinkFile, ReadsEveryFieldOfAWholeFile)
{
    const PlateLink link = readPlateLink(whole, "b.plate.json");
    EXPECT_EQ(link.name, "bench 2");
    EXPECT_EQ(link.host, "10.0.0.7");
    EXPECT_EQ(link.port, 5020);
    EXPECT_EQ(link.unit, 3);
    EXPECT_EQ(link.drive, DriveKind::Duty);
    EXPECT_EQ(link.sensor.table, RegisterTable::Input);
    EXPECT_EQ(link.sensor.address, 100);
    EXPECT_EQ(link.sensor.scale, 0.1);
    EXPECT_EQ(link.sensor.offset, -2.5);
    ASSERT_TRUE(link.duty && link.setpoint && link.status && link.counter && link.watchdogS && link.fan &&
                link.stripLifted);
    EXPECT_EQ(link.duty->table, RegisterTable::Holding);
    EXPECT_EQ(link.duty->type, RegisterType::Uint16);
    EXPECT_EQ(link.setpoint->order, WordOrder::CDAB);
    EXPECT_EQ(link.sensorFaultMask, 4);
    EXPECT_EQ(link.watchdogTrippedMask, 32);
    EXPECT_EQ(link.fan->table, RegisterTable::Coil);
    EXPECT_EQ(link.stripLifted->table, RegisterTable::Holding);
    EXPECT_EQ(link.noSensorRaw, (std::vector<long>{-32768, 32767}));
    EXPECT_EQ(link.sensorMinC, -20);
    EXPECT_EQ(link.sensorMaxC, 400);
    EXPECT_EQ(link.plateMaxC, 280);
    EXPECT_EQ(link.setpointFloorC, 5);
    EXPECT_EQ(link.watchdogSeconds, 2.5);
    ASSERT_EQ(link.channels.size(), 1u);
    EXPECT_EQ(link.channels[0].name, "second_C");
    EXPECT_EQ(link.channels[0].field.order, WordOrder::DCBA);
}

TEST(PlateLinkFile, WritesWhatItReadsBack)
{
    const std::string text = toJsonText(readPlateLink(whole, "b.plate.json"));
    EXPECT_EQ(toJsonText(readPlateLink(text, "again")), text);
    EXPECT_THAT(text, HasSubstr("\"strip_lifted\""));
    EXPECT_THAT(text, HasSubstr("-32768"));
    EXPECT_THAT(text, HasSubstr("\"plate_max_C\": 280"));
}

static std::string withTail(const std::string& members)
{
    return with("\"no_sensor_raw\"", members + ", \"no_sensor_raw\"");
}

TEST(PlateLinkFile, TellsOfReadingsThatComeSeldomAndOfSettings)
{
    const std::string text = withTail(R"("reading_every_s": 0.5, "settings": [
        {"name": "own ramp off", "table": "holding", "address": 70, "type": "float32", "order": "CDAB", "value": 0},
        {"name": "automatic", "table": "coil", "address": 9, "unit": 4, "value": 1},
        {"name": "least power", "document_number": "40081", "type": "int16", "scale": 0.1, "value": -2.3}])");
    const PlateLink link = readPlateLink(text, "b.plate.json");
    EXPECT_EQ(link.readingEveryS, 0.5);
    ASSERT_EQ(link.settings.size(), 3u);
    EXPECT_EQ(link.settings[0].name, "own ramp off");
    EXPECT_EQ(link.settings[0].field.address, 70);
    EXPECT_EQ(link.settings[0].field.order, WordOrder::CDAB);
    EXPECT_EQ(link.settings[1].field.table, RegisterTable::Coil);
    EXPECT_EQ(link.settings[1].field.unit, 4);
    EXPECT_EQ(link.settings[1].value, 1);
    EXPECT_EQ(link.settings[2].field.address, 80);
    EXPECT_EQ(link.settings[2].value, -2.3);
    const std::string written = toJsonText(link);
    EXPECT_EQ(toJsonText(readPlateLink(written, "again")), written);
    EXPECT_EQ(readPlateLink(written, "again").settings[2].value, -2.3);
    EXPECT_EQ(readPlateLink(whole, "b").readingEveryS, 0);
    EXPECT_THAT(toJsonText(readPlateLink(whole, "b")), testing::Not(HasSubstr("settings")));
}

TEST(PlateLinkFile, RampOfThePlatesOwnBelongsToTheLoopThatWasLearnt)
{
    std::string text = with(R"("drive": "duty",)", R"("drive": "setpoint", "own_ramp_C_per_s": 1.2,
  "identified": {"measured_utc": "2026-11-25T22:00:00Z", "power_W": 300, "heat_capacity_J_per_K": 194,
    "loss_W_per_K": 0.15, "radiating_area_m2": 0.007, "element_lag_s": 4, "sensor_lag_s": 2.5, "dead_time_s": 1,
    "fit_rms_K": 0.2, "duty_per_K": 0.05, "integral_s": 20, "derivative_s": 2.5,
    "own_loop": {"gain_per_K": 0.08, "integral_s": 90}},)");
    ASSERT_EQ(problemsOf(text).size(), 1u) << "told to be off it heats on while it comes down";
    EXPECT_THAT(problemsOf(text)[0], HasSubstr("/own_ramp_C_per_s: found 1.2, expected an \"enable\" output"));
    text.replace(text.find(R"("fan":)"), 6, R"("enable": {"table": "coil", "address": 5}, "fan":)");
    ASSERT_EQ(problemsOf(text), std::vector<std::string>());
    const PlateLink link = readPlateLink(text, "b.plate.json");
    EXPECT_EQ(link.ownRampCPerS, 1.2);
    ASSERT_TRUE(link.identified && link.identified->ownLoop);
    EXPECT_EQ(link.identified->ownLoop->rampCPerS, 1.2);
    const std::string written = toJsonText(link);
    EXPECT_EQ(readPlateLink(written, "again").ownRampCPerS, 1.2);
    EXPECT_EQ(toJsonText(readPlateLink(written, "again")), written);
}

TEST(PlateLinkFile, DutyMayBeASwitchWithALeastTime)
{
    const std::string duty =
        R"("duty": {"table": "holding", "address": 7, "type": "uint16", "scale": 0.001})";
    std::string text = with(duty, R"("duty": {"table": "holding", "address": 7, "switched": true})");
    text.insert(text.find("\"channels\""), "\"least_on_s\": 2, ");
    const PlateLink link = readPlateLink(text, "b.plate.json");
    EXPECT_TRUE(link.switched);
    EXPECT_TRUE(isSwitched(link));
    EXPECT_EQ(link.leastOnS, 2);
    EXPECT_EQ(link.duty->scale, 1);
    const std::string written = toJsonText(link);
    EXPECT_EQ(toJsonText(readPlateLink(written, "again")), written);
    EXPECT_TRUE(readPlateLink(written, "again").switched);
    EXPECT_FALSE(isSwitched(readPlateLink(whole, "b")));
    EXPECT_TRUE(isSwitched(readPlateLink(with(duty, R"("duty": {"table": "coil", "address": 7})"), "b")));
}

static const std::string clearing =
    R"("counter": {"table": "input", "address": 4, "type": "uint16"},
       "clear_watchdog": {"table": "holding", "address": 40, "unit": 4, "value": 255})";

TEST(PlateLinkFile, SaysHowTheWatchdogBitIsCleared)
{
    const std::string text =
        with(R"("counter": {"table": "input", "address": 4, "type": "uint16"})", clearing);
    const PlateLink link = readPlateLink(text, "b.plate.json");
    ASSERT_TRUE(link.clearWatchdog);
    EXPECT_EQ(link.clearWatchdog->value, 255);
    EXPECT_EQ(link.clearWatchdog->field.address, 40);
    EXPECT_EQ(link.clearWatchdog->field.unit, 4);
    const std::string again = toJsonText(link);
    EXPECT_EQ(toJsonText(readPlateLink(again, "again")), again);
    EXPECT_EQ(readPlateLink(again, "again").clearWatchdog->value, 255);
}

TEST(PlateLinkFile, ClearingTheWatchdogNeedsAPlaceThatIsWrittenAValueThatFitsAndABitThatTells)
{
    const auto problems = [](const std::string& command, const std::string& mask) {
        std::string text = with(R"("counter": {"table": "input", "address": 4, "type": "uint16"})",
                                "\"clear_watchdog\": " + command);
        text.replace(text.find("32},"), 2, mask);
        return problemsOf(text);
    };
    using testing::ElementsAre;
    EXPECT_THAT(problems(R"({"table": "coil", "address": 1, "value": 2})", "32"),
                ElementsAre(HasSubstr("/registers/clear_watchdog/value: found 2")));
    EXPECT_THAT(problems(R"({"table": "coil", "address": 1})", "32"),
                ElementsAre(HasSubstr("/registers/clear_watchdog/value")));
    EXPECT_THAT(problems(R"({"table": "input", "address": 1, "value": 1})", "32"),
                ElementsAre(HasSubstr("/registers/clear_watchdog/table: found \"input\"")));
    EXPECT_THAT(problems(R"({"table": "coil", "address": 1, "value": 1})", "0"),
                ElementsAre(HasSubstr("\"watchdog_tripped_mask\"")));
}

struct BadFile {
    const char* from;
    const char* to;
    const char* line;
};

class PlateLinkFileProblem : public testing::TestWithParam<BadFile> {};

TEST_P(PlateLinkFileProblem, IsNamedByFilePointerFoundAndExpected)
{
    const auto lines = problemsOf(with(GetParam().from, GetParam().to));
    ASSERT_EQ(lines.size(), 1u);
    EXPECT_THAT(lines[0], HasSubstr(GetParam().line));
}

INSTANTIATE_TEST_SUITE_P(
    OneFault, PlateLinkFileProblem,
    testing::Values(
        BadFile{"\"address\": 100", "\"address\": 65541",
                "/registers/sensor_C/address: found 65541, expected a whole"},
        BadFile{"\"address\": 65534", "\"address\": 65535",
                "/channels/0/address: found 65535, expected at most 65534"},
        BadFile{"\"table\": \"holding\", \"address\": 7", "\"table\": \"input\", \"address\": 7",
                "/registers/duty/table: found \"input\", expected one of holding"},
        BadFile{"\"table\": \"holding\", \"address\": 9", "\"table\": \"input\", \"address\": 9",
                "/registers/watchdog_s/table: found \"input\""},
        BadFile{"\"table\": \"coil\"", "\"table\": \"discrete\"", "/registers/fan/table: found \"discrete\""},
        BadFile{"\"scale\": 0.001", "\"scale\": 0.00001", "/registers/duty/scale: found 1e-05"},
        BadFile{"\"scale\": 0.001", "\"scale\": 0",
                "/registers/duty/scale: found 0, expected a number that is not 0"},
        BadFile{"\"scale\": 0.001", "\"scale\": 0.001, \"offset\": 0.0005",
                "/registers/duty/offset: found 0.0005"},
        BadFile{"[-32768, 32767]", "[-32768, 65535]",
                "/no_sensor_raw/1: found 65535, expected a whole number a int16"},
        BadFile{"\"sensor_max_C\": 400", "\"sensor_max_C\": -20",
                "/sensor_max_C: found -20.0, expected a number above"},
        BadFile{"\"plate_max_C\": 280", "\"plate_max_C\": 401",
                "/plate_max_C: found 401.0, expected at most sensor_max_C, 400.0"},
        BadFile{"\"plate_max_C\": 280", "\"plate_max_C\": 0", "/plate_max_C: found 0"},
        BadFile{"\"plate_max_C\": 280", "\"plate_max_C\": null", "/plate_max_C: found null"},
        BadFile{"\"watchdog_s\": 2.5", "\"watchdog_s\": 0",
                "/watchdog_s: found 0, expected a number from 0.5 to 60"},
        BadFile{"\"order\": \"CDAB\"", "\"order\": \"ABDC\"", "/registers/setpoint_C/order: found \"ABDC\""},
        BadFile{"\"port\": 5020", "\"port\": 5020, \"baud\": 9600", "/baud: found an unknown key"},
        BadFile{"\"unit\": 3", "\"unit\": 300", "/unit: found 300"},
        BadFile{"\"table\": \"input\", \"address\": 100", "\"table\": \"coil\", \"address\": 100",
                "/registers/sensor_C/table: found \"coil\", expected one of input, holding"}),
    [](const auto& param) { return "Case" + std::to_string(param.index); });

static std::string setting(const std::string& members)
{
    return R"("settings": [{"name": "a", "table": "holding", "address": 70, "type": "int16", "value": 1}, {)" +
           members + "}]";
}

struct BadTail {
    std::string members;
    const char* line;
};

class PlateLinkTailProblem : public testing::TestWithParam<BadTail> {};

TEST_P(PlateLinkTailProblem, IsNamed)
{
    const auto lines = problemsOf(withTail(GetParam().members));
    ASSERT_EQ(lines.size(), 1u) << testing::PrintToString(lines);
    EXPECT_THAT(lines[0], HasSubstr(GetParam().line));
}

INSTANTIATE_TEST_SUITE_P(
    OneFault, PlateLinkTailProblem,
    testing::Values(
        BadTail{R"("reading_every_s": 5.1)",
                "/reading_every_s: found 5.1, expected a number from 0.0 to 5.0"},
        BadTail{R"("reading_every_s": 1.2)", "/watchdog_s: found 2.5, expected at least 3.0"},
        BadTail{R"("least_on_s": 2)", "/least_on_s: found 2.0, expected no such time"},
        BadTail{R"("own_ramp_C_per_s": 2)", "/own_ramp_C_per_s: found 2.0, expected no such ramp"},
        BadTail{R"("settings": 3)", "/settings: found 3, expected an array of at most 16"},
        BadTail{setting(R"("name": "b", "table": "input", "address": 71, "type": "int16", "value": 1)"),
                "/settings/1/table: found \"input\", expected coil or holding"},
        BadTail{setting(R"("name": "b", "table": "holding", "address": 71, "type": "int16", "value": 1.5)"),
                "/settings/1/value: found 1.5, expected a value its register can hold exactly"},
        BadTail{setting(R"("name": "b", "table": "coil", "address": 71, "value": 2)"),
                "/settings/1/value: found 2.0, expected 0 or 1"},
        BadTail{setting(R"("name": "b", "table": "holding", "address": 71, "type": "int16")"),
                "/settings/1/value: found nothing"},
        BadTail{setting(R"("name": "a", "table": "holding", "address": 71, "type": "int16", "value": 1)"),
                "/settings/1/name: found \"a\", expected a name no other setting has"},
        BadTail{setting(R"("name": "b", "table": "holding", "address": 69, "type": "float32", "value": 1)"),
                "/settings/1/address: found 69, expected another place than that of \"a\""},
        BadTail{setting(R"("name": "b", "table": "holding", "address": 6, "type": "float32", "value": 1)"),
                "/settings/1/address: found 6, expected a place that nothing under \"registers\""}),
    [](const auto& param) { return "Case" + std::to_string(param.index); });

TEST(PlateLinkFile, ReportsAllProblemsAtOnce)
{
    std::string text = with("\"unit\": 3", "\"unit\": -1");
    text.replace(text.find("\"host\": \"10.0.0.7\""), 18, "\"host\": \"\"");
    text.replace(text.find("\"address\": 9,"), 13, "\"address\": \"40010\",");
    EXPECT_EQ(problemsOf(text).size(), 3u);
}

TEST(PlateLinkFile, RequiresTheQuantityThatIsDriven)
{
    std::string text = with("\"drive\": \"duty\"", "\"drive\": \"setpoint\"");
    const size_t start = text.find("\"setpoint_C\"");
    text.erase(start, text.find('\n', start) - start);
    const auto lines = problemsOf(text);
    ASSERT_EQ(lines.size(), 1u);
    EXPECT_THAT(lines[0], HasSubstr("/registers/setpoint_C: found nothing"));
}

TEST(PlateLinkFile, OfADriveThatIsNoneOnlyTheDriveIsReported)
{
    for (const char* drive : {"\"drive\": \"set-point\"", "\"drive\": 1"}) {
        std::string text = with("\"drive\": \"duty\"", drive);
        const size_t start = text.find("\"duty\": {");
        text.erase(start, text.find('\n', start) - start); // it is driven by its set-point
        const auto lines = problemsOf(text);
        ASSERT_EQ(lines.size(), 1u) << lines[1];
        EXPECT_THAT(lines[0], HasSubstr("/drive: found "));
        EXPECT_THAT(lines[0], HasSubstr("one of duty, setpoint"));
    }
    std::string relay = with("\"drive\": \"duty\"", "\"drive\": \"relay\", \"least_on_s\": 2, \"own_ramp_C_per_s\": 1");
    relay.replace(relay.find("\"type\": \"uint16\", \"scale\": 0.001"), 32, "\"switched\": true");
    EXPECT_EQ(problemsOf(relay).size(), 1u);
}

TEST(PlateLinkFile, NamesAMisspeltQuantityAndTheOneThatIsMissing)
{
    const auto lines = problemsOf(with("\"duty\": {", "\"dutty\": {"));
    ASSERT_EQ(lines.size(), 2u);
    EXPECT_THAT(lines[0], HasSubstr("/registers/duty: found nothing, expected the register"));
    EXPECT_THAT(lines[1], HasSubstr("/registers/dutty: found an unknown key"));
}

TEST(PlateLinkFile, RequiresASensor)
{
    std::string text = whole;
    const size_t start = text.find("\"sensor_C\"");
    text.erase(start, text.find('\n', start) - start);
    const auto lines = problemsOf(text);
    ASSERT_FALSE(lines.empty());
    EXPECT_TRUE(std::any_of(lines.begin(), lines.end(), [](const std::string& line) {
        return line.find("/registers/sensor_C: found nothing") != std::string::npos;
    }));
}

TEST(PlateLinkFile, RefusesAnotherFormatAndBrokenJson)
{
    EXPECT_THAT(problemsOf(with("stripwright-plate-link", "another")).at(0),
                HasSubstr("/format: found \"another\""));
    EXPECT_EQ(problemsOf("{\"format\": ").size(), 1u);
    EXPECT_EQ(problemsOf("[]").size(), 1u);
}

TEST(PlateLinkFile, RefusesMoreChannelsThanAReadingHolds)
{
    std::string list;
    for (int i = 0; i <= maxExtraChannels; ++i)
        list += std::string(i ? "," : "") + "{\"name\": \"c" + std::to_string(i) +
                "_C\", \"table\": \"input\", \"address\": " + std::to_string(i) + ", \"type\": \"int16\"}";
    std::string text = whole;
    const size_t start = text.find("\"channels\"");
    text = text.substr(0, start) + "\"channels\": [" + list + "]}";
    EXPECT_THAT(problemsOf(text).at(0),
                HasSubstr("/channels: found 25 channels, expected an array of at most 24"));
}
