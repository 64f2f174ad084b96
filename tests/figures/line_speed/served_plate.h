#pragma once

#include "bench/plate_clock.h"
#include "bench/rtu_server.h"
#include "bench/tcp_server.h"
#include "demo_sheet.h"
#include "scratch_folder.h"

#include <pthread.h>
#include <sys/eventfd.h>
#include <thread>
#include <unistd.h>

namespace stripwright {

/// A simulated plate with enough channels for long reads, served by a thread of its own on the clock's time
/// as stripwright-plate does.
class ServedPlate {
public:
    explicit ServedPlate(std::optional<RtuServer::Settings> rtu = {})
        : plate_(sheetWithEverySiteMarked()), device_(plate_, *plateMap("plain", DriveKind::Duty))
    {
        if (rtu)
            server_ = std::make_unique<RtuServer>(device_, scratch_ / "plate", *rtu);
        else
            server_ = std::make_unique<TcpServer>(device_, 0);
        thread_ = std::thread([this] {
            sched_param first{.sched_priority = 20};
            pthread_setschedparam(pthread_self(), SCHED_FIFO, &first); // no wire waits for a processor
            PlateClock clock(1);
            while (!server_->serve(clock.waitMs(plate_.timeS()), stop_))
                if (clock.isDue(plate_.timeS()))
                    plate_.advance(SimulatedPlate::stepS);
        });
    }
    ~ServedPlate()
    {
        eventfd_write(stop_, 1);
        thread_.join();
        ::close(stop_);
    }
    PlateLink link() const { return linkTo(device_, *server_); }

private:
    static BenchSheet sheetWithEverySiteMarked()
    {
        BenchSheet sheet = test::shippedSheet("marram-lane-bar-7.bench.json");
        for (SiteOnBench& site : sheet.sites)
            site.state = SiteState::Replace;
        return sheet;
    }

    ScratchFolder scratch_;
    SimulatedPlate plate_;
    RegisterDevice device_;
    std::unique_ptr<PlateServer> server_;
    const int stop_ = eventfd(0, EFD_CLOEXEC);
    std::thread thread_;
};

} // namespace stripwright
