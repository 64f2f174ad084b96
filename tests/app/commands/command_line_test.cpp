#include "commands/command_line.h"

#include <gtest/gtest.h>

using namespace stripwright;

namespace {

auto parsed(std::vector<const char*> arguments)
{
    arguments.insert(arguments.begin(), "stripwright");
    return parseCommandLine(static_cast<int>(arguments.size()), arguments.data());
}

template <class Command> Command command(std::vector<const char*> arguments)
{
    return std::get<Command>(std::get<TerminalCommand>(parsed(std::move(arguments))));
}

int code(std::vector<const char*> arguments)
{
    return std::get<int>(parsed(std::move(arguments)));
}

} // namespace

TEST(CommandLine, WithoutACommandOpensTheWindow)
{
    const auto plain = std::get<WindowCommand>(parsed({}));
    EXPECT_EQ(plain.speed, 1);
    EXPECT_FALSE(plain.dark);
    const auto chosen =
        std::get<WindowCommand>(parsed({"--sheet", "a.bench.json", "--speed", "10", "--light"}));
    EXPECT_EQ(chosen.sheet, "a.bench.json");
    EXPECT_EQ(chosen.speed, 10);
    EXPECT_EQ(chosen.dark, false);
}

TEST(CommandLine, TakesEachCommandsArguments)
{
    const auto plan = command<PlanCommand>({"plan", "a.bench.json", "--out", "a.plan.json", "--json"});
    EXPECT_EQ(plan.sheet, "a.bench.json");
    EXPECT_EQ(plan.out, "a.plan.json");
    EXPECT_TRUE(plan.json);

    const auto predict = command<PredictCommand>({"predict", "a.bench.json", "--plate-curve", "p.csv",
                                                  "--out", "c.csv", "--at", "12.5", "--at", "210"});
    EXPECT_EQ(predict.plateCurve, "p.csv");
    EXPECT_EQ(predict.stripXMm, (std::vector<double>{12.5, 210}));

    const auto run = command<RunCommand>(
        {"run", "a.plan.json", "--plate", "b.plate.json", "--runs", "r.db", "--speed", "2"});
    EXPECT_EQ(run.plateLink, "b.plate.json");
    EXPECT_EQ(run.runs, "r.db");
    EXPECT_EQ(run.speed, 2);

    const auto review =
        command<ReviewCommand>({"review", "7-x", "--csv", "c.csv", "--png", "c.png", "--json"});
    EXPECT_EQ(review.run, "7-x");
    EXPECT_EQ(review.csv, "c.csv");
    EXPECT_EQ(review.png, "c.png");
    EXPECT_TRUE(review.json);

    EXPECT_EQ(command<CheckCommand>({"check", "a", "b"}).files, (std::vector<std::string>{"a", "b"}));
    EXPECT_EQ(command<DemoCommand>({"--headless", "--speed", "20"}).speed, 20);
    EXPECT_EQ(command<DemoCommand>({"--headless"}).speed, 40);
}

TEST(CommandLine, NamesAControllerByItsProcessOrNotAtAll)
{
    EXPECT_TRUE(command<RunningCommand>({"running", "--json"}).json);
    EXPECT_EQ(command<StopCommand>({"stop", "417"}).process, 417);
    EXPECT_FALSE(command<StopCommand>({"stop"}).process);
    EXPECT_EQ(command<FollowCommand>({"follow", "417"}).process, 417);
    for (const char* wrong : {"0", "-1", "plate", "1.5"})
        EXPECT_EQ(code({"stop", wrong}), exitUsage) << wrong;
}

TEST(CommandLine, RunsAtRealSpeedUnlessAskedOtherwise)
{
    EXPECT_EQ(command<RunCommand>({"run", "a"}).speed, 1);
    // Nobody watches the heat whose pictures are wanted.
    EXPECT_GT(std::get<WindowCommand>(parsed({"--screenshots", "a"})).speed, 10);
    EXPECT_EQ(std::get<WindowCommand>(parsed({"--screenshots", "a", "--speed", "3"})).speed, 3);
}

TEST(CommandLine, AnswersWrongUseWithCode2AndHelpWith0)
{
    EXPECT_EQ(code({"plan"}), exitUsage);
    EXPECT_EQ(code({"plan", "a", "b"}), exitUsage);
    EXPECT_EQ(code({"fry", "a"}), exitUsage);
    EXPECT_EQ(code({"plan", "a", "--fast"}), exitUsage);
    EXPECT_EQ(code({"plan", "a", "--json=3"}), exitUsage);
    EXPECT_EQ(code({"plan", "a", "--out", "b", "--out", "c"}), exitUsage);
    EXPECT_EQ(code({"predict", "a", "--out", "b"}), exitUsage);
    EXPECT_EQ(code({"predict", "a", "--plate-curve", "p", "--out", "b", "--at", "end"}), exitUsage);
    EXPECT_EQ(code({"run", "a", "--speed", "0"}), exitUsage);
    EXPECT_EQ(code({"run", "a", "--speed", "nan"}), exitUsage);
    EXPECT_EQ(code({"--headless", "--sheet", "a"}), exitUsage);
    EXPECT_EQ(code({"--out", "a"}), exitUsage);
    EXPECT_EQ(code({"plan", "a", "check", "b"}), exitUsage);
    EXPECT_EQ(code({"--help"}), exitOk);
    EXPECT_EQ(code({"plan", "--help"}), exitOk);
}

TEST(CommandLine, SaysAWrongUseInPlainWords)
{
    const auto said = [](std::vector<const char*> arguments) {
        testing::internal::CaptureStderr();
        EXPECT_EQ(code(std::move(arguments)), exitUsage);
        return testing::internal::GetCapturedStderr();
    };
    EXPECT_EQ(said({"plan"}),
              "stripwright plan: found no SHEET, expected one; stripwright plan --help says what it takes\n");
    EXPECT_EQ(said({"plan", "a", "--out"}).find("--out: found nothing behind it, expected a value"),
              std::string("stripwright plan: ").size());
    EXPECT_NE(said({"run", "a", "--speed", "0"}).find("--speed: found 0, expected a number from 1 to 200"),
              std::string::npos);
    EXPECT_NE(said({"fry"}).find("stripwright: found fry, expected a command: plan, predict, run"),
              std::string::npos);
}

TEST(CommandLine, HandsFindConnectAndTuneOnToTheControllerAsTheyStand)
{
    using Arguments = std::vector<std::string>;
    EXPECT_EQ(command<ControllerCommand>({"find", "192.0.2.1:502", "--json"}).arguments,
              (Arguments{"find", "192.0.2.1:502", "--json"}));
    EXPECT_EQ(
        command<ControllerCommand>({"connect", "--json", "a.plate.json", "--speed", "2", "--plate-C", "-1"})
            .arguments,
        (Arguments{"connect", "--json", "a.plate.json", "--speed", "2", "--plate-C", "-1"}));
    EXPECT_EQ(command<ControllerCommand>({"tune", "--help"}).arguments, (Arguments{"tune", "--help"}));
    EXPECT_EQ(command<ControllerCommand>({"find"}).arguments, (Arguments{"find"}));
}

TEST(CommandLine, TellsTuneWhereTheUsersShelfIsUnlessTheUserDoes)
{
    using Arguments = std::vector<std::string>;
    EXPECT_EQ(argumentsOf({{"tune", "a.plate.json"}}, "/own/shelf"),
              (Arguments{"tune", "--shelf", "/own/shelf", "a.plate.json"}));
    for (const Arguments& said : {Arguments{"tune", "a.plate.json", "--shelf", "/x"},
                                  Arguments{"tune", "--shelf=/x"}, Arguments{"connect", "a.plate.json"}})
        EXPECT_EQ(argumentsOf({said}, "/own/shelf"), said);
}
