#pragma once

#include <filesystem>
#include <fstream>
#include <functional>
#include <gtest/gtest.h>
#include <sstream>
#include <string>
#include <vector>

#include <csignal>
#include <fcntl.h>
#include <sys/prctl.h>
#include <sys/wait.h>
#include <unistd.h>

namespace stripwright {

/// Waits for a condition with a patience that only a hang exhausts.
inline bool waitFor(const std::function<bool()>& condition, double patienceS = 60)
{
    for (double s = 0; s < patienceS; s += 0.01) {
        if (condition())
            return true;
        usleep(10'000);
    }
    return false;
}

inline std::string textOf(const std::filesystem::path& file)
{
    std::ifstream in(file);
    std::stringstream text;
    text << in.rdbuf();
    return text.str();
}

inline std::vector<pid_t> childrenOf(pid_t parent)
{
    const std::string pid = std::to_string(parent);
    std::ifstream in("/proc/" + pid + "/task/" + pid + "/children");
    std::vector<pid_t> all;
    for (pid_t child; in >> child;)
        all.push_back(child);
    return all;
}

/// Whether a process is gone, or waits only to be buried.
inline bool hasEnded(pid_t process)
{
    std::ifstream in("/proc/" + std::to_string(process) + "/stat");
    std::string all;
    std::getline(in, all);
    const size_t name = all.rfind(") ");
    return name == std::string::npos || all.compare(name + 2, 1, "Z") == 0;
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

/// A program of the build under test, or any with its whole path, its output in files; killed at the end of
/// its scope.
class ChildProgram {
public:
    ChildProgram(const std::string& name, std::vector<std::string> arguments,
                 const std::filesystem::path& folder)
        : output_(folder / (std::filesystem::path(name).filename().string() + ".out")),
          errors_(folder / (std::filesystem::path(name).filename().string() + ".err"))
    {
        std::ofstream(output_).close();
        pid_ = fork();
        if (pid_ != 0)
            return;
        prctl(PR_SET_PDEATHSIG, SIGKILL);
        dup2(open(output_.c_str(), O_WRONLY | O_CREAT | O_TRUNC, 0600), STDOUT_FILENO);
        dup2(open(errors_.c_str(), O_WRONLY | O_CREAT | O_TRUNC, 0600), STDERR_FILENO);
        arguments.insert(arguments.begin(), std::filesystem::path(BIN_DIR) / name);
        std::vector<char*> argv;
        for (std::string& argument : arguments)
            argv.push_back(argument.data());
        argv.push_back(nullptr);
        execv(argv[0], argv.data());
        _exit(127);
    }
    ~ChildProgram()
    {
        if (exitCode_ < 0) {
            const std::vector<pid_t> below = descendantsOf(pid_);
            kill(pid_, SIGKILL);
            for (const pid_t process : below)
                kill(process, SIGKILL);
            waitpid(pid_, nullptr, 0);
        }
    }
    ChildProgram(const ChildProgram&) = delete;
    ChildProgram& operator=(const ChildProgram&) = delete;

    void signal(int number) const { kill(pid_, number); }
    pid_t pid() const { return pid_; }
    /// Of a controller, which is the front of both; waits until they are there.
    pid_t guardian() const
    {
        EXPECT_TRUE(waitFor([&] { return !descendantsOf(pid_).empty(); }));
        return descendantsOf(pid_).at(0);
    }
    pid_t worker() const
    {
        EXPECT_TRUE(waitFor([&] { return descendantsOf(pid_).size() == 2; }));
        return descendantsOf(pid_).at(1);
    }
    std::string output() const { return textOf(output_); }
    std::string errors() const { return textOf(errors_); }

    /// -1 if it does not end; 128 + signal if it was killed.
    int exitCode(double patienceS = 60)
    {
        int status = 0;
        if (exitCode_ < 0 && waitFor([&] { return waitpid(pid_, &status, WNOHANG) == pid_; }, patienceS))
            exitCode_ = WIFEXITED(status) ? WEXITSTATUS(status) : 128 + WTERMSIG(status);
        return exitCode_;
    }

private:
    std::filesystem::path output_, errors_;
    pid_t pid_ = 0;
    int exitCode_ = -1;
};

} // namespace stripwright
