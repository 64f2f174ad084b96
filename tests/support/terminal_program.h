#pragma once

#include "child_program.h"

#include <sys/ioctl.h>
#include <termios.h>

namespace stripwright {

/// A program of the build in the foreground of a terminal of its own, as a shell starts it: keys typed into
/// the terminal reach it as signals.
class TerminalProgram {
public:
    explicit TerminalProgram(std::vector<std::string> arguments)
    {
        keyboard_ = posix_openpt(O_RDWR | O_NOCTTY | O_CLOEXEC);
        EXPECT_EQ(grantpt(keyboard_), 0);
        EXPECT_EQ(unlockpt(keyboard_), 0);
        const std::string name = ptsname(keyboard_);
        shell_ = fork();
        if (shell_ == 0)
            beShell(name, arguments);
    }
    ~TerminalProgram()
    {
        if (exitCode_ < 0) {
            const std::vector<pid_t> below = descendantsOf(shell_);
            kill(shell_, SIGKILL);
            for (const pid_t process : below)
                kill(process, SIGKILL);
            waitpid(shell_, nullptr, 0);
        }
        closeTerminal();
    }
    TerminalProgram(const TerminalProgram&) = delete;
    TerminalProgram& operator=(const TerminalProgram&) = delete;

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
    pid_t pid() const { return childrenOf(shell_).at(0); }

    /// -1 if it does not end; 128 + signal if it was killed.
    int exitCode(double patienceS = 60)
    {
        int status = 0;
        if (exitCode_ < 0 && waitFor([&] { return waitpid(shell_, &status, WNOHANG) == shell_; }, patienceS))
            exitCode_ = WIFEXITED(status) ? WEXITSTATUS(status) : 128 + WTERMSIG(status);
        return exitCode_;
    }

private:
    [[noreturn]] void beShell(const std::string& terminal, std::vector<std::string>& arguments)
    {
        close(keyboard_);
        prctl(PR_SET_PDEATHSIG, SIGKILL);
        setsid();
        const int screen = open(terminal.c_str(), O_RDWR);
        ioctl(screen, TIOCSCTTY, 0);
        for (int fd : {0, 1, 2})
            dup2(screen, fd);
        for (int ignored : {SIGTTOU, SIGTTIN, SIGTSTP, SIGINT, SIGQUIT})
            signal(ignored, SIG_IGN);
        const pid_t job = fork();
        if (job == 0) {
            setpgid(0, 0);
            tcsetpgrp(0, getpid());
            for (int usual : {SIGTTOU, SIGTTIN, SIGTSTP, SIGINT, SIGQUIT})
                signal(usual, SIG_DFL);
            arguments.insert(arguments.begin(), std::filesystem::path(BIN_DIR) / "stripwright-controller");
            std::vector<char*> argv;
            for (std::string& argument : arguments)
                argv.push_back(argument.data());
            argv.push_back(nullptr);
            execv(argv[0], argv.data());
            _exit(127);
        }
        int status = 0;
        waitpid(job, &status, 0); // one that is stopped stays so, as under a shell
        _exit(WIFEXITED(status) ? WEXITSTATUS(status) : 128 + WTERMSIG(status));
    }

    int keyboard_ = -1, exitCode_ = -1;
    pid_t shell_ = 0;
    std::string screen_;
};

} // namespace stripwright
