#pragma once

#include "child_program.h"

#include <gtest/gtest.h>
#include <sys/ioctl.h>
#include <termios.h>

namespace stripwright {

/// A controller in the foreground of a terminal of its own, as a shell starts it: keys typed into the
/// terminal reach it as signals. The process of this class is that shell.
class TerminalProgram : public ChildProcess {
public:
    explicit TerminalProgram(const std::vector<std::string>& arguments)
    {
        keyboard_ = posix_openpt(O_RDWR | O_NOCTTY | O_CLOEXEC);
        EXPECT_EQ(grantpt(keyboard_), 0);
        EXPECT_EQ(unlockpt(keyboard_), 0);
        const std::string name = ptsname(keyboard_);
        start([&] { beShell(name, arguments); });
    }
    ~TerminalProgram() { closeTerminal(); }

    void type(char key) { EXPECT_EQ(write(keyboard_, &key, 1), 1); }
    void closeTerminal()
    {
        if (keyboard_ >= 0)
            close(keyboard_);
        keyboard_ = -1;
    }
    /// What stands on the screen by now. Nobody else reads it.
    const std::string& screen()
    {
        fcntl(keyboard_, F_SETFL, O_NONBLOCK);
        char bytes[4096];
        for (ssize_t count; (count = read(keyboard_, bytes, sizeof bytes)) > 0;)
            screen_.append(bytes, static_cast<size_t>(count));
        return screen_;
    }
    pid_t front() const { return childrenOf(pid()).at(0); }

private:
    [[noreturn]] void beShell(const std::string& terminal, const std::vector<std::string>& arguments) const
    {
        close(keyboard_);
        setsid();
        const int screen = open(terminal.c_str(), O_RDWR);
        ioctl(screen, TIOCSCTTY, 0);
        for (int fd : {0, 1, 2})
            dup2(screen, fd);
        for (int ignored : {SIGTTOU, SIGTTIN, SIGTSTP, SIGINT, SIGQUIT})
            ::signal(ignored, SIG_IGN);
        const pid_t job = fork();
        if (job == 0) {
            setpgid(0, 0);
            tcsetpgrp(0, getpid());
            become("stripwright-controller", arguments);
        }
        int status = 0;
        waitpid(job, &status, 0); // one that is stopped stays so, as under a shell
        _exit(exitCodeOf(status));
    }

    int keyboard_ = -1;
    std::string screen_;
};

} // namespace stripwright
