#pragma once

#include "scratch_folder.h"

#include <filesystem>
#include <fstream>
#include <functional>
#include <map>
#include <optional>
#include <sstream>
#include <stdexcept>
#include <string>
#include <vector>

#include <csignal>
#include <ctime>
#include <fcntl.h>
#include <sys/prctl.h>
#include <sys/wait.h>
#include <unistd.h>

namespace stripwright {

/// Of the monotonic clock, as in the plate's trace.
inline double nowS()
{
    timespec now{};
    clock_gettime(CLOCK_MONOTONIC, &now);
    return static_cast<double>(now.tv_sec) + 1e-9 * static_cast<double>(now.tv_nsec);
}

/// Asks every few milliseconds, with a patience that only a hang exhausts. False: not within that time.
inline bool waitFor(const std::function<bool()>& condition, double patienceS = 60)
{
    for (const double endS = nowS() + patienceS;;) {
        if (condition())
            return true;
        if (nowS() >= endS)
            return false;
        usleep(3000);
    }
}

inline std::string textOf(const std::filesystem::path& file)
{
    std::ifstream in(file, std::ios::binary);
    std::stringstream text;
    text << in.rdbuf();
    return text.str();
}

inline std::vector<pid_t> childrenOf(pid_t parent)
{
    std::vector<pid_t> all;
    std::error_code gone;
    for (const auto& task :
         std::filesystem::directory_iterator("/proc/" + std::to_string(parent) + "/task", gone)) {
        std::ifstream in(task.path() / "children");
        for (pid_t child; in >> child;)
            all.push_back(child);
    }
    return all;
}

/// Everything below a process, parents before their children.
inline std::vector<pid_t> descendantsOf(pid_t parent)
{
    std::vector<pid_t> all = childrenOf(parent);
    for (size_t i = 0; i < all.size(); ++i)
        for (const pid_t child : childrenOf(all[i]))
            all.push_back(child);
    return all;
}

/// Whether a process is gone, or waits only to be buried.
inline bool hasEnded(pid_t process)
{
    const std::string all = textOf("/proc/" + std::to_string(process) + "/stat");
    const size_t name = all.rfind(") ");
    return name == std::string::npos || all.compare(name + 2, 1, "Z") == 0;
}

/// 128 + signal if it was killed.
inline int exitCodeOf(int waitStatus)
{
    return WIFEXITED(waitStatus) ? WEXITSTATUS(waitStatus) : 128 + WTERMSIG(waitStatus);
}

/// In a child: becomes a program of the build under test, or any with its whole path, as a shell starts it.
[[noreturn]] inline void become(const std::string& program, std::vector<std::string> arguments)
{
    for (const int usual : {SIGINT, SIGQUIT, SIGTERM, SIGHUP, SIGPIPE, SIGTSTP, SIGTTIN, SIGTTOU})
        signal(usual, SIG_DFL);
    arguments.insert(arguments.begin(), std::filesystem::path(BIN_DIR) / program);
    std::vector<char*> argv;
    for (std::string& argument : arguments)
        argv.push_back(argument.data());
    argv.push_back(nullptr);
    execv(argv[0], argv.data());
    _exit(127);
}

/// A process that a test starts. At the end of its scope it is killed with all below it, if it still runs.
class ChildProcess {
public:
    using Work = std::function<void(const std::function<void()>& ready)>;
    /// Waits until `work`, which the child does, has called `ready`.
    explicit ChildProcess(const Work& work)
    {
        int ends[2];
        makePipe(ends);
        start([&] { work([&] { (void)!write(ends[1], "r", 1); }); });
        close(ends[1]);
        char byte;
        const bool isReady = read(ends[0], &byte, 1) == 1;
        close(ends[0]);
        if (!isReady)
            throw std::runtime_error("a child ended before it was ready");
    }
    ~ChildProcess()
    {
        if (pid_ <= 0 || exitCode_)
            return;
        const std::vector<pid_t> below = descendantsOf(pid_);
        kill(pid_, SIGKILL);
        for (const pid_t process : below)
            kill(process, SIGKILL);
        waitpid(pid_, nullptr, 0);
    }
    ChildProcess(const ChildProcess&) = delete;
    ChildProcess& operator=(const ChildProcess&) = delete;

    pid_t pid() const { return pid_; }
    void signal(int number) const { kill(pid_, number); }
    /// Empty if it does not end within that time.
    std::optional<int> exitCode(double patienceS = 60)
    {
        int status = 0;
        if (!exitCode_ && waitFor([&] { return waitpid(pid_, &status, WNOHANG) == pid_; }, patienceS))
            exitCode_ = exitCodeOf(status);
        return exitCode_;
    }

protected:
    ChildProcess() = default;
    static void makePipe(int (&ends)[2])
    {
        if (pipe2(ends, O_CLOEXEC) != 0)
            throw std::runtime_error("no pipe");
    }
    void start(const std::function<void()>& work)
    {
        pid_ = fork();
        if (pid_ < 0)
            throw std::runtime_error("cannot fork");
        if (pid_ > 0)
            return;
        prctl(PR_SET_PDEATHSIG, SIGKILL);
        work();
        _exit(0);
    }

private:
    pid_t pid_ = 0;
    std::optional<int> exitCode_;
};

/// A program with a process group of its own, no shelf of this user's, a pipe as its input, and its output
/// and errors in files, or both in `outputTo`.
class ChildProgram : public ChildProcess {
public:
    using Environment = std::map<std::string, std::string>;
    ChildProgram(const std::string& program, const std::vector<std::string>& arguments,
                 const Environment& environment = {}, int outputTo = -1)
    {
        int input[2];
        makePipe(input);
        ::signal(SIGPIPE, SIG_IGN); // so that say() may come when it has ended
        start([&] {
            setpgid(0, 0);
            dup2(input[0], STDIN_FILENO);
            dup2(outputTo >= 0 ? outputTo : creat(output_.c_str(), 0600), STDOUT_FILENO);
            dup2(outputTo >= 0 ? outputTo : creat(errors_.c_str(), 0600), STDERR_FILENO);
            setenv("XDG_DATA_HOME", "/nowhere", 1);
            for (const auto& [key, value] : environment)
                setenv(key.c_str(), value.c_str(), 1);
            become(program, arguments);
        });
        close(input[0]);
        input_ = input[1];
    }
    ~ChildProgram() { close(input_); }

    /// On its standard input. False: it does not take it.
    bool say(const std::string& text) const
    {
        return write(input_, text.data(), text.size()) == static_cast<ssize_t>(text.size());
    }
    std::string output() const { return textOf(output_); }
    std::string errors() const { return textOf(errors_); }
    /// Of a controller, which is the front of both; waits until they are there.
    pid_t guardian() const { return below(0); }
    pid_t worker() const { return below(1); }

private:
    pid_t below(size_t at) const
    {
        waitFor([&] { return descendantsOf(pid()).size() > at; });
        return descendantsOf(pid()).at(at);
    }

    const ScratchFolder folder_;
    const std::filesystem::path output_ = folder_ / "output", errors_ = folder_ / "errors";
    int input_ = -1;
};

} // namespace stripwright
