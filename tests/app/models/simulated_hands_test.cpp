#include "models/simulated_hands.h"

#include <gmock/gmock.h>

using namespace stripwright;
using testing::ElementsAre;
using testing::IsEmpty;

namespace {

Event done(const std::string& card, double atS)
{
    return {.timeS = atS, .kind = "card", .severity = "info", .text = "done: " + card};
}

Event note(const std::string& text)
{
    return {.kind = "note", .severity = "info", .text = text};
}

Event cardUp(const std::string& text, double atS)
{
    return {.timeS = atS, .kind = "card", .severity = "info", .text = text};
}

const std::vector<Event> byHand = {done("see-liquid", 200), done("swap-led-4", 212), done("swap-led-6", 226)};

std::vector<Event> simulated(std::vector<Event> events)
{
    events.insert(events.begin(), note(simulatedHandsNote));
    return events;
}

} // namespace

TEST(SimulatedHands, TeachNothingAndAreNamedAsWhatWasFound)
{
    EXPECT_THAT(personsHandsOf({byHand}).measured.siteS, ElementsAre(12, 14));
    const LearntHands learnt = personsHandsOf({simulated(byHand), simulated(byHand), simulated({})});
    EXPECT_THAT(learnt.measured.siteS, IsEmpty());
    EXPECT_EQ(learnt.found, "3 runs: all on the simulated plate with simulated hands");
    EXPECT_EQ(personsHandsOf({simulated(byHand)}).found,
              "1 run: on the simulated plate with simulated hands");
    EXPECT_EQ(personsHandsOf({}).found, "no run");
}

TEST(SimulatedHands, WhatIsSaidLateTellsNoTime)
{
    const Event late = cardUp("done late: swap-led-5", 222);
    EXPECT_THAT(personsHandsOf({{done("see-liquid", 200), done("swap-led-4", 212), late,
                                 cardUp("done late: swap-led-6", 224)}})
                    .measured.siteS,
                ElementsAre(12));
    EXPECT_THAT(personsHandsOf({{done("see-liquid", 200), late, done("swap-led-6", 224)}}).measured.siteS,
                IsEmpty())
        << "two sites lie between";
}

TEST(SimulatedHands, OfRunsOfEveryKindSayHowManyThereWere)
{
    EXPECT_EQ(personsHandsOf({simulated(byHand), byHand, {}}).found,
              "3 runs: 1 on the simulated plate with simulated hands, 1 without two of its cards for the "
              "hands said done one after the other; 2 sites timed");
}

TEST(SimulatedHands, LeaveWhatAPersonAnsweredToThatPersonButNoTimeAcrossTheirOwn)
{
    std::vector<Event> mixed = simulated(
        {done("see-liquid", 200), done("swap-led-4", 212), done("swap-led-5", 225), done("swap-led-6", 239)});
    for (const char* card : {"see-liquid", "swap-led-4", "swap-led-6"})
        mixed.push_back(note(byPersonNote(card)));
    EXPECT_THAT(personsHandsOf({mixed}).measured.siteS, ElementsAre(12));
}

TEST(SimulatedHands, AreKnownByTheNoteAlone)
{
    EXPECT_TRUE(handsWereSimulated(simulated({})));
    EXPECT_FALSE(handsWereSimulated(byHand));
    Event other = note(simulatedHandsNote);
    other.kind = "state";
    EXPECT_FALSE(handsWereSimulated({other}));
}

TEST(MeasuredHands, CountTheFirstSiteFromWhenItsCardCameUpWhereTheLookWasNotSaidDone)
{
    MeasuredHands measured;
    addHands({cardUp("Look: the solder shines at every joint of site 6", 195),
              cardUp("Site 6: lift the dead LED", 200), done("swap-led-6", 213)},
             measured);
    EXPECT_THAT(measured.siteS, ElementsAre(13));
    EXPECT_THAT(measured.firstS, IsEmpty());
    EXPECT_EQ(measured.runs, 1u);
    // Said done where its card never came up, nobody knows since when.
    MeasuredHands unknown;
    addHands({cardUp("Site 5: lift the dead LED", 200), done("swap-led-6", 213)}, unknown);
    EXPECT_THAT(unknown.siteS, IsEmpty());
}

TEST(MeasuredHands, CountTheLookFromWhenItsCardCameUp)
{
    MeasuredHands measured;
    for (int run = 0; run < 3; ++run)
        addHands({cardUp("Hands off; watch the solder", 150), cardUp("Look: the solder shines", 195),
                  done("see-liquid", 204), cardUp("Site 4: lift", 204.2), done("swap-led-4", 216),
                  cardUp("Site 6: lift", 216.2), done("swap-led-6", 230)},
                 measured);
    EXPECT_THAT(measured.firstS, ElementsAre(9, 9, 9));
    const auto pace = paceOf(measured);
    ASSERT_TRUE(pace);
    EXPECT_EQ(pace->firstS, 9);
    EXPECT_EQ(pace->siteS, 14);
    // What was measured too seldom stays usual.
    measured.firstS.resize(fewestSites - 1);
    EXPECT_EQ(paceOf(measured)->firstS, Hands().firstS);
    // Said done late, while the first site's card was up: of the look it tells nothing.
    MeasuredHands late;
    addHands({cardUp("Look: the solder shines", 195), cardUp("Site 4: lift", 200), done("see-liquid", 203),
              done("swap-led-4", 216)},
             late);
    EXPECT_THAT(late.firstS, IsEmpty());
    EXPECT_THAT(late.siteS, ElementsAre(13));
}
