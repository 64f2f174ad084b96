#pragma once

#include "models/live_run.h"

#include <QLocalServer>
#include <QTemporaryDir>
#include <QTest>
#include <gtest/gtest.h>

namespace stripwright::test {

/// A controller that says what a test tells it to. It has two connections: the talk, and the one that carries
/// only stops. It stands still unless told otherwise, and reads only where it is asked what it hears.
class FakeController {
public:
    explicit FakeController(LiveRun& driven) : run(driven)
    {
        EXPECT_TRUE(server_.listen(folder_.filePath("talk")));
        run.attach(server_.fullServerName());
        takeConnections();
    }
    /// Both connections of a run that comes, or comes back: the stops' is made first.
    void takeConnections()
    {
        stops_ = peer_ = nullptr;
        EXPECT_TRUE(QTest::qWaitFor([&] {
            while (QLocalSocket* came = server_.nextPendingConnection())
                (stops_ ? peer_ : stops_) = came;
            return peer_ && run.phase() == LiveRun::Phase::Connected;
        }));
    }
    void takeStopConnection() ///< Of a run that does no more than stop.
    {
        stops_ = nullptr;
        EXPECT_TRUE(QTest::qWaitFor([&] { return (stops_ = server_.nextPendingConnection()) != nullptr; }));
    }
    void say(const Message& message) { sayBytes(QByteArray::fromStdString(encode(message))); }
    void sayBytes(const QByteArray& bytes)
    {
        peer_->write(bytes);
        peer_->flush();
    }
    /// On the connection of the stops, as the controller tells all its clients everything.
    void sayToStops(const Message& message)
    {
        stops_->write(QByteArray::fromStdString(encode(message)));
        stops_->flush();
    }
    /// As the answer to the last stop heard, or to another one.
    void answerStop(Status status, long later = 0)
    {
        status.stopTaken = lastStop + later;
        say(status);
    }
    void die()
    {
        server_.close();
        hangUp();
    }
    void hangUp() ///< And listens on.
    {
        stops_->abort();
        peer_->abort();
    }
    template <class Kind> bool hears() { return hearsOn<Kind>(*peer_).has_value(); }
    template <class Kind> std::optional<Kind> heard() { return hearsOn<Kind>(*peer_); }
    bool hearsStop(int patienceMs = 5000)
    {
        return QTest::qWaitFor([&] { return hasStop(*stops_); }, patienceMs);
    }
    /// What has reached the stops' connection already, without any turn of the run's event loop.
    bool stopIsHere() { return hasStop(*stops_) || (stops_->waitForReadyRead(2000) && hasStop(*stops_)); }
    QString socketPath() const { return server_.fullServerName(); }

    long lastStop = 0;

private:
    bool hasStop(QLocalSocket& from)
    {
        bool any = false;
        while (from.canReadLine()) {
            std::string why;
            const auto message = decode(from.readLine().toStdString(), why);
            if (const auto* stop = message ? std::get_if<StopHeating>(&*message) : nullptr) {
                lastStop = stop->id;
                any = true;
            }
        }
        return any;
    }
    template <class Kind> std::optional<Kind> hearsOn(QLocalSocket& from)
    {
        std::optional<Kind> heard;
        (void)QTest::qWaitFor([&] {
            while (from.canReadLine() || from.waitForReadyRead(20)) {
                if (!from.canReadLine())
                    continue; // A long line comes in parts.
                std::string why;
                const auto message = decode(from.readLine().toStdString(), why);
                if (const auto* kind = message ? std::get_if<Kind>(&*message) : nullptr) {
                    heard = *kind;
                    return true;
                }
            }
            return false;
        });
        return heard;
    }

    QTemporaryDir folder_;
    QLocalServer server_;
    QLocalSocket *peer_ = nullptr, *stops_ = nullptr;

public:
    LiveRun& run;
};

inline Status heating()
{
    return {.state = RunState::Running, .heater = HeaterState::On, .link = LinkState::Up, .sensorC = 151.0};
}

inline Status offNow()
{
    return {
        .state = RunState::Idle, .heater = HeaterState::OffConfirmed, .link = LinkState::Up, .sensorC = 24.0};
}

} // namespace stripwright::test
