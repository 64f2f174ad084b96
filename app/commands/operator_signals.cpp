#include "commands/operator_signals.h"

#include <csignal>
#include <fcntl.h>
#include <system_error>
#include <unistd.h>

namespace stripwright {

static int writeEnd = -1; // A signal handler has no other way to its object.

static void passOn(int)
{
    const int before = errno;
    const char byte = 1;
    [[maybe_unused]] const auto written = write(writeEnd, &byte, 1); // Full: a stop is on its way already.
    errno = before;
}

OperatorSignals::OperatorSignals(QObject* parent) : QObject(parent)
{
    if (pipe2(ends_, O_CLOEXEC | O_NONBLOCK) != 0)
        throw std::system_error(errno, std::generic_category(), "pipe for signals");
    writeEnd = ends_[1];
    notifier_ = new QSocketNotifier(ends_[0], QSocketNotifier::Read, this);
    connect(notifier_, &QSocketNotifier::activated, this, [this] {
        char bytes[16];
        while (read(ends_[0], bytes, sizeof bytes) > 0) {
        }
        emit stop();
    });
    struct sigaction action{};
    action.sa_handler = passOn;
    action.sa_flags = SA_RESTART;
    for (const int number : {SIGINT, SIGTERM, SIGHUP})
        sigaction(number, &action, nullptr);
}

OperatorSignals::~OperatorSignals()
{
    for (const int number : {SIGINT, SIGTERM, SIGHUP})
        std::signal(number, SIG_DFL);
    writeEnd = -1;
    close(ends_[0]);
    close(ends_[1]);
}

} // namespace stripwright
