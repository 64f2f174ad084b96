#pragma once

#include <filesystem>
#include <functional>
#include <map>
#include <optional>
#include <string>
#include <sys/types.h>
#include <vector>

namespace stripwright::faults {

double nowS(); ///< Of the monotonic clock, as in the plate's trace.

/// Asks every few milliseconds. False: not within that time.
bool waitFor(const std::function<bool()>& condition, double patienceS);

std::string textOf(const std::filesystem::path& file);

/// A program of this build with its output and errors in files, its input an open pipe.
class Process {
public:
    Process(const std::string& program, std::vector<std::string> arguments,
            const std::filesystem::path& folder, const std::map<std::string, std::string>& environment = {});
    ~Process(); ///< Kills it.
    Process(const Process&) = delete;
    Process& operator=(const Process&) = delete;

    pid_t pid() const { return pid_; }
    void say(const std::string& line); ///< On its standard input.
    std::string output() const { return textOf(output_); }
    std::string errors() const { return textOf(errors_); }
    std::optional<int> exitCode(double patienceS = 0); ///< 128 + signal if it was killed.

private:
    std::filesystem::path output_, errors_;
    pid_t pid_ = 0;
    int input_ = -1;
    std::optional<int> exitCode_;
};

std::vector<pid_t> childrenOf(pid_t pid);
std::vector<pid_t> descendantsOf(pid_t pid); ///< Children before theirs.
bool isAlive(pid_t pid);                     ///< Neither gone nor a zombie.

} // namespace stripwright::faults
