#pragma once

#include "messages/messages.h"
#include "messages/running.h"

#include <chrono>

namespace stripwright {

/// A few words with a controller, for commands that ask one thing and go. Blocks, never beyond the time it is
/// given, and leaves the controller as it is when it goes.
class ControllerLine {
public:
    explicit ControllerLine(const std::string& socketPath);
    ~ControllerLine();
    ControllerLine(const ControllerLine&) = delete;
    ControllerLine& operator=(const ControllerLine&) = delete;

    bool isOpen() const { return socket_ >= 0; } ///< False from when nobody listens any more.
    void say(const Message& message);
    std::optional<Status> hearStatus(std::chrono::steady_clock::time_point until);

private:
    void hangUp();

    int socket_ = -1;
    std::string heard_;
};

/// The controllers of this user that are meant: the one with that process number, or, if none is named, the
/// only one. Otherwise says on standard error what there is and what is expected, and gives the exit code.
struct MeantController {
    std::optional<RunningController> controller;
    int code = 0;
};
MeantController meantController(const std::vector<RunningController>& running,
                                const std::optional<int>& process, const std::string& command);

/// Turns its heat off and waits until that was read back; if it was not within 2 s, or if it has no socket,
/// the process is asked to end, which turns the heat off too. Returns the exit code, says on standard error
/// what became of it.
int stopController(const RunningController& controller);

/// One line: process, plate, since when, and where it stands if it answers.
std::string inWords(const RunningController& controller, const std::optional<Status>& status);

} // namespace stripwright
