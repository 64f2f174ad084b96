#include "models/operator_signals.h"

#include <cerrno>
#include <fcntl.h>
#include <system_error>
#include <unistd.h>

namespace stripwright {

// In the background it neither stands still over a key nor over a line it says.
static constexpr int idleSignals[] = {SIGTTIN, SIGTTOU};

static int writeEnd = -1; // A signal handler has no other way to its object.

static void passOn(int number)
{
    const int before = errno;
    const auto byte = static_cast<unsigned char>(number);
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
        unsigned char bytes[16];
        ssize_t count;
        while ((count = read(ends_[0], bytes, sizeof bytes)) > 0)
            last_ = bytes[count - 1];
        emit stop();
    });
    struct sigaction action {};
    action.sa_handler = passOn;
    action.sa_flags = SA_RESTART;
    for (size_t i = 0; i < numbers.size(); ++i) {
        sigaction(numbers[i], nullptr, &before_[i]);
        const bool meantToStay = numbers[i] == SIGHUP && before_[i].sa_handler == SIG_IGN; // as nohup does
        if (!meantToStay)
            sigaction(numbers[i], &action, nullptr);
    }
    for (const int number : idleSignals)
        std::signal(number, SIG_IGN);
}

OperatorSignals::~OperatorSignals()
{
    for (size_t i = 0; i < numbers.size(); ++i)
        sigaction(numbers[i], &before_[i], nullptr);
    for (const int number : idleSignals)
        std::signal(number, SIG_DFL);
    writeEnd = -1;
    close(ends_[0]);
    close(ends_[1]);
}

} // namespace stripwright
