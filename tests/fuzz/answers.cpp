#include "fuzzed.h"
#include "link/modbus_plate.h"

#include <cmath>
#include <netinet/in.h>
#include <poll.h>
#include <sys/socket.h>
#include <thread>
#include <unistd.h>

using namespace stripwright;

namespace {

/// A device on a loopback connection that answers every request with the next piece of what it is given: a length,
/// and so many bytes. Where `lawful` is set, the header of the request comes first, so that the rest is looked at.
class OddDevice {
public:
    OddDevice()
    {
        listening_ = socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);
        sockaddr_in address{};
        address.sin_family = AF_INET;
        address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
        socklen_t length = sizeof address;
        if (bind(listening_, reinterpret_cast<sockaddr*>(&address), length) != 0 || listen(listening_, 8) != 0 ||
            getsockname(listening_, reinterpret_cast<sockaddr*>(&address), &length) != 0)
            std::abort();
        port_ = ntohs(address.sin_port);
    }
    int port() const { return port_; }

    void serve(const std::uint8_t* data, size_t size)
    {
        const int client = accept4(listening_, nullptr, nullptr, SOCK_CLOEXEC);
        const bool lawful = size > 0 && (data[0] & 1);
        for (size_t at = 1; client >= 0 && at < size;) {
            std::uint8_t request[300];
            const ssize_t asked = recv(client, request, sizeof request, 0);
            if (asked <= 0)
                break;
            const size_t count = std::min<size_t>(data[at], size - at - 1);
            std::string answer;
            if (lawful && asked >= 8) {
                answer.assign(reinterpret_cast<char*>(request), 8);
                answer[4] = 0;
                answer[5] = static_cast<char>(count + 2);
            }
            answer.append(reinterpret_cast<const char*>(data) + at + 1, count);
            if (send(client, answer.data(), answer.size(), MSG_NOSIGNAL) < 0)
                break;
            at += count + 1;
        }
        close(client);
    }

private:
    int listening_ = -1, port_ = 0;
};

PlateLink linkTo(int port)
{
    const auto field = [](RegisterTable table, int address) {
        return RegisterField{.table = table, .address = address, .type = RegisterType::Int16, .scale = 0.1};
    };
    PlateLink link;
    link.host = "127.0.0.1";
    link.port = port;
    link.sensor = field(RegisterTable::Input, 0);
    link.status = field(RegisterTable::Input, 1);
    link.counter = field(RegisterTable::Input, 2);
    link.duty = field(RegisterTable::Holding, 0);
    link.watchdogS = field(RegisterTable::Holding, 1);
    link.enable = RegisterField{.table = RegisterTable::Coil, .address = 0};
    return link;
}

} // namespace

// Whatever a device answers, a reading is a number in its range or none, and "off" is only what was read back.
extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, size_t size)
{
    static OddDevice device;
    static const PlateLink link = linkTo(device.port());
    std::thread serving([&] { device.serve(data, size); });
    {
        constexpr double shortS = 0.01;
        ModbusPlate plate(link, shortS, shortS);
        plate.openLine(0.2);
        for (int n = 0; n < 3; ++n)
            if (const auto reading = plate.read(); reading && !reading->sensorFault)
                if (!std::isfinite(reading->sensorC) || reading->sensorC < link.sensorMinC ||
                    reading->sensorC > link.sensorMaxC)
                    std::abort();
        plate.setDuty(0.5);
        plate.heaterOff();
    }
    serving.join();
    return 0;
}
