#include "messages/messages.h"
#include "messages/solder_mark_text.h"
#include "messages/wire_names.h"

#include <cmath>
#include <gtest/gtest.h>
#include <random>

namespace stripwright {

template <class Content> static Content throughTheWire(const Content& content)
{
    const std::string line = encode(content);
    EXPECT_EQ(line.find('\n'), line.size() - 1);
    std::string why;
    auto message = decode(line.substr(0, line.size() - 1), why);
    EXPECT_TRUE(message) << why;
    EXPECT_EQ(why, "");
    if (!message || !std::holds_alternative<Content>(*message)) {
        ADD_FAILURE() << "came back as another message: " << line;
        return {};
    }
    return std::get<Content>(*message);
}

TEST(Codec, SampleComesBackToTheLastBit)
{
    std::mt19937_64 bits(7);
    std::uniform_real_distribution<double> anywhere(-1e9, 1e9), share(0, 1);
    for (int i = 0; i < 500; ++i) {
        Sample sample{.seq = i + 1,
                      .timeS = anywhere(bits),
                      .profileS = anywhere(bits) * 1e-12,
                      .sensorC = anywhere(bits) * 1e-290,
                      .referenceC = 1.0 / 3.0,
                      .expectedC = std::nextafter(240.0, 241.0),
                      .duty = share(bits),
                      .jointLowC = anywhere(bits),
                      .jointNominalC = std::nullopt,
                      .jointHighC = anywhere(bits),
                      .extra = {{"truth_joint_6_C", anywhere(bits)}, {"block_1_C", anywhere(bits)}}};
        const Sample back = throughTheWire(sample);
        EXPECT_EQ(back.seq, sample.seq);
        EXPECT_EQ(back.timeS, sample.timeS);
        EXPECT_EQ(back.profileS, sample.profileS);
        EXPECT_EQ(back.sensorC, sample.sensorC);
        EXPECT_EQ(back.referenceC, sample.referenceC);
        EXPECT_EQ(back.expectedC, sample.expectedC);
        EXPECT_EQ(back.duty, sample.duty);
        EXPECT_EQ(back.jointLowC, sample.jointLowC);
        EXPECT_EQ(back.jointNominalC, std::nullopt);
        EXPECT_EQ(back.jointHighC, sample.jointHighC);
        EXPECT_EQ(back.extra, sample.extra);
    }
}

TEST(Codec, EveryStateOfStatusComesBack)
{
    for (int state = 0; state < 7; ++state)
        for (int heater = 0; heater < 4; ++heater)
            for (int link = 0; link < 3; ++link) {
                const Status back = throughTheWire(Status{.state = RunState(state),
                                                          .heater = HeaterState(heater),
                                                          .link = LinkState(link),
                                                          .linkText = "no answer from bench:502",
                                                          .sensorC = 25.1,
                                                          .timeS = 1,
                                                          .profileS = 2,
                                                          .endS = 3,
                                                          .card = "lay-strip",
                                                          .runKey = "20261125-1"});
                EXPECT_EQ(back.state, RunState(state));
                EXPECT_EQ(back.heater, HeaterState(heater));
                EXPECT_EQ(back.link, LinkState(link));
                EXPECT_EQ(back.linkText, "no answer from bench:502");
                EXPECT_EQ(back.sensorC, 25.1);
                EXPECT_EQ(back.timeS, 1);
                EXPECT_EQ(back.profileS, 2);
                EXPECT_EQ(back.endS, 3);
                EXPECT_EQ(back.card, "lay-strip");
                EXPECT_EQ(back.runKey, "20261125-1");
                EXPECT_EQ(back.outcome, std::nullopt);
            }
    for (int outcome = 0; outcome < 5; ++outcome) {
        const Status back = throughTheWire(Status{.outcome = Outcome(outcome), .outcomeText = "plate 256 C"});
        EXPECT_EQ(back.outcome, Outcome(outcome));
        EXPECT_EQ(back.outcomeText, "plate 256 C");
        EXPECT_EQ(outcomeNamed(wireName(Outcome(outcome))), Outcome(outcome));
    }
}

TEST(Codec, CommandsAndEventsComeBack)
{
    const std::string plan = "{\n  \"format\": \"plan\",\n \"sheet\": \"äöü \\\" \t\"}\n";
    EXPECT_EQ(throughTheWire(StartRun{plan}).planText, plan);
    EXPECT_EQ(throughTheWire(ConfirmCard{"lay-strip"}).card, "lay-strip");
    EXPECT_EQ(throughTheWire(AddNote{"smells of flux\nat 150"}).text, "smells of flux\nat 150");
    EXPECT_EQ(throughTheWire(Refused{"plate is hot"}).why, "plate is hot");
    EXPECT_EQ(throughTheWire(StopHeating{2'000'000'000}).id, 2'000'000'000);
    throughTheWire(AcknowledgeTrip{});
    throughTheWire(ResetTrip{});
    throughTheWire(Heartbeat{});
    throughTheWire(Shutdown{});
    const Event event = throughTheWire(Event{4, 12.5, "interlock", "trip", "over temperature"});
    EXPECT_EQ(event.seq, 4);
    EXPECT_EQ(event.timeS, 12.5);
    EXPECT_EQ(event.kind, "interlock");
    EXPECT_EQ(event.severity, "trip");
    EXPECT_EQ(event.text, "over temperature");
}

TEST(Codec, MarksOfSolderComeBackAndMustSayBothSiteAndState)
{
    for (const bool liquid : {false, true}) {
        const SolderMark mark = throughTheWire(SolderMark{6, liquid});
        EXPECT_EQ(mark.site, 6);
        EXPECT_EQ(mark.liquid, liquid);
    }
    std::string why;
    EXPECT_FALSE(decode(R"({"message":"solder_mark","site":6})", why));
    EXPECT_NE(why.find("liquid"), std::string::npos) << why;
    EXPECT_FALSE(decode(R"({"message":"solder_mark","liquid":true})", why));
    EXPECT_NE(why.find("site"), std::string::npos) << why;
    EXPECT_FALSE(decode(R"({"message":"solder_mark","site":0,"liquid":true})", why));
}

static Event eventOf(const MarkedSolder& mark)
{
    char text[400];
    writeMarkText(mark, text, sizeof text);
    return {1, 150.2, markKind, "info", text};
}

TEST(SolderMarkText, IsReadBackAsItWasWritten)
{
    for (const bool liquid : {false, true})
        for (const double upToC : {138.0, 227.0}) {
            const MarkedSolder mark{.site = 12,
                                    .liquid = liquid,
                                    .beforeC = 131.2,
                                    .afterC = 138.4,
                                    .meltsFromC = 138,
                                    .meltsUpToC = upToC,
                                    .withdraws = !liquid && upToC > 200};
            const auto back = markOf(eventOf(mark));
            ASSERT_TRUE(back) << eventOf(mark).text;
            EXPECT_EQ(back->site, 12);
            EXPECT_EQ(back->liquid, liquid);
            EXPECT_EQ(back->beforeC, 131.2);
            EXPECT_EQ(back->afterC, 138.4);
            EXPECT_EQ(back->meltsFromC, 138);
            EXPECT_EQ(back->meltsUpToC, upToC);
            EXPECT_EQ(back->withdraws, mark.withdraws);
        }
}

TEST(SolderMarkText, OfAnythingElseIsNoMark)
{
    const Event mark =
        eventOf({.site = 6, .liquid = true, .beforeC = 1, .afterC = 2, .meltsFromC = 3, .meltsUpToC = 3});
    Event other = mark;
    other.kind = "note";
    EXPECT_FALSE(markOf(other));
    // Cut off anywhere before the last figure, it says nothing.
    for (size_t bytes = 0; bytes + std::string("3.0 °C").size() <= mark.text.size(); ++bytes) {
        other = mark;
        other.text.resize(bytes);
        EXPECT_FALSE(markOf(other)) << other.text;
    }
    other = mark;
    other.text.replace(other.text.find("liquid"), 6, "molten");
    EXPECT_FALSE(markOf(other));
}

TEST(Codec, TripStopAndStripOfAStatusComeBack)
{
    for (const StripPlace place : {StripPlace::OnPlate, StripPlace::LiftNotSaid, StripPlace::Lifted}) {
        const Status back = throughTheWire(
            Status{.stopTaken = 17, .trip = Trip{"over temperature: 256 C", true, false}, .strip = place});
        EXPECT_EQ(back.stopTaken, 17);
        ASSERT_TRUE(back.trip);
        EXPECT_EQ(back.trip->text, "over temperature: 256 C");
        EXPECT_TRUE(back.trip->acknowledged);
        EXPECT_FALSE(back.trip->causeSeen);
        EXPECT_EQ(back.strip, place);
    }
    const Status none = throughTheWire(Status{});
    EXPECT_EQ(none.stopTaken, 0);
    EXPECT_FALSE(none.trip);
}

TEST(Codec, AStopIsAStopWhateverElseStandsInIt)
{
    for (const char* line : {R"({"message":"stop_heating"})", R"({"message":"stop_heating","id":"x"})",
                             R"({"message":"stop_heating","id":-4,"why":[1,2]})",
                             R"({"message":"stop_heating","id":99999999999999999999})"}) {
        std::string why;
        const auto message = decode(line, why);
        ASSERT_TRUE(message) << line << why;
        EXPECT_EQ(std::get<StopHeating>(*message).id, 0) << line;
    }
}

TEST(Codec, NumberThatIsNoneIsLeftOut)
{
    Sample sample{.seq = 1,
                  .sensorC = std::nan(""),
                  .jointHighC = INFINITY,
                  .extra = {{"a_C", std::nan("")}, {"b_C", 2}}};
    const std::string line = encode(sample);
    EXPECT_EQ(line.find("null"), std::string::npos) << line;
    const Sample back = throughTheWire(sample);
    EXPECT_EQ(back.sensorC, std::nullopt);
    EXPECT_EQ(back.jointHighC, std::nullopt);
    EXPECT_EQ(back.extra, (std::vector<std::pair<std::string, double>>{{"b_C", 2}}));
}

TEST(Codec, BytesThatAreNoTextDoNotEndTheProcess)
{
    EXPECT_NE(throughTheWire(AddNote{"bad \xff\xfe byte"}).text.find("bad "), std::string::npos);
}

static std::string refusalOf(const std::string& line)
{
    std::string why;
    EXPECT_FALSE(decode(line, why)) << line.substr(0, 80);
    EXPECT_NE(why, "") << line.substr(0, 80);
    return why;
}

TEST(Codec, HostileLinesAreRefusedWithTheReason)
{
    for (const char* line :
         {"", "{", "null", "[]", "3", "\"start_run\"", "{}", "{\"message\":3}", "{\"message\":\"\"}",
          "{\"message\":\"start_run\"}", "{\"message\":\"start_run\",\"plan\":7}",
          "{\"message\":\"heartbeat\",\"x\":1}", "{\"message\":\"stop\"}", "\xff\xfe\x00",
          "{\"message\":\"stop_heating\"} {\"message\":\"stop_heating\"}"})
        refusalOf(line);
    EXPECT_NE(refusalOf(R"({"message":"confirm_card","crad":"lay-strip"})").find("/card: found nothing"),
              std::string::npos);
    const std::string sample = encode(Sample{.seq = 1});
    auto with = [&](const std::string& from, const std::string& to) {
        std::string changed = sample;
        const auto at = changed.find(from);
        EXPECT_NE(at, std::string::npos);
        return changed.replace(at, from.size(), to);
    };
    refusalOf(with("\"duty\":0.0", "\"duty\":1.5"));
    refusalOf(with("\"duty\":0.0", "\"duty\":1e999"));
    refusalOf(with("\"duty\":0.0", "\"duty\":null"));
    refusalOf(with("\"seq\":1", "\"seq\":1.5"));
    refusalOf(with("\"seq\":1", "\"seq\":-1"));
    refusalOf(with("\"seq\":1", "\"seq\":99999999999999999999"));
}

TEST(Codec, DeepNestingAndOverlongLinesAreRefused)
{
    refusalOf("{\"message\":" + std::string(8'000'000, '['));
    refusalOf("{\"message\":" + std::string(4'000'000, '[') + std::string(4'000'000, ']') + "}");
    EXPECT_NE(refusalOf(std::string(longestMessageBytes + 1, ' ')).find("bytes"), std::string::npos);
}

TEST(Codec, RandomBytesAndCutLinesNeverDecodeToACommand)
{
    std::mt19937 random(3);
    std::string why;
    for (int i = 0; i < 20000; ++i) {
        std::string line(random() % 60, ' ');
        for (char& c : line)
            c = static_cast<char>(random());
        EXPECT_FALSE(decode(line, why));
    }
    const std::string whole = encode(StartRun{"{\"a\": [1, 2]}"});
    for (size_t length = 0; length + 1 < whole.size(); ++length)
        EXPECT_FALSE(decode(whole.substr(0, length), why)) << length;
}

TEST(Words, OffIsSaidOnlyOfAHeaterThatWasReadBack)
{
    EXPECT_STREQ(inWords(HeaterState::OffConfirmed), "heater off");
    EXPECT_NE(std::string(inWords(HeaterState::OffCommanded)).find("not confirmed"), std::string::npos);
    EXPECT_EQ(std::string(inWords(HeaterState::Unknown)).find("off"), std::string::npos);
}

} // namespace stripwright
