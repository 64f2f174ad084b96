#include "commands/margins.h"

#include <QString>

#include <cmath>
#include <gtest/gtest.h>
#include <sstream>

using namespace stripwright;

static MarginRow row(const char* id, double value, double max, bool habit = false)
{
    MarginRow made;
    made.limit = {.id = id,
                  .station = {StationKind::Lens, 5},
                  .what = "lens peak, site 5",
                  .metric = Metric::Peak,
                  .max = max,
                  .habit = habit};
    made.nominal = value;
    made.margin = max - value;
    made.normalisedMargin = made.margin / made.limit.halfWindow();
    return made;
}

TEST(EveryLimitKept, IsBrokenByALimitNotByAHabitAndNotClaimedForNothing)
{
    EXPECT_TRUE(everyLimitKept({row("a", 70, 80), row("b", 90, 80, true)}));
    EXPECT_FALSE(everyLimitKept({row("a", 70, 80), row("b", 80.1, 80)}));
    EXPECT_FALSE(everyLimitKept({}));
    MarginRow unknown = row("a", 70, 80);
    unknown.margin = std::nan("");
    EXPECT_FALSE(everyLimitKept({unknown}));
}

TEST(MarginsJson, KeepsEveryDigitAndSaysNullForWhatIsNotThere)
{
    const double value = 70.1 + 0.2; // Needs all 17 digits.
    const auto json = marginsJson({row("lens_5/peak", value, 80)}).at(0);
    EXPECT_EQ(nlohmann::json::parse(json.dump()).at("nominal").get<double>(), value);
    EXPECT_EQ(json.at("id"), "lens_5/peak");
    EXPECT_EQ(json.at("unit"), "°C");
    EXPECT_TRUE(json.at("min").is_null());
    EXPECT_TRUE(json.at("low").is_null());
    EXPECT_EQ(json.at("max"), 80);
    EXPECT_EQ(json.at("kept"), true);
    EXPECT_EQ(json.at("habit"), false);
}

TEST(MarginTable, HasOneLineALimitWithValueWindowAndMargin)
{
    std::ostringstream out;
    printMargins(out, {row("a", 70.26, 80), row("b", 90, 80, true)});
    std::istringstream lines(out.str());
    std::string heading, first, second;
    std::getline(lines, heading);
    std::getline(lines, first);
    std::getline(lines, second);
    EXPECT_NE(first.find("lens peak, site 5"), std::string::npos);
    EXPECT_NE(first.find("up to 80 °C"), std::string::npos);
    EXPECT_NE(first.find("70.3 °C"), std::string::npos);
    EXPECT_NE(first.find("+9.7 K"), std::string::npos);
    EXPECT_NE(first.find("kept"), std::string::npos);
    EXPECT_NE(second.find("(trade habit)"), std::string::npos);
    EXPECT_NE(second.find("habit missed"), std::string::npos);
}

TEST(MarginTable, ThatIsWiderThanTheTerminalIsAListWithEveryFigure)
{
    MarginRow wide = row("a", 170.26, 170, true);
    wide.limit.what = "LED body, steepest heating once it has settled on the pad, site 6";
    wide.low = 168.5;
    wide.high = 172.25;
    std::ostringstream out;
    printMargins(out, {wide, row("b", 90, 80)});
    std::istringstream lines(out.str());
    std::string all;
    for (std::string line; std::getline(lines, line);) {
        EXPECT_LE(QString::fromStdString(line).size(), 80) << line;
        const size_t text = line.find_first_not_of(' ');
        all += (all.empty() ? "" : " ") + line.substr(text == std::string::npos ? 0 : text);
    }
    for (const char* part : {"habit missed", "site 6 (trade habit): 168.5 · 170.3 · 172.3 °C", "up to 170 °C",
                             "broken", "lens peak, site 5: 90.0 °C, up to 80 °C"})
        EXPECT_NE(all.find(part), std::string::npos) << part << " in " << all;
}
