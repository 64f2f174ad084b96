#include "link/line_diagnosis.h"
#include "link/register_codec.h"
#include "serial_device.h"

#include <atomic>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

using namespace stripwright;
using testing::AllOf;
using testing::HasSubstr;
using testing::Not;
using Clock = std::chrono::steady_clock;
using enum RegisterTable;

namespace {

PlateLink linkTo(const SerialDevice& device, int unit = 1)
{
    PlateLink link;
    link.name = "bench 2";
    link.serial = device.line();
    link.unit = unit;
    link.sensor = {.table = Input, .address = 0, .type = RegisterType::Int16, .scale = 0.1};
    link.counter = {.table = Input, .address = 20, .type = RegisterType::Uint16};
    link.duty = {.table = Holding, .address = 10, .type = RegisterType::Uint16, .scale = 0.001};
    return link;
}

struct Refusal {
    std::string text = "opened";
    double tookS = 0;
};

Refusal refusalOf(const PlateLink& link)
{
    Refusal refusal;
    const auto start = Clock::now();
    try {
        openPlate(link, 1.0, 0.1);
    } catch (const LinkError& error) {
        refusal.text = error.what();
    }
    refusal.tookS = std::chrono::duration<double>(Clock::now() - start).count();
    return refusal;
}

TEST(PlateDiagnosis, NamesTheUnitThatAnswersInsteadOfTheOneAsked)
{
    SerialDevice device({3});
    const Refusal refusal = refusalOf(linkTo(device, 1));
    EXPECT_THAT(refusal.text, AllOf(HasSubstr("plate \"bench 2\" at " + device.path() + " at 115200 8N1"),
                                    HasSubstr("Nothing came from unit 1, but unit 3 answers"),
                                    HasSubstr("check \"unit\"")));
    EXPECT_LT(refusal.tookS, 4);
}

TEST(PlateDiagnosis, SilentLineIsAMatterOfPowerAndWiresAndTakesALimitedTime)
{
    SerialDevice device(std::vector<int>{});
    const Refusal refusal = refusalOf(linkTo(device, 1));
    EXPECT_THAT(refusal.text,
                AllOf(HasSubstr("Nothing came, from unit 1 nor from units 1 to 10"), HasSubstr("power"),
                      HasSubstr("A and B are swapped"), HasSubstr("no answer in time")));
    EXPECT_LT(refusal.tookS, 4.5);
}

TEST(PlateDiagnosis, OnlyReadsAreSentToUnitsThatAreLookedFor)
{
    SerialDevice device({2});
    device.set(2, Holding, 10, 77);
    PlateLink link = linkTo(device, 9);
    link.watchdogS = {.table = Holding, .address = 12, .type = RegisterType::Uint16};
    EXPECT_THAT(refusalOf(link).text, HasSubstr("unit 2 answers"));
    EXPECT_EQ(device.get(2, Holding, 10), 77);
    EXPECT_EQ(device.get(2, Holding, 12), 0);
}

TEST(PlateDiagnosis, BytesThatAreNoFrameAreAMatterOfBaudAndParity)
{
    SerialDevice device;
    device.garblesAnswers = true;
    EXPECT_THAT(refusalOf(linkTo(device)).text, AllOf(HasSubstr(" bytes came that are no Modbus frame"),
                                                      HasSubstr("\"baud\""), HasSubstr("now 115200 8N1")));
}

TEST(PlateDiagnosis, EchoOfTheAdapterIsSaid)
{
    SerialDevice device(std::vector<int>{});
    device.echoesRequests = true;
    EXPECT_THAT(refusalOf(linkTo(device)).text, HasSubstr("gives back what is sent"));
}

TEST(PlateDiagnosis, AnswerOfAnotherUnitIsSaid)
{
    SerialDevice device;
    device.answersAs = 9;
    EXPECT_THAT(refusalOf(linkTo(device)).text, HasSubstr("Unit 9 answered what unit 1 was asked"));
}

TEST(PlateDiagnosis, TalkOnTheLineIsAnotherMaster)
{
    SerialDevice device(std::vector<int>{});
    std::atomic<bool> talks{true};
    std::thread master([&] {
        while (talks) {
            device.say({7, 3, 0, 0, 0, 1, 0x84, 0x6C});
            std::this_thread::sleep_for(std::chrono::milliseconds(60));
        }
    });
    EXPECT_THAT(refusalOf(linkTo(device)).text,
                AllOf(HasSubstr("came that nobody asked for"), HasSubstr("another master")));
    talks = false;
    master.join();
}

TEST(PlateDiagnosis, OneDisturbedAnswerIsNoReasonToRefuse)
{
    SerialDevice device;
    device.noiseBefore = 3;
    EXPECT_EQ(refusalOf(linkTo(device)).text, "opened");
}

TEST(PlateDiagnosis, RefusedRegisterIsNamedAsTheFileNamesIt)
{
    SerialDevice device;
    device.missing = 20;
    EXPECT_THAT(refusalOf(linkTo(device)).text,
                AllOf(HasSubstr("It refuses registers/counter (input register 20 of unit 1: refused with "
                                "exception 02 (illegal data address))"),
                      Not(HasSubstr("registers/sensor_C")), HasSubstr("document_number")));
}

TEST(PlateDiagnosis, GatewayThatFindsNobodySaysSo)
{
    SerialDevice device;
    device.exception = 0x0B;
    EXPECT_THAT(refusalOf(linkTo(device)).text,
                AllOf(HasSubstr("exception 0B"), HasSubstr("nothing behind it as unit 1")));
}

PlateLink floatLink(WordOrder order)
{
    PlateLink link;
    link.sensor = {.table = Input, .address = 0, .type = RegisterType::Float32, .order = order};
    return link;
}

// 25.0f = 41C8 0000, 24.8f = 41C6 6666 (IEEE 754).
TEST(WordOrderAdvice, NamesTheOneOrderThatGivesATemperatureWhicheverWasMeant)
{
    using enum WordOrder;
    static const char* const names[] = {"ABCD", "CDAB", "BADC", "DCBA"};
    for (const float valueC : {25.0f, 24.8f, 181.3f, -7.5f})
        for (const WordOrder actual : {ABCD, CDAB, BADC, DCBA})
            for (const WordOrder assumed : {ABCD, CDAB, BADC, DCBA}) {
                std::uint16_t words[2];
                encodeRaw(valueC, RegisterType::Float32, actual, words);
                const std::string advice = adviceOnWordOrder(floatLink(assumed), words);
                if (actual == assumed)
                    EXPECT_EQ(advice, "");
                else
                    EXPECT_THAT(advice, HasSubstr("try \"order\": \"" +
                                                  std::string(names[static_cast<size_t>(actual)]) + "\""))
                        << valueC;
            }
    const std::uint16_t swapped[] = {0x6666, 0x41C6};
    EXPECT_THAT(adviceOnWordOrder(floatLink(ABCD), swapped),
                HasSubstr("as CDAB it would read 24.8 °C: try \"order\": \"CDAB\""));
}

TEST(WordOrderAdvice, FaultySensorIsNoMatterOfOrder)
{
    const std::uint16_t nan[] = {0x7FC0, 0x0000}, zero[] = {0, 0};
    EXPECT_EQ(adviceOnWordOrder(floatLink(WordOrder::ABCD), nan), "");
    EXPECT_EQ(adviceOnWordOrder(floatLink(WordOrder::ABCD), zero), "");
    PlateLink tenths;
    tenths.sensor = {.type = RegisterType::Int16, .scale = 0.1};
    for (const int none : {32767, 0x8000, 65535, 9999, 4510}) {
        const auto word = static_cast<std::uint16_t>(none);
        EXPECT_EQ(adviceOnWordOrder(tenths, &word), "") << none;
    }
    tenths.noSensorRaw = {0x7F00};
    const std::uint16_t ownNone = 0x7F00; // would read 12.7 °C with its bytes swapped
    EXPECT_EQ(adviceOnWordOrder(tenths, &ownNone), "");
}

TEST(WordOrderAdvice, PlateInAWrongOrderIsNotOpened)
{
    SerialDevice device;
    PlateLink link = linkTo(device);
    link.sensor = {.table = Input, .address = 0, .type = RegisterType::Float32};
    device.set(1, Input, 0, 0x6666);
    device.set(1, Input, 1, 0x41C6);
    EXPECT_THAT(refusalOf(link).text, HasSubstr("try \"order\": \"CDAB\""));
    link.sensor.order = WordOrder::CDAB;
    EXPECT_EQ(refusalOf(link).text, "opened");
}

} // namespace
