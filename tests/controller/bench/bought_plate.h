#pragma once

#include "bench/tcp_server.h"
#include "link/line_time.h"
#include "loop/control_loop.h"
#include "reference_plate.h"
#include "test_sheet.h"

#include <functional>
#include <gtest/gtest.h>
#include <semaphore>
#include <sys/eventfd.h>
#include <thread>
#include <unistd.h>

namespace stripwright {

/// A run of the reference plan on a simulated plate behind its registers, through the plate link that it
/// writes of itself, in virtual time: the plate goes on by one control period before each cycle.
class BoughtPlate {
public:
    explicit BoughtPlate(SimulatedPlateOptions options, const std::string& map = "plain",
                         const std::function<void(PlateLink&)>& change = {})
        : map_(*plateMap(map, options.drive)), plate_(testSheet(), fitted(options, map_)),
          device_(plate_, map_), server_(device_, 0), thread_([this] { serve(); })
    {
        link = linkTo(device_, server_);
        if (change)
            change(link);
        client = openPlate(link);
        LoopSettings settings;
        settings.drive = link.drive;
        settings.setpointFloorC = link.setpointFloorC;
        settings.periodS = usualPeriodS(link);
        settings.virtualTime = true;
        loop = std::make_unique<ControlLoop>(*client, referencePlan(), settings);
        periodS = settings.periodS;
    }
    ~BoughtPlate()
    {
        quit_ = true;
        eventfd_write(wake_, 1);
        thread_.join();
        ::close(wake_);
    }

    const CycleRecord& cycle(double lateS = 0)
    {
        advance(periodS + lateS);
        last = loop->cycle(wallS_ += periodS + lateS);
        for (int i = 0; i < last.eventCount; ++i)
            if (last.events[size_t(i)].severity == Severity::Trip && tripped.empty())
                tripped = last.events[size_t(i)].text.data();
        if (last.state == RunState::Running && last.profileS > 30 && last.sensorC) {
            const double errorK = *last.sensorC - last.expectedC;
            worstK = std::max(worstK, std::abs(errorK));
            squaresK2 += errorK * errorK;
            ++judged;
        }
        return last;
    }
    /// Cycles until the run has ended, or this is true.
    void run(const std::function<bool()>& done = {})
    {
        for (double s = 0; s < 4000 && last.state != RunState::Ended && !(done && done()); s += periodS)
            cycle();
    }
    double rmsK() const { return std::sqrt(squaresK2 / judged); }

    /// While no request is carried out.
    void change(const std::function<void(SimulatedPlate&)>& how)
    {
        how_ = how;
        eventfd_write(wake_, 1);
        done_.acquire();
    }
    double appliedNow()
    {
        double applied = -1;
        change([&](SimulatedPlate& plate) { applied = plate.dutyApplied(); });
        return applied;
    }

    PlateLink link;
    std::unique_ptr<Plate> client;
    std::unique_ptr<ControlLoop> loop;
    double periodS = 0;
    CycleRecord last;
    std::string tripped;
    double worstK = 0, squaresK2 = 0;
    int judged = 0;
    std::function<void(double applied)> each; ///< Step of the plant, in the plate's thread.

private:
    static SimulatedPlateOptions fitted(SimulatedPlateOptions options, const PlateMap& map)
    {
        fitTo(options, map);
        return options;
    }
    void advance(double seconds)
    {
        change([&](SimulatedPlate& plate) {
            for (owedS_ += seconds; owedS_ >= SimulatedPlate::stepS - 1e-9; owedS_ -= SimulatedPlate::stepS) {
                plate.advance(SimulatedPlate::stepS);
                if (each)
                    each(plate.dutyApplied());
            }
        });
    }
    void serve()
    {
        for (;;)
            if (server_.serve(1000, wake_)) {
                eventfd_t count;
                eventfd_read(wake_, &count);
                if (quit_)
                    return;
                how_(plate_);
                done_.release();
            }
    }

    PlateMap map_;
    SimulatedPlate plate_;
    RegisterDevice device_;
    TcpServer server_;
    int wake_ = eventfd(0, EFD_NONBLOCK);
    std::binary_semaphore done_{0};
    std::atomic<bool> quit_ = false;
    std::function<void(SimulatedPlate&)> how_;
    double owedS_ = 0, wallS_ = 1000;
    std::thread thread_;
};

} // namespace stripwright
