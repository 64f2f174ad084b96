#pragma once

#include "link/plate.h"

#include <atomic>
#include <chrono>
#include <functional>
#include <mutex>
#include <thread>
#include <vector>

namespace stripwright::test {

inline double nowS()
{
    return std::chrono::duration<double>(std::chrono::steady_clock::now().time_since_epoch()).count();
}

/// A plate for real threads: says what it is told, and keeps when it was turned off and read.
class StubPlate : public Plate {
public:
    std::atomic<double> sensorC = 25, risingCPerS = 0;
    std::atomic<bool> answers = true;
    std::atomic<int> readTakesMs = 0;
    std::atomic<long> reads = 0;

    std::optional<PlateReading> read() override
    {
        {
            const std::lock_guard lock(mutex_);
            readS_.push_back(nowS());
        }
        ++reads;
        if (readTakesMs > 0)
            std::this_thread::sleep_for(std::chrono::milliseconds(readTakesMs));
        if (!answers)
            return {};
        PlateReading reading;
        reading.sensorC = sensorC + risingCPerS * (nowS() - bornS_);
        reading.duty = duty_;
        reading.counter = static_cast<unsigned>(reads);
        return reading;
    }
    bool setDuty(double duty) override
    {
        duty_ = duty;
        return answers;
    }
    bool setSetpointC(double) override { return answers; }
    bool heaterOff() override
    {
        const std::lock_guard lock(mutex_);
        duty_ = 0;
        offS_.push_back(nowS());
        return answers;
    }
    bool setFan(bool) override { return true; }
    bool setStripLifted(bool) override { return true; }
    std::string lastError() const override { return answers ? "" : "no answer within 200 ms"; }

    double duty() const { return duty_; }
    size_t offs() const { return offTimesS().size(); }
    std::vector<double> offTimesS() const
    {
        const std::lock_guard lock(mutex_);
        return offS_;
    }
    std::vector<double> readTimesS() const
    {
        const std::lock_guard lock(mutex_);
        return readS_;
    }

private:
    const double bornS_ = nowS();
    std::atomic<double> duty_ = 0;
    mutable std::mutex mutex_;
    std::vector<double> offS_, readS_;
};

} // namespace stripwright::test
