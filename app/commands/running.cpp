#include "commands/commands.h"

#include "commands/controller_line.h"
#include "messages/wire_names.h"

#include <nlohmann/json.hpp>

#include <algorithm>
#include <cmath>
#include <csignal>
#include <iostream>
#include <random>
#include <thread>

namespace stripwright {

using namespace std::chrono_literals;
using Clock = std::chrono::steady_clock;

static constexpr auto answerWithin = 1s, stopWithin = 2s, endWithin = 12s;

static std::string whatToDo(const RunningController& guardian)
{
    const std::string number = std::to_string(guardian.pid);
    return "pull the mains plug of the plate, then kill -TERM " + number + " twice";
}

// The heat's own guardian, if it has been left alone with it meanwhile.
static std::string orItsGuardian(const RunningController& controller)
{
    for (const RunningController& one : runningHeats())
        if (one.goesOnAlone() && one.plate == controller.plate)
            return "Its guardian, process " + std::to_string(one.pid) +
                   ", goes on sending it: " + whatToDo(one) + ".\n";
    return "Switch the plate off at the mains.\n";
}

std::string inWords(const RunningController& controller, const std::optional<Status>& status)
{
    std::string line = "process " + std::to_string(controller.pid) + ": " + controller.plate + ", since " +
                       controller.startedUtc;
    if (controller.goesOnAlone())
        return line + ", a guardian on its own: heater off is sent again and again, and NOT confirmed: " +
               whatToDo(controller);
    if (!controller.work.empty())
        return line + ", " + controller.work + ": the plate is heated";
    if (!status)
        return line + ", does not answer";
    const bool heatsUnasked = status->trip && status->trip->causeSeen && status->state == RunState::Cooling;
    line += std::string(", ") + (heatsUnasked ? "NOT cooling as it should" : inWords(status->state));
    if (!status->runKey.empty())
        line += ", run " + status->runKey;
    line += ", plate " + (status->sensorC ? std::to_string(std::lround(*status->sensorC)) + " °C"
                                          : std::string("unknown"));
    line += std::string(", ") + (heatsUnasked ? "heater off sent" : inWords(status->heater));
    if (status->trip)
        line += ", tripped: " + status->trip->text;
    return line;
}

static nlohmann::ordered_json inJson(const RunningController& controller, const std::optional<Status>& status)
{
    using nlohmann::ordered_json;
    const auto orNull = [](const std::string& text) {
        return text.empty() ? ordered_json() : ordered_json(text);
    };
    return {{"process", controller.pid},
            {"plate", controller.plate},
            {"plate_link", orNull(controller.plateLink)},
            {"simulated", controller.simulated},
            {"runs", orNull(controller.runsFile)},
            {"started_utc", controller.startedUtc},
            {"work", orNull(controller.work)},
            {"answers", status.has_value()},
            {"state", orNull(status ? wireName(status->state) : "")},
            {"heater", orNull(status ? wireName(status->heater) : "")},
            {"plate_C", status && status->sensorC ? ordered_json(*status->sensorC) : ordered_json()},
            {"run", orNull(status ? status->runKey : "")},
            {"trip", orNull(status && status->trip ? status->trip->text : "")}};
}

static std::optional<Status> statusOf(const RunningController& controller)
{
    ControllerLine line(controller.socket);
    return line.hearStatus(Clock::now() + answerWithin);
}

int carryOut(const RunningCommand& command)
{
    auto list = nlohmann::ordered_json::array();
    for (const RunningController& controller : runningHeats()) {
        const auto status = statusOf(controller);
        if (command.json)
            list.push_back(inJson(controller, status));
        else
            std::cout << inWords(controller, status) << '\n';
    }
    if (command.json)
        std::cout << nlohmann::ordered_json{{"format", "stripwright-running"},
                                            {"version", 1},
                                            {"controllers", list}}
                         .dump(2)
                  << '\n';
    return exitOk;
}

MeantController meantController(const std::vector<RunningController>& running,
                                const std::optional<int>& process, const std::string& command)
{
    if (running.empty()) {
        std::cerr << command << ": no controller of this user runs on this machine\n";
        return {{}, exitPlateNotReachable};
    }
    for (const RunningController& one : running)
        if (process ? one.pid == *process : running.size() == 1)
            return {one, exitOk};
    std::cerr << command << ": "
              << (process ? "found no controller with process number " + std::to_string(*process)
                          : "found " + std::to_string(running.size()) + " controllers")
              << ", expected the number of one of these:\n";
    for (const RunningController& one : running)
        std::cerr << "  " << one.pid << "  " << one.plate << ", since " << one.startedUtc << '\n';
    return {{}, process ? exitPlateNotReachable : exitUsage};
}

static bool isOff(const Status& status)
{
    return status.heater == HeaterState::OffConfirmed && status.state != RunState::Running &&
           status.state != RunState::Holding;
}

// The process ends on SIGTERM by turning the heat off first. What it says last is what counts.
static int endController(const RunningController& controller, ControllerLine& line)
{
    kill(controller.pid, SIGTERM);
    bool off = false;
    for (const auto until = Clock::now() + endWithin;
         lookAt(controller) == EntryState::Held && Clock::now() < until;) {
        if (const auto status = line.hearStatus(Clock::now() + 100ms))
            off = isOff(*status);
        else if (!line.isOpen())
            std::this_thread::sleep_for(100ms);
    }
    if (off) {
        std::cerr << "Heater off, read back; the process has been asked to end.\n";
        return exitOk;
    }
    std::cerr << "\"Heater off\" is NOT confirmed, though process " << controller.pid
              << (lookAt(controller) == EntryState::Held ? " was asked to end and goes on. " : " has ended. ")
              << orItsGuardian(controller);
    return exitInternalFailure;
}

// Nobody to talk to: its guardian lets it end only with the heater read back off, or goes on trying.
static int endWork(const RunningController& controller)
{
    std::cerr << controller.plate << ": process " << controller.pid << ", " << controller.work
              << ", is asked to end.\n";
    kill(controller.pid, SIGTERM);
    for (const auto until = Clock::now() + endWithin;
         lookAt(controller) == EntryState::Held && Clock::now() < until;)
        std::this_thread::sleep_for(50ms);
    const EntryState now = lookAt(controller);
    if (now == EntryState::Ended) {
        std::cerr << controller.plate << ": heater off; the process has ended, which it does only then.\n";
        return exitOk;
    }
    std::cerr << "\"Heater off\" is NOT confirmed: process " << controller.pid
              << (now == EntryState::Held ? " was asked to end and goes on. " : " was killed. ")
              << orItsGuardian(controller);
    return exitInternalFailure;
}

// It sends nothing but "heater off" already, and a second signal would end it.
static int waitForGuardian(const RunningController& guardian)
{
    std::cerr << guardian.plate << ": process " << guardian.pid
              << ", a guardian on its own, goes on sending heater off.\n";
    for (const auto until = Clock::now() + stopWithin;
         lookAt(guardian) == EntryState::Held && Clock::now() < until;)
        std::this_thread::sleep_for(50ms);
    const EntryState now = lookAt(guardian);
    if (now == EntryState::Ended) {
        std::cerr << guardian.plate << ": heater off, read back.\n";
        return exitOk;
    }
    std::cerr << "\"Heater off\" is NOT confirmed: "
              << (now == EntryState::Held ? whatToDo(guardian)
                                          : "the guardian has ended; pull the mains plug of the plate")
              << ".\n";
    return exitInternalFailure;
}

int stopController(const RunningController& controller)
{
    if (controller.goesOnAlone())
        return waitForGuardian(controller);
    if (controller.socket.empty())
        return endWork(controller);
    ControllerLine line(controller.socket);
    // Of this command alone: another's stop is no answer to this one.
    const long id = 1 + std::random_device()() % 1'000'000'000L;
    line.say(StopHeating{id});
    bool taken = false; // once seen: a later stop of somebody else takes its place in the statuses
    for (const auto until = Clock::now() + stopWithin;;) {
        const auto status = line.hearStatus(until);
        if (!status)
            break;
        taken = taken || status->stopTaken == id;
        if (!taken || !isOff(*status))
            continue;
        std::cerr << controller.plate << ": heater off, read back.\n";
        if (status->trip)
            std::cerr << "Tripped: " << status->trip->text << '\n';
        return exitOk;
    }
    std::cerr << controller.plate << ": \"heater off\" is not confirmed within 2 s; process "
              << controller.pid << " is asked to end.\n";
    return endController(controller, line);
}

int carryOut(const StopCommand& command)
{
    const MeantController meant = meantController(runningHeats(), command.process, "stop");
    return meant.controller ? stopController(*meant.controller) : meant.code;
}

} // namespace stripwright
