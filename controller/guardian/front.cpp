#include "guardian/front.h"

#include "guardian/signals.h"

#include <cerrno>
#include <cstdio>
#include <cstring>
#include <fcntl.h>
#include <poll.h>
#include <stdexcept>
#include <sys/prctl.h>
#include <sys/signalfd.h>
#include <sys/wait.h>
#include <unistd.h>

extern "C" { // Debian 12's header does not say so itself
#include <sys/pidfd.h>
}

namespace stripwright {

static constexpr int beatEveryMs = 500, farewellMs = 1000;

void tell(const FrontLine& front, News::What what, pid_t pid)
{
    const News news{what, pid};
    (void)!write(front.news, &news, sizeof news); // a front that is gone need not know
}

static sigset_t frontSignals()
{
    sigset_t signals = endSignalSet();
    sigaddset(&signals, SIGTSTP);
    sigaddset(&signals, SIGCHLD);
    return signals;
}

static std::runtime_error cannot(const char* what)
{
    return std::runtime_error(std::string(what) + ": " + std::strerror(errno));
}

Front forkBehindFront()
{
    int orders[2], news[2];
    if (pipe2(orders, O_CLOEXEC | O_NONBLOCK) != 0 || pipe2(news, O_CLOEXEC | O_NONBLOCK) != 0)
        throw cannot("no pipe to the guardian");
    // Blocked before the fork, so that no signal falls in between; the front takes them from a descriptor.
    const sigset_t signals = frontSignals();
    sigprocmask(SIG_BLOCK, &signals, nullptr);
    std::signal(SIGCHLD,
                SIG_DFL); // whoever started this may have had it ignored: no child could be waited for
    std::signal(SIGPIPE, SIG_IGN);
    std::fflush(nullptr);
    prctl(PR_SET_CHILD_SUBREAPER, 1); // the worker of a guardian that was killed becomes the front's child
    Front front;
    front.guardian = fork();
    if (front.guardian < 0)
        throw cannot("the guardian cannot be forked");
    if (front.guardian > 0) {
        close(orders[0]);
        close(news[1]);
        front.orders = orders[1];
        front.news = news[0];
        return front;
    }
    close(orders[1]);
    close(news[0]);
    front.line = {orders[0], news[1]};
    setsid();
    ignoreIdleSignals();
    if (const int nowhere = open("/dev/null", O_RDONLY); nowhere > STDIN_FILENO) {
        dup2(nowhere, STDIN_FILENO);
        close(nowhere);
    }
    return front;
}

namespace {

class Standing {
public:
    explicit Standing(const Front& front) : front_(front), news_(front.news)
    {
        const sigset_t signals = frontSignals();
        signals_ = signalfd(-1, &signals, SFD_CLOEXEC | SFD_NONBLOCK);
        if (signals_ < 0)
            throw cannot("no descriptor for signals");
    }
    ~Standing()
    {
        close(signals_);
        close(front_.orders);
        close(front_.news);
        if (worker_ >= 0)
            close(worker_);
    }

    FrontEnd stand()
    {
        for (;;) {
            pollfd watched[] = {{signals_, POLLIN, 0}, {news_, POLLIN, 0}};
            poll(watched, 2, beatEveryMs);
            send(order::beat);
            hear();
            if (takeSignals() && turningOff_) {
                pollfd farewell{news_, POLLIN, 0};
                poll(&farewell, 1, farewellMs);
                return {};
            }
            if (const std::optional<FrontEnd> end = reap())
                return *end;
        }
    }

private:
    void send(char what) { (void)!write(front_.orders, &what, 1); }

    // A handle, not a number: numbers come back.
    void hear()
    {
        News news;
        ssize_t count;
        while (news_ >= 0 && (count = read(news_, &news, sizeof news)) >= 0) {
            if (count == 0)
                news_ = -1;
            else if (news.what == News::Working)
                worker_ = pidfd_open(news.pid, 0);
            else
                turningOff_ = true;
        }
    }

    // The worker is told here too: the guardian may have been killed or stopped.
    bool takeSignals()
    {
        bool any = false;
        signalfd_siginfo info;
        while (read(signals_, &info, sizeof info) == static_cast<ssize_t>(sizeof info)) {
            if (info.ssi_signo == SIGCHLD)
                continue;
            any = true;
            send(info.ssi_signo == SIGTSTP || info.ssi_signo == SIGQUIT ? order::pause : order::stop);
            if (worker_ >= 0)
                pidfd_send_signal(worker_, SIGTERM, nullptr, 0);
        }
        return any;
    }

    // A guardian that ended by itself has seen to everything. After one that was killed the worker goes on,
    // as a child of this process now, and ends its heat.
    std::optional<FrontEnd> reap()
    {
        int status = 0;
        pid_t who;
        while ((who = waitpid(-1, &status, WNOHANG)) > 0) {
            if (who == front_.guardian && WIFEXITED(status))
                return FrontEnd{WEXITSTATUS(status), false};
            guardianLost_ = guardianLost_ || who == front_.guardian;
            if (who != front_.guardian)
                last_ = WIFEXITED(status) && WEXITSTATUS(status) != 1 ? FrontEnd{WEXITSTATUS(status), false}
                                                                      : FrontEnd{1, true};
        }
        if (who == 0 || !guardianLost_)
            return {};
        return last_;
    }

    const Front& front_;
    int signals_ = -1, news_, worker_ = -1;
    bool turningOff_ = false, guardianLost_ = false;
    FrontEnd last_{1, true};
};

} // namespace

FrontEnd standInFront(const Front& front)
{
    return Standing(front).stand();
}

} // namespace stripwright
