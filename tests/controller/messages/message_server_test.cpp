#include "messages/message_server.h"

#include "message_client.h"
#include "scratch_folder.h"

#include <gtest/gtest.h>
#include <memory>

namespace stripwright {
namespace {

using test::MessageClient;

const std::string garbage = "no message at all\n";

class Messages : public testing::Test {
protected:
    ScratchFolder folder;
    MessageServer server{folder / "talk"};

    std::unique_ptr<MessageClient> join() { return std::make_unique<MessageClient>(folder / "talk"); }

    /// Turns until one brings something.
    std::vector<MessageServer::Received> next()
    {
        for (int turn = 0; turn < 500; ++turn)
            if (auto received = server.receive(5); !received.empty())
                return received;
        return {};
    }
    bool hears(MessageClient& client, const std::string& words)
    {
        for (int turn = 0; turn < 500; ++turn) {
            server.receive(2);
            if (client.refusedWith(words, 0))
                return true;
        }
        return false;
    }
};

TEST_F(Messages, GiveAStopBeforeWhatTheSameClientSentEarlierAndMarkThat)
{
    auto client = join();
    server.receive(0);
    client->sendBytes(encode(AddNote{"a"}) + encode(StartRun{"{}"}) + encode(StopHeating{7}) +
                      encode(StartRun{"{}"}));
    const auto received = next();
    ASSERT_EQ(received.size(), 4u);
    ASSERT_TRUE(std::holds_alternative<StopHeating>(received[0].message));
    EXPECT_EQ(std::get<StopHeating>(received[0].message).id, 7);
    EXPECT_TRUE(received[1].stoppedSince);
    EXPECT_TRUE(received[2].stoppedSince);
    EXPECT_FALSE(received[3].stoppedSince) << "it was sent after the stop";
}

TEST_F(Messages, GiveAStopAtOnceBehindAThousandMessagesOfItsOwnClient)
{
    auto client = join();
    server.receive(0);
    std::string many;
    for (int n = 0; n < 900; ++n)
        many += encode(AddNote{"n"});
    client->sendBytes(many + encode(StopHeating{3}));
    const auto received = next();
    ASSERT_FALSE(received.empty());
    ASSERT_TRUE(std::holds_alternative<StopHeating>(received[0].message));
    EXPECT_LT(received.size(), 100u) << "the rest comes in later turns";
    size_t notes = received.size() - 1;
    for (int turn = 0; turn < 500 && notes < 900; ++turn)
        notes += server.receive(5).size();
    EXPECT_EQ(notes, 900u) << "none is lost";
}

TEST_F(Messages, MarkAStartThatAnotherClientSentBeforeTheStop)
{
    auto one = join(), other = join();
    server.receive(0);
    one->sendBytes(encode(StartRun{"{}"}).substr(0, 20)); // the rest is still on its way
    server.receive(5);
    other->send(StopHeating{1});
    ASSERT_EQ(next().size(), 1u);
    one->sendBytes(encode(StartRun{"{}"}).substr(20) + encode(StartRun{"{}"}));
    const auto received = next();
    ASSERT_EQ(received.size(), 2u);
    EXPECT_TRUE(received[0].stoppedSince);
    EXPECT_FALSE(received[1].stoppedSince);
}

TEST_F(Messages, GiveNoAnswerForAClientThatIsGoneToTheOneThatCameAfterIt)
{
    auto gone = join();
    server.receive(0);
    gone->send(AddNote{"a"});
    const auto received = next();
    ASSERT_EQ(received.size(), 1u);
    gone.reset();
    server.receive(5);
    server.receive(5);
    auto after = join();
    server.receive(5);
    ASSERT_EQ(server.newClients().size(), 2u);
    server.send(received[0].client, Refused{"meant for another"});
    EXPECT_FALSE(hears(*after, "meant for another"));
}

TEST_F(Messages, TakeNoMoreFromAFloodingClientThanFromTheOthers)
{
    auto flooding = join(), other = join();
    server.receive(0);
    std::string many;
    for (int n = 0; n < 900; ++n)
        many += encode(AddNote{"n"});
    flooding->sendBytes(many);
    other->send(AddNote{"mine"});
    const auto received = next();
    bool heard = false;
    for (const auto& one : received)
        heard = heard || std::get<AddNote>(one.message).text == "mine";
    EXPECT_TRUE(heard);
    EXPECT_LT(received.size(), 100u) << "the rest waits, so that the next turn comes soon";
}

TEST_F(Messages, DropAClientThatSendsFasterThanIsTakenAndKeepTheOthers)
{
    auto flooding = join(), other = join();
    server.receive(0);
    std::string many;
    for (int n = 0; n < 20'000; ++n)
        many += "{}\n";
    for (int turn = 0; turn < 2000 && !flooding->refusedWith("too many messages", 0); ++turn) {
        flooding->floodWith(many);
        server.receive(1);
    }
    EXPECT_TRUE(flooding->refusedWith("too many messages at once", 1));
    other->send(AddNote{"still here"});
    EXPECT_FALSE(next().empty());
}

TEST_F(Messages, RefuseOneClientTooManyInWordsAndTakeItOnceAnotherHasLeft)
{
    std::vector<std::unique_ptr<MessageClient>> clients;
    for (size_t n = 0; n < MessageServer::mostClients; ++n)
        clients.push_back(join());
    server.receive(5);
    auto tooMany = join();
    EXPECT_TRUE(hears(*tooMany, "at most 16"));
    EXPECT_TRUE(tooMany->until([&] { return tooMany->closed; }));
    clients.pop_back();
    server.receive(5);
    server.receive(5);
    auto another = join();
    server.receive(5);
    another->send(StopHeating{9});
    EXPECT_EQ(next().size(), 1u);
}

TEST_F(Messages, TakeTheStopOfOneClientTooMany)
{
    std::vector<std::unique_ptr<MessageClient>> clients;
    for (size_t n = 0; n < MessageServer::mostClients; ++n)
        clients.push_back(join());
    server.receive(5);
    auto tooMany = join();
    tooMany->send(StopHeating{7});
    const auto received = next();
    ASSERT_EQ(received.size(), 1u);
    EXPECT_EQ(std::get<StopHeating>(received[0].message).id, 7);
    EXPECT_TRUE(hears(*tooMany, "at most 16"));
}

TEST_F(Messages, RefuseWhoeverIsNotTheUserWhoStartedIt)
{
    MessageServer strange(folder / "strange", geteuid() + 1);
    MessageClient client(folder / "strange");
    client.send(StopHeating{1});
    for (int turn = 0; turn < 10; ++turn)
        EXPECT_TRUE(strange.receive(2).empty());
    EXPECT_TRUE(client.refusedWith("only the user who started this controller"));
    EXPECT_TRUE(client.until([&] { return client.closed; }));
}

TEST_F(Messages, TakeWhatAClientSentBeforeItLeft)
{
    {
        auto client = join();
        server.receive(0);
        std::string many;
        for (int n = 0; n < 200; ++n)
            many += encode(AddNote{"n"});
        client->sendBytes(many);
    }
    size_t notes = 0;
    for (int turn = 0; turn < 100; ++turn)
        notes += server.receive(5).size();
    EXPECT_EQ(notes, 200u);
}

TEST_F(Messages, AnswerGarbageInWordsWithoutLosingWhatFollows)
{
    auto client = join();
    server.receive(0);
    client->sendBytes(garbage + encode(AddNote{"whole"}));
    EXPECT_EQ(next().size(), 1u);
    EXPECT_TRUE(client->refusedWith("expected one on each line"));
}

TEST_F(Messages, SendABacklogInTheOrderOfItsMessages)
{
    auto client = join();
    server.receive(0);
    constexpr long all = 4000; // more than the socket holds
    for (long n = 1; n <= all; ++n)
        server.sendAll(Event{n, 0, "note", "info", std::string(500, 'x')});
    for (int turn = 0; turn < 2000 && long(client->events.size()) < all; ++turn) {
        server.receive(1);
        client->until([] { return false; }, 0);
    }
    ASSERT_EQ(long(client->events.size()), all);
    for (long n = 0; n < all; ++n)
        ASSERT_EQ(client->events[size_t(n)].seq, n + 1);
}

} // namespace
} // namespace stripwright
