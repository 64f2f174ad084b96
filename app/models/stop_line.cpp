#include "models/stop_line.h"

#include <QPointer>

#include <cstring>
#include <sys/socket.h>
#include <sys/un.h>
#include <unistd.h>

namespace stripwright {

StopLine::~StopLine()
{
    close();
}

bool StopLine::reach(const QString& socketPath)
{
    char peeked;
    const bool hungUp = socket_ >= 0 && recv(socket_, &peeked, 1, MSG_PEEK | MSG_DONTWAIT) == 0;
    if (socket_ >= 0 && !hungUp && socketPath == path_)
        return true;
    close();
    const QByteArray name = socketPath.toLocal8Bit();
    sockaddr_un address{};
    address.sun_family = AF_UNIX;
    if (name.isEmpty() || size_t(name.size()) >= sizeof address.sun_path)
        return false;
    std::memcpy(address.sun_path, name.constData(), size_t(name.size()));
    socket_ = socket(AF_UNIX, SOCK_STREAM | SOCK_NONBLOCK | SOCK_CLOEXEC, 0);
    if (socket_ < 0)
        return false;
    if (::connect(socket_, reinterpret_cast<const sockaddr*>(&address), sizeof address) != 0) {
        close();
        return false;
    }
    path_ = socketPath;
    notifier_ = std::make_unique<QSocketNotifier>(socket_, QSocketNotifier::Read);
    connect(notifier_.get(), &QSocketNotifier::activated, this, &StopLine::receive);
    return true;
}

bool StopLine::send(long id)
{
    const std::string line = encode(StopHeating{id});
    if (socket_ < 0)
        return false;
    // A controller that has gone, or half a line where nobody reads, is a connection to be made anew.
    if (::send(socket_, line.data(), line.size(), MSG_DONTWAIT | MSG_NOSIGNAL) != ssize_t(line.size())) {
        close();
        return false;
    }
    return true;
}

void StopLine::close()
{
    if (notifier_) {
        notifier_->setEnabled(false);
        notifier_.release()->deleteLater(); // This may be its own signal.
    }
    if (socket_ >= 0)
        ::close(socket_);
    socket_ = -1;
    received_.clear();
}

// The controller tells every client everything. All but the answers to stops is passed over unread.
void StopLine::receive()
{
    char bytes[65536];
    const ssize_t count = recv(socket_, bytes, sizeof bytes, MSG_DONTWAIT);
    if (count == 0 || (count < 0 && errno != EAGAIN && errno != EINTR) ||
        size_t(received_.size()) > longestMessageBytes) {
        close();
        return;
    }
    if (count < 0)
        return;
    const qsizetype searched = received_.size();
    received_.append(bytes, count);
    qsizetype from = 0;
    std::vector<Status> answers;
    for (qsizetype end; (end = received_.indexOf('\n', std::max(from, searched))) >= 0; from = end + 1) {
        const QByteArray line = received_.mid(from, end - from);
        std::string why;
        if (!line.contains("\"stop_taken\""))
            continue;
        const auto message = decode(line.toStdString(), why);
        if (const auto* status = message ? std::get_if<Status>(&*message) : nullptr)
            answers.push_back(*status);
    }
    received_.remove(0, from);
    const QPointer<StopLine> here(this);
    for (const Status& answer : answers)
        if (here)
            emit heard(answer);
}

} // namespace stripwright
