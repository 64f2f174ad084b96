#include "process.h"

#include <csignal>
#include <cstdlib>
#include <ctime>
#include <fcntl.h>
#include <fstream>
#include <sstream>
#include <stdexcept>
#include <sys/prctl.h>
#include <sys/wait.h>
#include <unistd.h>

namespace stripwright::faults {

double nowS()
{
    timespec now{};
    clock_gettime(CLOCK_MONOTONIC, &now);
    return static_cast<double>(now.tv_sec) + 1e-9 * static_cast<double>(now.tv_nsec);
}

bool waitFor(const std::function<bool()>& condition, double patienceS)
{
    for (const double endS = nowS() + patienceS;;) {
        if (condition())
            return true;
        if (nowS() >= endS)
            return false;
        usleep(3000);
    }
}

std::string textOf(const std::filesystem::path& file)
{
    std::ifstream in(file);
    std::stringstream text;
    text << in.rdbuf();
    return text.str();
}

Process::Process(const std::string& program, std::vector<std::string> arguments,
                 const std::filesystem::path& folder, const std::map<std::string, std::string>& environment)
{
    static int count = 0;
    const std::string name = program + "-" + std::to_string(++count);
    output_ = folder / (name + ".out");
    errors_ = folder / (name + ".err");
    std::ofstream(output_).close();
    std::ofstream(errors_).close();
    int ends[2];
    if (pipe2(ends, O_CLOEXEC) != 0)
        throw std::runtime_error("no pipe");
    pid_ = fork();
    if (pid_ < 0)
        throw std::runtime_error("cannot fork");
    if (pid_ == 0) {
        setpgid(0, 0);
        for (const int signal : {SIGINT, SIGTERM, SIGHUP, SIGPIPE})
            std::signal(signal, SIG_DFL);
        dup2(ends[0], STDIN_FILENO);
        dup2(open(output_.c_str(), O_WRONLY | O_TRUNC | O_CLOEXEC), STDOUT_FILENO);
        dup2(open(errors_.c_str(), O_WRONLY | O_APPEND | O_CLOEXEC), STDERR_FILENO);
        for (const auto& [key, value] : environment)
            setenv(key.c_str(), value.c_str(), 1);
        arguments.insert(arguments.begin(), std::string(BIN_DIR) + "/" + program);
        std::vector<char*> argv;
        for (std::string& argument : arguments)
            argv.push_back(argument.data());
        argv.push_back(nullptr);
        execv(argv[0], argv.data());
        _exit(127);
    }
    ::close(ends[0]);
    input_ = ends[1];
}

Process::~Process()
{
    ::close(input_);
    if (!exitCode_) {
        kill(pid_, SIGKILL);
        waitpid(pid_, nullptr, 0);
    }
}

void Process::say(const std::string& line)
{
    const std::string whole = line + "\n";
    if (::write(input_, whole.data(), whole.size()) != static_cast<ssize_t>(whole.size()))
        throw std::runtime_error("a program does not take its input");
}

std::optional<int> Process::exitCode(double patienceS)
{
    if (!exitCode_)
        waitFor(
            [&] {
                int status = 0;
                if (waitpid(pid_, &status, WNOHANG) != pid_)
                    return false;
                exitCode_ = WIFEXITED(status) ? WEXITSTATUS(status) : 128 + WTERMSIG(status);
                return true;
            },
            patienceS);
    return exitCode_;
}

std::vector<pid_t> childrenOf(pid_t pid)
{
    std::vector<pid_t> all;
    std::error_code gone;
    for (const auto& task :
         std::filesystem::directory_iterator("/proc/" + std::to_string(pid) + "/task", gone)) {
        std::ifstream in(task.path() / "children");
        for (pid_t child; in >> child;)
            all.push_back(child);
    }
    return all;
}

std::vector<pid_t> descendantsOf(pid_t pid)
{
    std::vector<pid_t> all = childrenOf(pid);
    for (size_t i = 0; i < all.size(); ++i)
        for (const pid_t child : childrenOf(all[i]))
            all.push_back(child);
    return all;
}

bool isAlive(pid_t pid)
{
    const std::string stat = textOf("/proc/" + std::to_string(pid) + "/stat");
    const size_t close = stat.rfind(')');
    return close != std::string::npos && close + 2 < stat.size() && stat[close + 2] != 'Z';
}

} // namespace stripwright::faults
