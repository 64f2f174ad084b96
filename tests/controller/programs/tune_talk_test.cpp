#include "programs/tune_talk.h"

#include "guardian/guardian.h"
#include "learnt_plate.h"

#include <cmath>
#include <fcntl.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <nlohmann/json.hpp>
#include <poll.h>
#include <thread>
#include <unistd.h>

using namespace stripwright;
using nlohmann::json;
using testing::AllOf;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::Not;
using testing::SizeIs;

namespace {

TuningResult learnt()
{
    TuningResult result;
    result.heaterOff = true;
    result.fit.figures = {194, 300, 0.15, 0.007, 4, 2, 1, 23};
    result.identified = learntPlate();
    result.identified.measuredUtc.clear(); // its link says when
    return result;
}

TuningResult learntLoop()
{
    TuningResult result = learnt();
    result.fit.ownLoop = result.identified.ownLoop = OwnLoopFigures{.gainPerK = 0.05, .integralS = 40};
    result.fit.gainError = 0.05;
    return result;
}

std::string said(const TuneOptions& options, const TuningResult& result,
                 const std::optional<IdentifiedPlate>& before = {}, bool sized = true,
                 const std::optional<std::string>& question = {})
{
    testing::internal::CaptureStdout();
    sayResult(options, result, before, question, sized);
    return testing::internal::GetCapturedStdout();
}

TEST(TuneTalk, SaysWhatItsOwnLoopIsAndWhatItWasBefore)
{
    IdentifiedPlate before = learnt().identified;
    EXPECT_THAT(said({.powerW = 300}, learntLoop(), before),
                AllOf(HasSubstr("its own loop     gain 5.0 +- 0.3 %"), HasSubstr("integral 40.0 +- 1.2 s"),
                      Not(HasSubstr("was gain"))));
    before.ownLoop = OwnLoopFigures{.gainPerK = 0.021, .integralS = 88};
    EXPECT_THAT(said({.powerW = 300}, learntLoop(), before), HasSubstr("was gain 2.1 %, integral 88 s\n"));
    EXPECT_THAT(said({.powerW = 300}, learnt(), before), Not(HasSubstr("was gain")));
}

TEST(TuneTalk, SaysThatNothingContradictsAPowerOfAPlateWhoseSizeNobodyKnows)
{
    const char* words = "nobody has said how large it is, so nothing contradicts a wrong power";
    EXPECT_THAT(said({.powerW = 300}, learnt(), {}, false), HasSubstr(words));
    EXPECT_THAT(said({.powerW = 300}, learnt(), {}, true), Not(HasSubstr(words)));
}

TEST(TuneTalk, TellsThoseWhoReadJsonOfADoubtedPowerAndNoFitForExact)
{
    const json line =
        json::parse(said({.powerW = 300, .json = true}, learntLoop(), {}, true, "Is 300 W right?"));
    EXPECT_EQ(line.at("learnt").at("power_question"), "Is 300 W right?");
    const json& loop = line.at("learnt").at("own_loop");
    EXPECT_NEAR(loop.at("gain_error_share").get<double>(), std::hypot(0.05, 0.03), 1e-9);
    EXPECT_NEAR(loop.at("integral_error_share").get<double>(), 0.03, 1e-9);
    EXPECT_TRUE(json::parse(said({.powerW = 300, .json = true}, learnt()))
                    .at("learnt")
                    .at("power_question")
                    .is_null());
}

/// Both ends of a terminal whose keyboard a test types on, and of the line to a guardian.
class DoubtedPower : public testing::Test {
protected:
    DoubtedPower()
    {
        typed = posix_openpt(O_RDWR | O_NOCTTY | O_CLOEXEC);
        EXPECT_TRUE(typed >= 0 && grantpt(typed) == 0 && unlockpt(typed) == 0);
        keyboard = open(ptsname(typed), O_RDWR | O_NOCTTY | O_CLOEXEC);
        EXPECT_EQ(pipe2(heartbeat, O_CLOEXEC), 0);
    }
    ~DoubtedPower() override
    {
        for (const int end : {typed, keyboard, heartbeat[0], heartbeat[1]})
            if (end >= 0)
                close(end);
    }
    /// False: it was not asked, or the guardian has fallen asleep over it.
    bool stoodForTwoBeats()
    {
        int left = 2;
        char byte;
        pollfd beats{heartbeat[0], POLLIN, 0};
        while (left > 0 && poll(&beats, 1, 5000) > 0 && read(heartbeat[0], &byte, 1) == 1)
            --left;
        return left == 0;
    }
    /// What is refused when the question is answered so.
    std::vector<std::string> refusals(const std::function<void()>& answer)
    {
        TuningResult result = learnt();
        testing::internal::CaptureStderr();
        std::thread hands([&] {
            EXPECT_TRUE(stoodForTwoBeats());
            answer();
        });
        questionPower({}, "Is 300 W right?", keyboard, heartbeat[1], stop, result);
        hands.join();
        EXPECT_THAT(testing::internal::GetCapturedStderr(), HasSubstr("Is 300 W right? Type y and Enter"));
        return result.refusals;
    }
    void type(const std::string& keys) const
    {
        EXPECT_EQ(write(typed, keys.data(), keys.size()), static_cast<ssize_t>(keys.size()));
    }
    void closeTerminal()
    {
        close(typed);
        typed = -1;
    }

    int typed = -1, keyboard = -1, heartbeat[2] = {-1, -1};
    std::atomic<int> stop = 0;
};

TEST_F(DoubtedPower, IsAskedAboutWithTheGuardianKeptAwakeAndAYesLetsItBeLearnt)
{
    EXPECT_THAT(refusals([&] { type("y\n"); }), IsEmpty());
    sayHeaterOff(heartbeat[1]);
    std::string left(100, ' ');
    left.resize(static_cast<size_t>(read(heartbeat[0], left.data(), left.size())));
    ASSERT_GE(left.size(), 2u);
    EXPECT_EQ(left[left.size() - 2], left.back()) << "what follows may take long: the heater is off";
}

TEST_F(DoubtedPower, AnythingButAYesRefuses)
{
    for (const char* keys : {"n\n", "\n", "yes\n"})
        EXPECT_THAT(refusals([&] { type(keys); }), ElementsAre(HasSubstr("--power-is-right"))) << keys;
    EXPECT_THAT(refusals([&] { stop = 1; }), SizeIs(1));
    stop = 0;
    EXPECT_THAT(refusals([&] { closeTerminal(); }), SizeIs(1));
}

TEST_F(DoubtedPower, IsAskedAboutAlsoAfterAStopThatHasEndedTheCooling)
{
    stop = 1;
    EXPECT_THAT(refusals([&] { type("y\n"); }), IsEmpty());
}

TEST_F(DoubtedPower, WhatWasTypedBeforeTheQuestionIsNoAnswerToIt)
{
    type("y\n");
    EXPECT_THAT(refusals([&] { closeTerminal(); }), SizeIs(1));
}

TEST_F(DoubtedPower, IsRefusedWithoutAQuestionWhereNobodyCanAnswerAndSaidBeforehandItIsNone)
{
    const auto refused = [&](const TuneOptions& options, int at, bool heaterOff) {
        TuningResult result = learnt();
        result.heaterOff = heaterOff;
        questionPower(options, "Is 300 W right?", at, heartbeat[1], stop, result);
        return result.refusals;
    };
    type("y\n");
    EXPECT_THAT(refused({}, -1, true), ElementsAre(HasSubstr("Is 300 W right? Learn it again")));
    EXPECT_THAT(refused({}, keyboard, false), SizeIs(1)) << "whoever types may be far from the plug";
    EXPECT_THAT(refused({.powerIsRight = true}, -1, true), IsEmpty());
    EXPECT_THAT(refused({.json = true}, -1, true), IsEmpty()) << "the program that reads along is told";
}

} // namespace
