#include "bench/register_device.h"
#include "link/register_codec.h"
#include "test_sheet.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

using namespace stripwright;

namespace {

using Bytes = std::vector<std::uint8_t>;

// A plate behind a map, asked in PDUs, without a line.
struct Mapped {
    PlateMap map;
    SimulatedPlate plate;
    RegisterDevice device;

    Mapped(const std::string& name, DriveKind drive, SimulatedPlateOptions options = quiet())
        : map(*plateMap(name, drive)), plate(testSheet(), fitted(options, drive)), device(plate, map)
    {
    }
    static SimulatedPlateOptions quiet()
    {
        SimulatedPlateOptions options;
        options.noiseK = 0;
        return options;
    }
    SimulatedPlateOptions fitted(SimulatedPlateOptions options, DriveKind drive)
    {
        options.drive = drive;
        fitTo(options, map);
        return options;
    }

    Bytes ask(int unit, const Bytes& pdu) { return device.answer(unit, pdu)->pdu; }

    Bytes request(std::uint8_t function, int address, int last) const
    {
        return {function, static_cast<std::uint8_t>(address >> 8), static_cast<std::uint8_t>(address),
                static_cast<std::uint8_t>(last >> 8), static_cast<std::uint8_t>(last)};
    }
    int unitOf(const RegisterField& field) const { return field.unit.value_or(map.link.unit); }

    Bytes bytesOf(const RegisterField& field)
    {
        static const std::uint8_t functions[] = {1, 2, 4, 3};
        const Bytes answer = ask(unitOf(field), request(functions[static_cast<size_t>(field.table)],
                                                        field.address, wordsOf(field)));
        return answer[0] & 0x80 ? Bytes{} : Bytes(answer.begin() + 2, answer.end());
    }
    double valueOf(const RegisterField& field)
    {
        const Bytes bytes = bytesOf(field);
        if (bytes.size() == 1)
            return bytes[0];
        std::uint16_t words[2] = {};
        for (size_t i = 0; i < bytes.size() / 2; ++i)
            words[i] = static_cast<std::uint16_t>(bytes[2 * i] << 8 | bytes[2 * i + 1]);
        return bytes.empty() ? std::nan("") : decodeValue(words, field);
    }
    // True: acknowledged.
    bool write(const RegisterField& field, double value)
    {
        if (field.table == RegisterTable::Coil)
            return !(ask(unitOf(field), request(5, field.address, value != 0 ? 0xff00 : 0))[0] & 0x80);
        std::uint16_t words[2] = {};
        encodeValue(value, field, words);
        if (wordsOf(field) == 1)
            return !(ask(unitOf(field), request(6, field.address, words[0]))[0] & 0x80);
        Bytes pdu = request(16, field.address, 2);
        pdu.push_back(4);
        for (const std::uint16_t word : words) {
            pdu.push_back(static_cast<std::uint8_t>(word >> 8));
            pdu.push_back(static_cast<std::uint8_t>(word));
        }
        return !(ask(unitOf(field), pdu)[0] & 0x80);
    }
};

using NameAndDrive = std::pair<std::string, DriveKind>;

std::vector<NameAndDrive> everyMap()
{
    std::vector<NameAndDrive> all;
    for (const std::string& name : plateMapNames())
        for (const DriveKind drive : {DriveKind::Duty, DriveKind::Setpoint})
            if (plateMap(name, drive))
                all.emplace_back(name, drive);
    return all;
}

class EveryPlateMap : public testing::TestWithParam<NameAndDrive> {};

TEST_P(EveryPlateMap, ReadsBackWhatIsWrittenAndThePlateObeys)
{
    Mapped one(GetParam().first, GetParam().second);
    const PlateLink& link = one.map.link;
    ASSERT_TRUE(link.watchdogS && link.fan && link.stripLifted);
    EXPECT_TRUE(one.write(*link.watchdogS, 4.5));
    EXPECT_NEAR(one.valueOf(*link.watchdogS), 4.5, 1e-6);
    EXPECT_NEAR(one.plate.watchdogSeconds(), 4.5, 1e-6);
    EXPECT_TRUE(one.write(*link.fan, 1));
    EXPECT_EQ(one.valueOf(*link.fan), 1);
    EXPECT_TRUE(one.plate.fanOn());
    EXPECT_TRUE(one.write(*link.stripLifted, 1));
    EXPECT_TRUE(one.plate.stripLifted());
    if (link.drive == DriveKind::Setpoint) {
        EXPECT_TRUE(one.write(*link.setpoint, 183.5));
        EXPECT_EQ(one.valueOf(*link.setpoint), 183.5);
        EXPECT_EQ(one.plate.setpointC(), 183.5);
        EXPECT_FALSE(one.write(*link.setpoint, 401));
        EXPECT_FALSE(one.write(*link.duty, 0.5));
    } else {
        const double duty = link.duty->table == RegisterTable::Coil ? 1 : 0.375;
        EXPECT_TRUE(one.write(*link.duty, duty));
        EXPECT_EQ(one.valueOf(*link.duty), duty);
        EXPECT_EQ(one.plate.dutyCommand(), duty);
        EXPECT_TRUE(one.write(*link.duty, 0));
        EXPECT_EQ(one.plate.dutyCommand(), 0);
    }
}

TEST_P(EveryPlateMap, ShowsWhatThePlateShows)
{
    Mapped one(GetParam().first, GetParam().second);
    one.plate.setEnable(true);
    one.plate.setDuty(1);
    one.plate.setSetpointC(200);
    for (int i = 0; i < 100; ++i) {
        one.plate.advance(0.2);
        one.plate.read();
    }
    const PlateLink link = linkTo(one.map, one.plate);
    const PlateReading shown = one.plate.shown();
    ASSERT_GT(shown.sensorC, 30);
    EXPECT_NEAR(one.valueOf(link.sensor), shown.sensorC,
                link.sensor.scale < 1 ? link.sensor.scale / 2 : 1e-4);
    if (link.stripSensor) {
        EXPECT_NEAR(one.valueOf(*link.stripSensor), shown.stripC.value(), 1e-4);
    }
    if (link.counter) {
        EXPECT_EQ(one.valueOf(*link.counter), shown.counter);
    }
    EXPECT_EQ(one.valueOf(*link.status), 0);
    EXPECT_NEAR(one.valueOf(*link.duty), shown.duty.value(), 1e-4);
    ASSERT_FALSE(link.channels.empty());
    for (size_t i = 0; i < link.channels.size(); ++i)
        EXPECT_NEAR(one.valueOf(link.channels[i].field), shown.extraC[i], 0.0501) << link.channels[i].name;

    one.plate.advance(5); // nobody there: the watchdog cuts
    EXPECT_EQ(one.valueOf(*link.status), link.watchdogTrippedMask);
}

TEST_P(EveryPlateMap, OpenSensorIsItsNoSensorValue)
{
    SimulatedPlateOptions options;
    options.faults = {{Fault::SensorOpen}, {Fault::StripSensorOpen}};
    Mapped one(GetParam().first, GetParam().second, options);
    const PlateLink& link = one.map.link;
    const double none = static_cast<double>(link.noSensorRaw.front()) * link.sensor.scale;
    EXPECT_NEAR(one.valueOf(link.sensor), none, 1e-9);
    if (link.stripSensor) {
        EXPECT_NEAR(one.valueOf(*link.stripSensor), none, 1e-9);
    }
}

TEST_P(EveryPlateMap, HalfAValueCannotBeWritten)
{
    Mapped one(GetParam().first, GetParam().second);
    const RegisterField watchdog = *one.map.link.watchdogS;
    if (wordsOf(watchdog) == 2) {
        EXPECT_EQ(one.ask(one.unitOf(watchdog), one.request(6, watchdog.address, 0)), (Bytes{0x86, 2}));
        EXPECT_EQ(one.ask(one.unitOf(watchdog), one.request(6, watchdog.address + 1, 0)), (Bytes{0x86, 2}));
    }
    EXPECT_EQ(one.plate.watchdogSeconds(), 3);
}

// What the tests of every map ask only where a map has it.
TEST(PlateMap, TogetherHaveEveryKindOfRegister)
{
    int stripSensors = 0, counters = 0, setpoints = 0, coils = 0, twoWords = 0;
    for (const std::string& name : plateMapNames())
        for (const DriveKind drive : {DriveKind::Duty, DriveKind::Setpoint})
            if (const auto map = plateMap(name, drive)) {
                stripSensors += map->link.stripSensor.has_value();
                counters += map->link.counter.has_value();
                setpoints += map->link.setpoint.has_value();
                coils += drive == DriveKind::Duty && map->link.duty->table == RegisterTable::Coil;
                twoWords += map->link.watchdogS && wordsOf(*map->link.watchdogS) == 2;
            }
    for (const int count : {stripSensors, counters, setpoints, coils, twoWords})
        EXPECT_GT(count, 0);
}

INSTANTIATE_TEST_SUITE_P(Maps, EveryPlateMap, testing::ValuesIn(everyMap()), [](const auto& param) {
    return param.param.first + (param.param.second == DriveKind::Duty ? "Duty" : "Setpoint");
});

// 25 C: 250 tenths, 0x41C80000 as a float, 400 sixteenths.
TEST(PlateMap, TwentyFiveDegreesStandAsTheMapSays)
{
    const auto sensorBytes = [](const char* name) {
        Mapped one(name, DriveKind::Duty);
        return one.bytesOf(one.map.link.sensor);
    };
    EXPECT_EQ(sensorBytes("plain"), (Bytes{0x00, 0xFA}));
    EXPECT_EQ(sensorBytes("floats"), (Bytes{0x00, 0x00, 0x41, 0xC8}));
    EXPECT_EQ(sensorBytes("sixteenths"), (Bytes{0x90, 0x01, 0x00, 0x00}));
    EXPECT_EQ(sensorBytes("modules"), (Bytes{0x00, 0xFA}));
}

TEST(PlateMap, PlainIsMeantWhenNothingIsSaidAndModulesHaveNoSetpoint)
{
    EXPECT_EQ(plateMapNames().front(), "plain");
    EXPECT_FALSE(plateMap("modules", DriveKind::Setpoint));
    EXPECT_FALSE(plateMap("none", DriveKind::Duty));
}

TEST(PlateMap, GapsReadZeroOrAreRefusedAsTheMapSays)
{
    Mapped plain("plain", DriveKind::Duty), strict("sixteenths", DriveKind::Duty);
    EXPECT_EQ(plain.ask(1, {4, 0, 0, 0, 12}).size(), 26u);
    EXPECT_EQ(plain.ask(1, {4, 0, 5, 0, 1}), (Bytes{4, 2, 0, 0}));
    EXPECT_EQ(strict.ask(17, {4, 0x03, 0xE8, 0, 4}).size(), 10u); // sensor and counter touch
    EXPECT_EQ(strict.ask(17, {4, 0x03, 0xE8, 0, 5}), (Bytes{0x84, 2}));
}

TEST(PlateMap, ModulesAreTwoUnitsAndOnlyTheRelaysFeedTheWatchdog)
{
    Mapped one("modules", DriveKind::Duty);
    EXPECT_EQ(one.ask(2, {1, 0, 0, 0, 1}), (Bytes{0x81, 2}));
    EXPECT_EQ(one.ask(3, {4, 0, 0, 0, 1}), (Bytes{0x84, 2}));
    EXPECT_EQ(one.ask(4, {4, 0, 0, 0, 1}), (Bytes{0x84, 0x0B}));
    one.write(*one.map.link.enable, 1);
    one.write(*one.map.link.duty, 1);
    for (int i = 0; i < 30; ++i) {
        one.plate.advance(0.2);
        one.ask(3, {1, 0, 0, 0, 4});
    }
    EXPECT_EQ(one.plate.dutyApplied(), 1);
    for (int i = 0; i < 30; ++i) {
        one.plate.advance(0.2);
        one.ask(2, {4, 0, 0, 0, 1});
    }
    EXPECT_EQ(one.plate.dutyApplied(), 0);
    EXPECT_EQ(one.valueOf(*one.map.link.enable), 0) << "the cut drops the enable output";
}

TEST(PlateMap, SeveralCoilsAreWrittenAndReadAtOnce)
{
    Mapped one("modules", DriveKind::Duty);
    EXPECT_EQ(one.ask(3, {15, 0, 0, 0, 3, 1, 0b110}), (Bytes{15, 0, 0, 0, 3}));
    EXPECT_EQ(one.ask(3, {1, 0, 0, 0, 4}), (Bytes{1, 1, 0b110}));
    EXPECT_TRUE(one.plate.enabled());
    EXPECT_TRUE(one.plate.fanOn());
    EXPECT_EQ(one.ask(3, {15, 0, 0, 0, 5, 1, 0}), (Bytes{0x8F, 2}));
    EXPECT_TRUE(one.plate.enabled()) << "refused as a whole";
}

TEST(PlateMap, OwnRampIsARegisterAndTheLinkOfAPlateThatHasOneSwitchesItOff)
{
    int ramps = 0;
    for (const std::string& name : plateMapNames()) {
        if (!plateMap(name, DriveKind::Setpoint))
            continue;
        SimulatedPlateOptions options = Mapped::quiet();
        Mapped without(name, DriveKind::Setpoint, options);
        EXPECT_TRUE(linkTo(without.map, without.plate).settings.empty());
        options.ownRampCPerS = 0.25;
        Mapped one(name, DriveKind::Setpoint, options);
        const PlateLink link = linkTo(one.map, one.plate);
        ASSERT_EQ(link.settings.size(), 1u) << name;
        const PlateSetting& off = link.settings.front();
        EXPECT_NEAR(one.valueOf(off.field), 0.25, 1e-6);
        EXPECT_TRUE(one.write(off.field, off.value));
        EXPECT_EQ(one.plate.ownRampCPerS(), 0);
        EXPECT_TRUE(one.write(off.field, 1.5));
        EXPECT_EQ(one.plate.ownRampCPerS(), 1.5);
        EXPECT_EQ(one.plate.setpointC(), 0) << "it stands on no other's place";
        ++ramps;
    }
    EXPECT_GE(ramps, 3);
    EXPECT_FALSE(plateMap("plain", DriveKind::Duty)->ownRamp);
    SimulatedPlateOptions options = Mapped::quiet();
    options.ownRampCPerS = 0.25;
    Mapped stays("floats", DriveKind::Setpoint, options);
    PlateLink link = linkTo(withoutOwnRamp(stays.map), stays.plate);
    link.host = "127.0.0.1";
    EXPECT_TRUE(link.settings.empty());
    EXPECT_EQ(link.ownRampCPerS, 0.25);
    EXPECT_EQ(readPlateLink(toJsonText(link), "again").ownRampCPerS, 0.25);
}

TEST(PlateMap, LinkSaysHowOftenReadingsComeAndHowLongARelayStands)
{
    SimulatedPlateOptions options = Mapped::quiet();
    options.readingEveryS = 1.5;
    options.leastOnS = 2;
    Mapped relay("modules", DriveKind::Duty, options), plain("plain", DriveKind::Duty, options);
    EXPECT_EQ(linkTo(relay.map, relay.plate).readingEveryS, 1.5);
    EXPECT_EQ(linkTo(relay.map, relay.plate).leastOnS, 2);
    EXPECT_GE(linkTo(relay.map, relay.plate).watchdogSeconds, 2.5 * 1.5);
    EXPECT_EQ(linkTo(plain.map, plain.plate).leastOnS, 0) << "its relay is its own affair";
}

TEST(PlateMap, PlateMayTellNeitherItsDutyNorThatItsWatchdogHasCut)
{
    const PlateMap map = *plateMap("plain", DriveKind::Setpoint);
    ASSERT_TRUE(map.link.duty);
    const PlateMap secret = withoutDuty(map);
    EXPECT_FALSE(secret.link.duty);
    SimulatedPlateOptions options;
    fitTo(options, secret);
    SimulatedPlate plate(testSheet(), options);
    EXPECT_FALSE(plate.read()->duty);
    EXPECT_TRUE(withoutDuty(*plateMap("plain", DriveKind::Duty)).link.duty) << "it is what is written";
    EXPECT_EQ(withoutWatchdogBit(map).link.watchdogTrippedMask, 0);
    EXPECT_TRUE(withoutWatchdogBit(map).link.status && withoutWatchdogBit(map).link.watchdogS);
    EXPECT_FALSE(withoutWatchdogBit(*plateMap("modules", DriveKind::Duty)).link.status);
}

} // namespace
