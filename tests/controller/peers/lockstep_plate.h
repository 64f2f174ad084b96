#pragma once

#include "child_program.h"
#include "link/plate.h"

#include <memory>
#include <poll.h>

namespace stripwright {

/// pymodbus_loop_plate.py, a process of its own at the end of a serial line, whose time goes on only by
/// advance().
class LockstepPlate {
public:
    struct Truth {
        double plateC = 0, duty = 0, setpointC = 0;
        bool cut = false; ///< By its watchdog.
    };
    struct Figures {
        double heatCapacityJPerK = 0, lossAt150W = 0, gainPerK = 0, integralS = 0;
    };

    LockstepPlate()
    {
        int ends[2];
        if (pipe2(ends, O_CLOEXEC) != 0)
            throw std::runtime_error("no pipe");
        output_ = ends[0];
        program_ = std::make_unique<ChildProgram>(
            "/usr/bin/python3",
            std::vector<std::string>{TESTS_DIR "/controller/peers/pymodbus_loop_plate.py", device()},
            ChildProgram::Environment{{"PYTHONDONTWRITEBYTECODE", "1"}}, ends[1]);
        close(ends[1]);
        answer(device());
    }
    ~LockstepPlate() { close(output_); }
    LockstepPlate(const LockstepPlate&) = delete;
    LockstepPlate& operator=(const LockstepPlate&) = delete;

    std::string device() const { return folder_ / "tty"; } ///< Our end of its line.

    static constexpr double powerW = 320, ambientC = 23, lengthMm = 100; ///< As anybody can see from outside.
    Figures figures()
    {
        Figures all;
        const std::string said = order("figures", "capacity");
        expectAll(4, said,
                  std::sscanf(said.c_str(), "capacity %lf loss %lf gain %lf integral %lf",
                              &all.heatCapacityJPerK, &all.lossAt150W, &all.gainPerK, &all.integralS));
        return all;
    }

    double timeS() const { return timeS_; }
    const Truth& truth() const { return truth_; } ///< Now.
    const Truth& advance(double seconds)
    {
        const std::string said = order("advance " + std::to_string(seconds), "plate");
        int cut = 0;
        expectAll(4, said,
                  std::sscanf(said.c_str(), "plate %lf duty %lf setpoint %lf cut %d", &truth_.plateC,
                              &truth_.duty, &truth_.setpointC, &cut));
        truth_.cut = cut != 0;
        timeS_ += seconds;
        return truth_;
    }
    /// By how much it would get warmer yet if nobody asked it anything any more; nothing happens to it.
    double warmerInSilenceK()
    {
        double riseK = 0;
        const std::string said = order("silence 20", "warmer");
        expectAll(1, said, std::sscanf(said.c_str(), "warmer %lf", &riseK));
        return riseK;
    }
    void layStrip(double plateStartMm) { order("lay " + std::to_string(plateStartMm), "laid"); }

private:
    static void expectAll(int count, const std::string& said, int found)
    {
        if (found != count)
            throw std::runtime_error("the plate said: " + said);
    }
    std::string order(const std::string& words, const std::string& answersWith)
    {
        if (!program_->say(words + "\n"))
            throw std::runtime_error("the plate takes no orders");
        return answer(answersWith);
    }
    // Its next line that begins so; libraries may say what they like in between.
    std::string answer(const std::string& begin)
    {
        constexpr int patienceMs = 60'000; // only a hang exhausts it
        for (std::string others;;) {
            for (size_t end; (end = said_.find('\n')) != std::string::npos;) {
                const std::string line = said_.substr(0, end);
                said_.erase(0, end + 1);
                if (line.starts_with(begin))
                    return line;
                others += line + "\n";
            }
            char bytes[512];
            pollfd input{output_, POLLIN, 0};
            const ssize_t got = poll(&input, 1, patienceMs) > 0 ? read(output_, bytes, sizeof bytes) : 0;
            if (got <= 0)
                throw std::runtime_error("the plate does not answer; it said: " + others + said_);
            said_.append(bytes, static_cast<size_t>(got));
        }
    }

    const ScratchFolder folder_;
    std::unique_ptr<ChildProgram> program_;
    int output_ = -1;
    std::string said_;
    Truth truth_{.plateC = ambientC};
    double timeS_ = 0;
};

/// A plate whose time stands still while it is spoken to: an answer that came late, or damaged, because the
/// machine was busy is asked for again, as if it had come in time.
class PatientPlate final : public Plate {
public:
    explicit PatientPlate(std::unique_ptr<Plate> plate) : plate_(std::move(plate)) {}
    static inline int askedAgain = 0; ///< Answers that came late or damaged, in all.

    std::optional<PlateReading> read() override
    {
        return again([&] { return plate_->read(); });
    }
    bool setDuty(double duty) override
    {
        return again([&] { return plate_->setDuty(duty); });
    }
    bool setSetpointC(double setpointC) override
    {
        return again([&] { return plate_->setSetpointC(setpointC); });
    }
    bool hasEnable() const override { return plate_->hasEnable(); }
    bool setEnable(bool on) override
    {
        return again([&] { return plate_->setEnable(on); });
    }
    bool heaterOff() override
    {
        return again([&] { return plate_->heaterOff(); });
    }
    bool hasFan() const override { return plate_->hasFan(); }
    bool setFan(bool on) override
    {
        return again([&] { return plate_->setFan(on); });
    }
    bool setStripLifted(bool lifted) override
    {
        return again([&] { return plate_->setStripLifted(lifted); });
    }
    std::string lastError() const override { return plate_->lastError(); }
    bool refusesToBeRead() const override { return plate_->refusesToBeRead(); }
    bool silent() const override { return plate_->silent(); }
    double failedShare() const override { return plate_->failedShare(); }
    double readingEveryS() const override { return plate_->readingEveryS(); }
    std::optional<double> highestC() const override { return plate_->highestC(); }

private:
    template <class Call> std::invoke_result_t<Call> again(Call call)
    {
        constexpr int mostTimes = 20;
        auto done = call();
        for (int n = 0; n < mostTimes && !done && plate_->silent(); ++n) {
            ++askedAgain;
            done = call();
        }
        return done;
    }

    std::unique_ptr<Plate> plate_;
};

} // namespace stripwright
