#pragma once

#include "link/plate_link.h"

#include <atomic>
#include <chrono>
#include <cstdint>
#include <map>
#include <mutex>
#include <thread>
#include <vector>

namespace stripwright {

/// Modbus RTU devices at the far end of a pseudo-terminal for tests, with a framing of their own (libmodbus's
/// server loses its own requests) and misbehaviour on demand. They carry out and answer one request after the
/// other, in order, as real ones do. Every unit has four tables of 140 entries from address 0.
class SerialDevice {
public:
    explicit SerialDevice(std::vector<int> units = {1});
    ~SerialDevice();

    const std::string& path() const { return path_; }
    SerialLine line(int baud = 115200) const
    {
        return {.device = path_, .baud = baud, .frame = SerialFrame::F8N1, .turnroundS = 0.03};
    }

    // Misbehaviour, each until taken back unless it says once.
    std::atomic<bool> silent{false};          ///< Requests are carried out, not answered.
    std::atomic<bool> tricklesAnswers{false}; ///< One byte in 100 ms.
    std::atomic<bool> ignoresWrites{false}, wrongEcho{false}, echoesRequests{false};
    std::atomic<int> delayOnceMs{0}; ///< Before the next answer, which is made when its request comes.
    std::atomic<int> exception{0};   ///< Code that answers every request.
    std::atomic<int> exceptions{-1}; ///< How many times `exception` still answers; below 0: always.
    std::atomic<int> missing{-1};    ///< Register that does not exist: reads that touch it get exception 02.
    std::atomic<int> answersAs{0};   ///< Unit in the answers; 0: the one asked.
    std::atomic<bool> garblesAnswers{false};
    std::atomic<int> deadUnit{0};    ///< A unit that has no power.
    std::atomic<int> noiseBefore{0}; ///< Bytes of 0 before the next answer, once.

    void say(const std::vector<std::uint8_t>& bytes); ///< At once, asked or not.

    int get(int unit, RegisterTable table, int address);
    void set(int unit, RegisterTable table, int address, int value);

    std::atomic<int> requests{0};
    /// Shortest and longest time from the end of an answer to the first byte of the next request.
    double shortestGapS(), longestGapS();
    void forgetGaps();
    std::vector<int> askedUnits(); ///< Of every request, in order.

private:
    using Clock = std::chrono::steady_clock;
    void run();
    size_t requestLength() const;
    void answer(const std::vector<std::uint8_t>& request);
    std::vector<std::uint8_t> carryOut(const std::vector<std::uint8_t>& request);
    void send(const std::vector<std::uint8_t>& frame);

    std::string path_;
    int master_ = -1, slave_ = -1, wake_[2];
    std::mutex mutex_;
    std::map<int, std::vector<std::vector<std::uint16_t>>> memory_; // by unit, by table
    std::vector<std::uint8_t> input_;
    std::vector<double> gapsS_;
    std::vector<int> askedUnits_;
    Clock::time_point answered_;
    bool hasAnswered_ = false;
    std::thread thread_;
};

} // namespace stripwright
