#pragma once

#include "bench/plate_server.h"
#include "bench/rtu_frame.h"
#include "bench/serial_end.h"

#include <deque>

namespace stripwright {

/// Modbus RTU on one serial line. A frame ends with 3.5 characters of silence; requests for units that are
/// not there, and what is no frame, are passed over in silence; broadcasts are obeyed and not answered. On a
/// pseudo-terminal, where bytes take no time, requests count as long as they would on a wire and answers are
/// sent out byte by byte at the baud rate.
class RtuServer final : public PlateServer {
public:
    struct Settings {
        int baud = 19200; ///< One of serialEndBauds().
        SerialFrame frame = SerialFrame::F8E1;
        double turnaroundS = 0;
    };

    /// Throws std::runtime_error with what to do.
    RtuServer(RegisterDevice& device, const std::string& path, const Settings& settings);
    ~RtuServer() override;

    bool serve(int timeoutMs, int alsoWake = -1) override;
    bool hasClients() const override; ///< Somebody asked for something within the last second.
    std::string place() const override { return end_.path(); }
    void putInto(PlateLink& link) const override;

private:
    struct Sending {
        double startS;
        std::vector<std::uint8_t> bytes;
        double byteS; // from one byte to the next
        size_t sent = 0;
    };

    double nextDueS() const;
    void receive();
    void endFrame(double nowS);
    void take(double endS);
    void send(double nowS);

    RegisterDevice& device_;
    const RtuTiming timing_;
    SerialEnd end_;
    int timer_ = -1;
    std::vector<std::uint8_t> received_;
    double askedS_ = -1e9;
    double receivedS_ = 0; // when the last byte received has left the wire
    std::deque<Sending> sending_;
};

} // namespace stripwright
