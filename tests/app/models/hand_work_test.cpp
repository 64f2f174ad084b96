#include "models/hand_work.h"

#include <gtest/gtest.h>

namespace stripwright {

static HandCard during(const char* id)
{
    return {.id = id, .atS = 100, .untilS = 115};
}

TEST(HandWork, IsAskedForByCardsThatDoSomethingNotByThoseThatWait)
{
    for (const char* work : {"see-liquid", "swap-led-6", "remove-led-12", "release-lens-3", "lift-strip"})
        EXPECT_TRUE(asksForWork(during(work))) << work;
    for (const char* waiting : {"hands-off", "hold-still", "cool-down", "stay-through-bake"})
        EXPECT_FALSE(asksForWork(during(waiting))) << waiting;
    EXPECT_TRUE(asksForWork({.id = "lay-strip", .atS = -1, .mustConfirm = true}));
}

TEST(HandWork, GoesOnToTheNextLiquidJointOnly)
{
    const std::vector<HandCard> cards{during("see-liquid"),     during("swap-led-3"),
                                      during("swap-led-7"),     during("hold-still"),
                                      during("release-lens-3"), during("release-lens-4")};
    const std::vector<bool> expected{true, true, false, false, false, false};
    for (size_t i = 0; i < cards.size(); ++i)
        EXPECT_EQ(workFollows(cards, cards[i]), expected[i]) << cards[i].id;
}

TEST(HandWork, SaysOfWhatItsTimeIsMade)
{
    EXPECT_EQ(handsNeedText({.sites = {6}, .firstS = 5, .eachS = 20, .setsDown = true, .wettingS = 10}, 69),
              "Hands need 35 s from 1:09, when every joint is surely liquid: 5 s once to look and take the "
              "tweezers, 20 s at site 6, 10 s for the last new joint to wet.");
    EXPECT_EQ(handsNeedText({.sites = {4, 5, 9}, .firstS = 5, .eachS = 8}, 69),
              "Hands need 29 s from 1:09, when every joint is surely liquid: 5 s once to look and take the "
              "tweezers, 8 s each at sites 4, 5, 9.");
}

TEST(HandWork, ThatPassedWithoutAWordIsNamed)
{
    HandCard later = during("swap-led-8");
    later.untilS = 130;
    std::vector<HandCard> cards{{.id = "lay-strip", .atS = -1, .mustConfirm = true},
                                during("hands-off"),
                                during("see-liquid"),
                                during("swap-led-6"),
                                during("release-lens-3"),
                                during("release-lens-1"),
                                during("lift-strip"),
                                later};
    std::vector<Event> cameUp;
    for (HandCard& card : cards) {
        card.text = "To do: " + card.id;
        cameUp.push_back({1, 100, "card", "info", card.text});
    }
    const auto named = [&](std::vector<Event> events, double placeS) {
        events.insert(events.begin(), cameUp.begin(), cameUp.end());
        return workInWords(passedUnsaid(cards, events, placeS));
    };
    EXPECT_EQ(workInWords(passedUnsaid(cards, {}, 131)), "") << "an early end passed over what never came up";
    EXPECT_EQ(named({}, 114.9), "") << "its time is not over";
    EXPECT_EQ(named({}, 115), "solder seen liquid, LED set down at site 6, lens taken off at sites 1, 3");
    const std::vector<Event> said{{1, 116, "card", "info", "done: swap-led-6"}};
    EXPECT_EQ(named(said, 131), "LED set down at site 8, lens taken off at sites 1, 3")
        << "who works on a joint has seen it liquid";
}

TEST(HandWork, WasDoneWhenTheLogSaysSo)
{
    const std::vector<Event> events{{1, 90, "card", "info", "done: swap-led-31"},
                                    {2, 95, "note", "info", "done: swap-led-3"},
                                    {3, 99, "card", "info", "done: swap-led-3"}};
    EXPECT_EQ(saidDoneS(events, during("swap-led-3")), 99);
    EXPECT_FALSE(saidDoneS(events, during("swap-led-4")));
    HandCard reseat{.id = "swap-led-3", .raised = Raised::WhenNotSeated};
    EXPECT_FALSE(saidDoneS(events, reseat)) << "it may come again";
}

TEST(HandWork, IsCountedWithoutTheCardsThatWait)
{
    HandCard reseat = during("reseat-strip");
    reseat.raised = Raised::WhenNotSeated;
    EXPECT_EQ(timesNeeded({during("hands-off"), during("see-liquid"), during("swap-led-6"),
                           during("hold-still"), during("cool-down"), reseat}),
              2);
}

TEST(EventInWords, SaysWhatTheCardSaysInPlaceOfItsId)
{
    HandCard card = during("swap-led-6");
    card.text = "Site 6: lift the dead LED straight up; nudge it.";
    const auto words = [&](const char* kind, const char* text) {
        return eventInWords({1, 90, kind, "info", text}, {card});
    };
    EXPECT_EQ(words("card", "done: swap-led-6"), "done: Site 6: lift the dead LED straight up");
    EXPECT_EQ(words("note", "answered by a person: swap-led-6"),
              "answered by a person: Site 6: lift the dead LED straight up");
    card.text = "Plate edge at 162.5 mm from its connector end. One end is free to slide.";
    EXPECT_EQ(words("card", "done: swap-led-6"), "done: Plate edge at 162.5 mm from its connector end");
    card.text = "Hands off.";
    EXPECT_EQ(words("card", "done: swap-led-6"), "done: Hands off");
    EXPECT_EQ(words("card", "done: swap-led-5"), "done: swap-led-5");
    EXPECT_EQ(words("note", "I see: nothing"), "I see: nothing");
}

} // namespace stripwright
