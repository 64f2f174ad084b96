#include "link/plate_link.h"
#include "models/chosen_plate.h"
#include "models/plate_connector.h"
#include "scratch_folder.h"

#include <QSignalSpy>
#include <QTest>
#include <filesystem>
#include <fstream>
#include <gtest/gtest.h>

namespace stripwright {

using nlohmann::json;

/// A stand-in for the controller's programs that says these lines and ends with this code.
struct PlateConnectorTest : testing::Test {
    void standIn(const std::string& body)
    {
        const auto program = folder / "stripwright-controller";
        std::ofstream(program) << "#!/bin/sh\n" << body;
        std::filesystem::permissions(program, std::filesystem::perms::owner_all);
    }
    QString endOf(PlateConnector& connector)
    {
        QString why = "never";
        const QObject untilHere;
        QObject::connect(&connector, &PlateConnector::ended, &untilHere,
                         [&](const QString& text) { why = text; });
        EXPECT_TRUE(QTest::qWaitFor([&] { return connector.job() == PlateConnector::Job::None; }, 10000));
        return why;
    }
    ScratchFolder folder;
};

TEST_F(PlateConnectorTest, ProvenPlateGivesItsLinkAndAHeaterThatWasReadBackOff)
{
    standIn(
        "echo '{\"kind\":\"proof\",\"what\":\"sensor\",\"ok\":true,\"text\":\"x\"}'\n"
        "echo '{\"kind\":\"end\",\"refused\":[],\"heater_off\":true,\"link\":{\"name\":\"Bench plate\"}}'\n");
    PlateConnector connector(folder / "");
    int lines = 0;
    QObject::connect(&connector, &PlateConnector::lineCame, [&](const json&) { ++lines; });
    ASSERT_TRUE(connector.prove(json::object(), {}));
    EXPECT_EQ(connector.heater(), PlateConnector::Heater::MayBeOn);
    EXPECT_EQ(endOf(connector), "");
    EXPECT_EQ(lines, 2);
    EXPECT_EQ(connector.heater(), PlateConnector::Heater::OffConfirmed);
    ASSERT_TRUE(connector.link());
    EXPECT_EQ(connector.link()->at("name"), "Bench plate");
}

TEST_F(PlateConnectorTest, RefusedPlateGivesNoLinkAndSaysWhy)
{
    standIn("echo '{\"kind\":\"end\",\"refused\":[\"it does not "
            "move\"],\"heater_off\":true,\"link\":null}'\nexit 7\n");
    PlateConnector connector(folder / "");
    connector.prove(json::object(), 22.0);
    EXPECT_EQ(endOf(connector), "it does not move");
    EXPECT_FALSE(connector.link());
}

TEST_F(PlateConnectorTest, ProgramThatDiesUnderHeatIsNeverShownAsOff)
{
    standIn("kill -9 $$\n");
    PlateConnector connector(folder / "");
    connector.prove(json::object(), {});
    endOf(connector);
    EXPECT_EQ(connector.heater(), PlateConnector::Heater::NotConfirmed);
}

TEST_F(PlateConnectorTest, LineOfAnyShapeIsTaken)
{
    const std::string deep(200000, '[');
    std::ofstream(folder / "lines")
        << R"({"kind":"end","refused":null,"heater_off":null,"link":null})" << '\n'
        << R"({"kind":null,"refused":{"a":1},"heater_off":"yes","link":7})" << '\n'
        << R"({"kind":[],"refused":[null,1,{"a":[]},"text"],"heater_off":{},"link":[]})" << '\n'
        << R"([1,2]
null
7
"text"
{"kind":
{"a":1e999}
)"
        << "{\"kind\":\"\xff\xfe\"}\n{\"link\":{\"a\":" << deep << std::string(deep.size(), ']') << "}}\n"
        << deep << '\n'
        << std::string(3, '\0') << "\n\n{}\n{\"heater_off\":1}\nno end";
    standIn("cat " + (folder / "lines").string() + "\nexit 5\n");
    PlateConnector connector(folder / "");
    ASSERT_TRUE(connector.prove(json::object(), {}));
    EXPECT_EQ(endOf(connector), "null\n1\n{\"a\":[]}\ntext");
    EXPECT_FALSE(connector.link());
    EXPECT_EQ(connector.heater(), PlateConnector::Heater::NotConfirmed); // 1 is no word for "read back"
}

TEST_F(PlateConnectorTest, HeaterThatWasNeverTouchedIsNotShownAsOff)
{
    standIn("echo '{\"kind\":\"end\",\"refused\":[\"no route\"],\"heater_off\":null}'\nexit 5\n");
    PlateConnector connector(folder / "");
    connector.prove(json::object(), {});
    EXPECT_EQ(endOf(connector), "no route");
    EXPECT_EQ(connector.heater(), PlateConnector::Heater::Untouched);
}

TEST_F(PlateConnectorTest, NotConfirmedStaysUntilThatVeryPlateIsReadBackOff)
{
    standIn("echo '{}' > \"$2\"\necho '{\"kind\":\"end\",\"heater_off\":false}'\nexit 1\n");
    PlateConnector connector(folder / "");
    connector.prove({{"name", "North"}}, {});
    endOf(connector);
    EXPECT_EQ(connector.heater(), PlateConnector::Heater::NotConfirmed);
    const json other = {{"name", "South"}};
    const auto nothingElseBegins = [&] {
        const auto job = connector.job();
        EXPECT_FALSE(connector.find({"192.0.2.1"}));
        EXPECT_FALSE(connector.read(other, {}));
        EXPECT_FALSE(connector.prove(other, {}));
        EXPECT_FALSE(connector.learn(other, {.powerW = 300}));
        EXPECT_EQ(connector.job(), job);
        EXPECT_EQ(connector.heater(), PlateConnector::Heater::NotConfirmed);
    };
    standIn("echo '{\"heater_off\":true}'\n"); // as another plate would say
    nothingElseBegins();
    standIn("cp \"$2\" " + (folder / "turned-off").string() +
            "\ntrap 'exit 0' TERM\nsleep 0.2\necho ready\nwhile :; do sleep 0.05; done\n");
    connector.stop();
    nothingElseBegins();
    endOf(connector);
    EXPECT_EQ(connector.heater(), PlateConnector::Heater::OffConfirmed);
    std::ifstream file(folder / "turned-off");
    EXPECT_EQ(json::parse(file)["name"], "North");
    standIn("exit 0\n");
    EXPECT_TRUE(connector.read(other, {}));
    endOf(connector);
}

TEST_F(PlateConnectorTest, PlateWhoseSensorIsStillToBeFoundOutCanBeTurnedOffAgain)
{
    standIn("echo '{\"heater_off\":false}'\nexit 1\n");
    const json draft = json::parse(R"({"format": "stripwright-plate-link", "version": 1, "name": "a",
        "host": "192.0.2.1", "drive": "duty", "no_sensor_raw": [-32768, 65535], "registers": {
        "sensor_C": {"table": "input", "address": 65535, "scale": 0.1},
        "duty": {"table": "holding", "address": 1, "type": "uint16", "scale": 0.0001}}})");
    PlateConnector connector(folder / "");
    connector.prove(draft, {});
    endOf(connector);
    standIn("cp \"$2\" " + (folder / "turned-off").string() + "\nexit 5\n");
    connector.stop();
    endOf(connector);
    std::ifstream file(folder / "turned-off");
    const std::string link(std::istreambuf_iterator<char>(file), {});
    EXPECT_EQ(readPlateLink(link, "turned-off").duty->address, 1) << link;
}

TEST_F(PlateConnectorTest, StopThatIsNotAnsweredIsNotConfirmed)
{
    standIn("trap '' TERM\necho '{\"kind\":\"step\"}'\nsleep 4\n"
            "echo '{\"kind\":\"end\",\"heater_off\":true}'\nexit 6\n");
    PlateConnector connector(folder / "");
    bool warm = false;
    QObject::connect(&connector, &PlateConnector::lineCame, [&](const json&) { warm = true; });
    connector.prove(json::object(), {});
    ASSERT_TRUE(QTest::qWaitFor([&] { return warm; }, 5000));
    connector.stop();
    EXPECT_TRUE(
        QTest::qWaitFor([&] { return connector.heater() == PlateConnector::Heater::NotConfirmed; }, 10000));
    EXPECT_EQ(connector.job(), PlateConnector::Job::Prove);
    endOf(connector);
    EXPECT_EQ(connector.heater(), PlateConnector::Heater::OffConfirmed);
}

TEST_F(PlateConnectorTest, StopIsCommandedUntilTheProgramHasReadItBack)
{
    standIn("trap 'echo \"{\\\"kind\\\":\\\"end\\\",\\\"heater_off\\\":true}\"; exit 6' TERM\n"
            "echo '{\"kind\":\"step\",\"text\":\"warm\"}'\nwhile :; do sleep 0.05; done\n");
    PlateConnector connector(folder / "");
    bool warm = false;
    QObject::connect(&connector, &PlateConnector::lineCame, [&](const json&) { warm = true; });
    connector.prove(json::object(), {});
    ASSERT_TRUE(QTest::qWaitFor([&] { return warm; }, 5000));
    EXPECT_FALSE(connector.find({"192.0.2.1"})); // not while heat may be on
    connector.stop();
    EXPECT_EQ(connector.heater(), PlateConnector::Heater::OffSent);
    endOf(connector);
    EXPECT_EQ(connector.heater(), PlateConnector::Heater::OffConfirmed);
}

TEST_F(PlateConnectorTest, StopOfAPlateNotConfirmedLetsAControllerTurnItOff)
{
    standIn("echo '{\"kind\":\"end\",\"heater_off\":false}'\nexit 1\n");
    PlateConnector connector(folder / "");
    connector.prove(json::object(), {});
    endOf(connector);
    ASSERT_EQ(connector.heater(), PlateConnector::Heater::NotConfirmed);
    standIn("exit 5\n"); // the plate does not answer
    connector.stop();
    EXPECT_EQ(connector.job(), PlateConnector::Job::TurnOff);
    endOf(connector);
    EXPECT_EQ(connector.heater(), PlateConnector::Heater::NotConfirmed);
    standIn("[ \"$1\" = --plate ] || exit 2\ntrap 'exit 0' TERM\necho ready\nwhile :; do sleep 0.05; done\n");
    connector.stop();
    connector.stop(); // pressed twice
    endOf(connector);
    EXPECT_EQ(connector.heater(), PlateConnector::Heater::OffConfirmed);
}

TEST_F(PlateConnectorTest, ProofStoppedWhileItWaitsForTheLineHasNotHeated)
{
    standIn("trap '' TERM\necho >> " + (folder / "begun").string() + "\nsleep 2\n");
    PlateConnector connector(folder / "");
    connector.find({"192.0.2.1"});
    ASSERT_TRUE(QTest::qWaitFor([&] { return std::filesystem::exists(folder / "begun"); }, 20000));
    ASSERT_TRUE(connector.prove(json::object(), {}));
    connector.stop();
    EXPECT_EQ(connector.job(), PlateConnector::Job::None);
    EXPECT_EQ(connector.heater(), PlateConnector::Heater::Untouched);
}

TEST_F(PlateConnectorTest, ProgramThatIsNotThereIsSaid)
{
    PlateConnector connector(folder / "nowhere");
    QString why;
    QObject::connect(&connector, &PlateConnector::ended, [&](const QString& text) { why = text; });
    connector.find({"192.0.2.1"});
    ASSERT_TRUE(QTest::qWaitFor([&] { return !why.isEmpty(); }, 5000));
    EXPECT_TRUE(why.contains("stripwright-controller")) << why.toStdString();
}

TEST(ChosenPlate, IsRememberedUnlessTheCommandLineSaysAnother)
{
    const ScratchFolder folder;
    const auto settings = folder / "window.ini";
    ChosenPlate(settings, {}).use(folder / "a.plate.json");
    EXPECT_EQ(ChosenPlate(settings, {}).linkFile(), folder / "a.plate.json");
    EXPECT_EQ(ChosenPlate(settings, "b.plate.json").linkFile(), "b.plate.json");
    ChosenPlate(settings, {}).useSimulated();
    EXPECT_TRUE(ChosenPlate(settings, {}).simulated());
    EXPECT_TRUE(plateInWords(folder / "a.plate.json").problem.contains("cannot be read"));
    std::ofstream(folder / "a.plate.json") << "{\"name\": \"Bench plate\",}";
    const QString problem = plateInWords(folder / "a.plate.json").problem;
    EXPECT_TRUE(problem.contains("line 1, column 23: found a comma too many before }"))
        << problem.toStdString();
}

TEST(ChosenPlate, ItsWordsTakeNoProofOfAnotherWatchdogTime)
{
    const ScratchFolder folder;
    const auto inWords = [&](const json& changed) {
        json link = json::parse(R"({"format": "stripwright-plate-link", "version": 1, "name": "a",
            "watchdog_proven_s": 3.4, "registers": {"watchdog_s": {"address": 4}}})");
        link.merge_patch(changed);
        std::ofstream(folder / "a.plate.json") << link;
        return plateInWords(folder / "a.plate.json");
    };
    EXPECT_TRUE(inWords(json::object()).watchdogProven);
    EXPECT_TRUE(inWords({{"watchdog_s", 3.4}}).watchdog.contains("cut after 3.4 s"));
    const json others[] = {{{"watchdog_s", 5}}, {{"watchdog_proven_s", 2}}, {{"watchdog_proven_s", 0}}};
    for (const json& other : others) {
        EXPECT_FALSE(inWords(other).watchdogProven) << other;
        EXPECT_TRUE(inWords(other).watchdog.contains("never proven")) << other;
    }
    const PlateInWords none = inWords({{"registers", {{"watchdog_s", nullptr}}}});
    EXPECT_FALSE(none.watchdogProven);
    EXPECT_TRUE(none.watchdog.contains("names no watchdog")) << none.watchdog.toStdString();
}

TEST_F(PlateConnectorTest, LinkThatWasKeptCountsThoughTheShelfCouldNotTakeThePlate)
{
    standIn("echo '{\"heater_off\":true}'\n"
            "[ \"$1\" = tune ] && echo '{\"name\":\"learnt\"}' > \"$2\" && echo '{\"shelf_problem\":\"disk "
            "full\"}' && exit 8\n"
            "exit 3\n");
    PlateConnector connector(folder / "");
    ASSERT_TRUE(connector.learn(json::object(), {.powerW = 300}));
    EXPECT_NE(endOf(connector), "");
    ASSERT_TRUE(connector.link());
    EXPECT_EQ(connector.link()->at("name"), "learnt");
}

TEST_F(PlateConnectorTest, WhatWasProvenStaysWhenLearningIsStoppedOrKilled)
{
    const json proven = {{"name", "Bench plate"}, {"watchdog_proven_s", 4.4}};
    const std::string off = "echo '{\"heater_off\":true}'\n";
    for (const std::string& end : {off + "exit 6\n", off + "exit 7\n", std::string("kill -9 $$\n")}) {
        standIn(end);
        PlateConnector connector(folder / "");
        ASSERT_TRUE(connector.learn(proven, {.powerW = 300}));
        EXPECT_EQ(connector.link(), proven);
        endOf(connector);
        EXPECT_EQ(connector.link(), proven) << end;
    }
}

TEST_F(PlateConnectorTest, LearningIsToldHowHotThePlateMayGet)
{
    standIn("echo \"$@\" > " + (folder / "said").string() + "\n");
    PlateConnector connector(folder / "");
    connector.learn(json::object(), {.powerW = 300, .topC = 130});
    endOf(connector);
    std::ifstream file(folder / "said");
    std::string said;
    std::getline(file, said);
    EXPECT_NE(said.find("--top 130"), std::string::npos) << said;
}

TEST_F(PlateConnectorTest, LinkThatIsGivenIsTaken)
{
    PlateConnector connector(folder / "");
    connector.takeLink(json{{"name", "x"}});
    EXPECT_EQ(connector.link(), (json{{"name", "x"}}));
    connector.takeLink({});
    EXPECT_FALSE(connector.link());
}

} // namespace stripwright
