#pragma once

#include "bench/rtu_server.h"
#include "bench/tcp_server.h"
#include "scratch_folder.h"
#include "test_sheet.h"

#include <thread>
#include <unistd.h>

namespace stripwright {

/// A simulated plate that a thread serves, over TCP or on a pseudo-terminal; plant time goes on by one step
/// for each round of requests. options.drive and `map` say how it shows itself.
class ServedPlate {
public:
    explicit ServedPlate(const SimulatedPlateOptions& options = {}, const std::string& map = "plain",
                         std::optional<RtuServer::Settings> rtu = {})
        : map_(*plateMap(map, options.drive)), plate_(testSheet(), fitted(options, map_)),
          device_(plate_, map_)
    {
        if (rtu)
            server_ = std::make_unique<RtuServer>(device_, scratch_ / "plate", *rtu);
        else
            server_ = std::make_unique<TcpServer>(device_, 0);
        if (pipe(stop_) != 0)
            throw std::runtime_error("no pipe");
        thread_ = std::thread([this] {
            while (!server_->serve(1000, stop_[0]))
                plate_.advance(SimulatedPlate::stepS);
        });
    }
    ~ServedPlate() { end(); }

    void end()
    {
        if (!thread_.joinable())
            return;
        ::close(stop_[1]);
        thread_.join();
        ::close(stop_[0]);
    }
    int port() const { return dynamic_cast<const TcpServer&>(*server_).port(); }
    std::string tty() const { return scratch_ / "plate"; }
    PlateLink link() const { return linkTo(device_, *server_); }
    SimulatedPlate& plate() ///< Ends the thread.
    {
        end();
        return plate_;
    }

private:
    static SimulatedPlateOptions fitted(SimulatedPlateOptions options, const PlateMap& map)
    {
        fitTo(options, map);
        return options;
    }

    ScratchFolder scratch_;
    PlateMap map_;
    SimulatedPlate plate_;
    RegisterDevice device_;
    std::unique_ptr<PlateServer> server_;
    int stop_[2];
    std::thread thread_;
};

} // namespace stripwright
