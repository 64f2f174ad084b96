#pragma once

#include "messages/messages.h"

#include <QByteArray>
#include <QObject>
#include <QSocketNotifier>
#include <QString>

#include <memory>

namespace stripwright {

/// A connection to a controller that carries nothing but stops, so that no long message and no backlog stands
/// before one. Nothing here ever waits.
class StopLine : public QObject {
    Q_OBJECT
public:
    using QObject::QObject;
    ~StopLine() override;

    /// Connects, unless it is connected to this socket already. False if nobody listens there.
    bool reach(const QString& socketPath);
    /// The whole line is with the system, on its way to the controller, before this returns; false if not.
    /// reach() first.
    bool send(long id);
    void close();

signals:
    void heard(const Status& status); ///< One that names a stop.

private:
    void receive();

    int socket_ = -1;
    QString path_;
    std::unique_ptr<QSocketNotifier> notifier_;
    QByteArray received_;
};

} // namespace stripwright
