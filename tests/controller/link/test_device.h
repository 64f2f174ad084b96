#pragma once

#include <atomic>
#include <functional>
#include <modbus.h>
#include <mutex>
#include <thread>

namespace stripwright {

/// A Modbus TCP device on a free port of 127.0.0.1 for tests: libmodbus's server in a thread, one client at a
/// time, with misbehaviour on demand. Tables have 140 entries from address 0.
class TestDevice {
public:
    TestDevice();
    ~TestDevice();

    int port() const { return port_; }

    // Misbehaviour, each until taken back.
    std::atomic<bool> silent{false}, hangsUp{false}, ignoresWrites{false}, tricklesAnswers{false};
    std::atomic<int> delayOnceMs{0};       ///< Before the next answer.
    std::atomic<int> exception{0};         ///< Code that answers every request.
    std::atomic<int> frozen{-1};           ///< Holding register that keeps its value.
    std::atomic<int> answersAs{-1};        ///< Unit in whose name reads are answered.
    std::atomic<int> wrongTransactions{0}; ///< So many of the next answers carry another transaction.
    std::atomic<int> missing{-1}; ///< Register that does not exist: reads that touch it get exception 02.

    std::atomic<int> connections{0}, requests{0};

    /// Runs `change` on the registers while no request is carried out.
    template <class Change> auto with(Change change)
    {
        std::lock_guard lock(mutex_);
        return change(*map_);
    }

    /// What else happens in it after each request, from now on.
    void meanwhile(std::function<void(modbus_mapping_t&)> happens)
    {
        std::lock_guard lock(mutex_);
        meanwhile_ = std::move(happens);
    }

private:
    void run();
    bool answer(int client);
    bool waitFor(int fd);

    std::mutex mutex_;
    std::function<void(modbus_mapping_t&)> meanwhile_;
    modbus_t* modbus_;
    modbus_mapping_t* map_;
    int listening_, port_, wake_[2];
    std::thread thread_;
};

/// A port of 127.0.0.1 where nothing listens.
int deadPort();

} // namespace stripwright
