#pragma once

#include "models/live_run.h"

#include <QLocalServer>
#include <QTemporaryDir>
#include <QTest>
#include <gtest/gtest.h>

namespace stripwright::test {

/// A controller that says what a test tells it to.
class FakeController {
public:
    explicit FakeController(LiveRun& driven) : run(driven)
    {
        EXPECT_TRUE(server_.listen(folder_.filePath("talk")));
        run.attach(server_.fullServerName());
        EXPECT_TRUE(QTest::qWaitFor([&] {
            if (!peer_)
                peer_ = server_.nextPendingConnection();
            return peer_ && run.phase() == LiveRun::Phase::Connected;
        }));
    }
    void say(const Message& message)
    {
        peer_->write(QByteArray::fromStdString(encode(message)));
        peer_->flush();
    }
    void sayBytes(const QByteArray& bytes)
    {
        peer_->write(bytes);
        peer_->flush();
    }
    void die() { peer_->abort(); }
    template <class Kind> bool hears()
    {
        return QTest::qWaitFor([&] {
            while (peer_->canReadLine() || peer_->waitForReadyRead(20)) {
                if (!peer_->canReadLine())
                    continue; // A long line comes in parts.
                std::string why;
                const auto message = decode(peer_->readLine().toStdString(), why);
                if (message && std::holds_alternative<Kind>(*message))
                    return true;
            }
            return false;
        });
    }

private:
    QTemporaryDir folder_;
    QLocalServer server_;
    QLocalSocket* peer_ = nullptr;

public:
    LiveRun& run;
};

inline Status heating()
{
    return {.state = RunState::Running, .heater = HeaterState::On, .link = LinkState::Up, .sensorC = 151.0};
}

} // namespace stripwright::test
