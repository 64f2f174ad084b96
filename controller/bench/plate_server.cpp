#include "bench/plate_server.h"

#include "link/register_codec.h"

#include <algorithm>
#include <arpa/inet.h>
#include <array>
#include <cerrno>
#include <cmath>
#include <fcntl.h>
#include <modbus.h>
#include <netinet/tcp.h>
#include <poll.h>
#include <sys/socket.h>
#include <system_error>
#include <unistd.h>

namespace stripwright {

namespace {

constexpr size_t headerBytes = 7; // transaction, protocol, length, unit
constexpr size_t mostClients = 16;

struct Client {
    int fd = -1;
    std::array<std::uint8_t, MODBUS_TCP_MAX_ADU_LENGTH> buffer{};
    size_t filled = 0;
};

int word(const std::uint8_t* bytes)
{
    return bytes[0] << 8 | bytes[1];
}

// A whole request behind its header: function code first.
struct Request {
    const std::uint8_t* pdu;
    size_t length;

    int function() const { return pdu[0]; }
    int address() const { return word(pdu + 1); }
    int count() const { return word(pdu + 3); }
};

struct Range {
    int first, count;
    bool covers(int address) const { return address >= first && address < first + count; }
};

} // namespace

struct PlateServer::Work {
    SimulatedPlate& plate;
    modbus_t* modbus = nullptr;
    modbus_mapping_t* map = nullptr;
    int listening = -1, port = 0;
    std::vector<std::unique_ptr<Client>> clients;

    explicit Work(SimulatedPlate& served) : plate(served) {}
    ~Work();
    void listen(int wantedPort);
    void accept();
    bool receive(Client& client);
    bool answerAll(Client& client);
    bool answer(Client& client, size_t length);
    int refusal(const Request& request) const;
    int writeRefusal(const Request& request) const;
    int registerRefusal(int address, int value) const;
    void show();
    void carryOut(const Request& request);
};

PlateServer::Work::~Work()
{
    for (auto& client : clients)
        ::close(client->fd);
    if (listening >= 0)
        ::close(listening);
    modbus_mapping_free(map);
    modbus_free(modbus);
}

void PlateServer::Work::listen(int wantedPort)
{
    modbus = modbus_new_tcp("127.0.0.1", wantedPort);
    map = modbus_mapping_new(registers::coilCount, 0, registers::holdingCount, registers::inputCount);
    if (!modbus || !map)
        throw std::system_error(ENOMEM, std::generic_category());
    modbus_set_response_timeout(modbus, 0, 1); // what libmodbus sleeps before some refusals
    listening = modbus_tcp_listen(modbus, 8);
    if (listening < 0)
        throw std::system_error(errno, std::generic_category());
    fcntl(listening, F_SETFL, O_NONBLOCK);
    sockaddr_in bound{};
    socklen_t size = sizeof bound;
    getsockname(listening, reinterpret_cast<sockaddr*>(&bound), &size);
    port = ntohs(bound.sin_port);
    if (bound.sin_addr.s_addr != htonl(INADDR_LOOPBACK))
        throw std::system_error(EADDRNOTAVAIL, std::generic_category(), "not bound to 127.0.0.1");
}

void PlateServer::Work::accept()
{
    for (;;) {
        const int fd = ::accept4(listening, nullptr, nullptr, SOCK_NONBLOCK | SOCK_CLOEXEC);
        if (fd < 0)
            return;
        if (clients.size() == mostClients) {
            ::close(fd);
            continue;
        }
        const int on = 1;
        setsockopt(fd, IPPROTO_TCP, TCP_NODELAY, &on, sizeof on);
        clients.push_back(std::make_unique<Client>());
        clients.back()->fd = fd;
    }
}

// False: the client is gone or speaks something else, and is dropped.
bool PlateServer::Work::receive(Client& client)
{
    for (;;) {
        const ssize_t got =
            ::recv(client.fd, client.buffer.data() + client.filled, client.buffer.size() - client.filled, 0);
        if (got > 0) {
            client.filled += static_cast<size_t>(got);
            if (!answerAll(client))
                return false;
        } else {
            return got < 0 && (errno == EAGAIN || errno == EWOULDBLOCK || errno == EINTR);
        }
    }
}

bool PlateServer::Work::answerAll(Client& client)
{
    while (client.filled >= headerBytes) {
        const int protocol = word(client.buffer.data() + 2), length = word(client.buffer.data() + 4);
        if (protocol != 0 || length < 2 || static_cast<size_t>(length) + 6 > client.buffer.size())
            return false;
        const size_t whole = static_cast<size_t>(length) + 6;
        if (client.filled < whole)
            return true;
        if (!answer(client, whole))
            return false;
        std::copy(client.buffer.begin() + static_cast<long>(whole),
                  client.buffer.begin() + static_cast<long>(client.filled), client.buffer.begin());
        client.filled -= whole;
    }
    return true;
}

// 0, or the exception code the request deserves.
int PlateServer::Work::refusal(const Request& request) const
{
    size_t needed = 5;
    switch (request.function()) {
    case MODBUS_FC_READ_COILS:
    case MODBUS_FC_READ_DISCRETE_INPUTS:
    case MODBUS_FC_READ_HOLDING_REGISTERS:
    case MODBUS_FC_READ_INPUT_REGISTERS:
    case MODBUS_FC_WRITE_SINGLE_COIL:
    case MODBUS_FC_WRITE_SINGLE_REGISTER:
        break;
    case MODBUS_FC_WRITE_MULTIPLE_COILS:
    case MODBUS_FC_WRITE_MULTIPLE_REGISTERS:
        if (request.length < 6)
            return MODBUS_EXCEPTION_ILLEGAL_DATA_VALUE;
        needed = 6u + request.pdu[5];
        break;
    default:
        return MODBUS_EXCEPTION_ILLEGAL_FUNCTION;
    }
    if (request.length != needed)
        return MODBUS_EXCEPTION_ILLEGAL_DATA_VALUE;
    return writeRefusal(request);
}

int PlateServer::Work::writeRefusal(const Request& request) const
{
    switch (request.function()) {
    case MODBUS_FC_WRITE_SINGLE_REGISTER:
        return registerRefusal(request.address(), request.count());
    case MODBUS_FC_WRITE_SINGLE_COIL:
        return request.count() == 0 || request.count() == 0xff00 ? 0 : MODBUS_EXCEPTION_ILLEGAL_DATA_VALUE;
    case MODBUS_FC_WRITE_MULTIPLE_COILS:
        return request.count() >= 1 && request.pdu[5] == (request.count() + 7) / 8
                   ? 0
                   : MODBUS_EXCEPTION_ILLEGAL_DATA_VALUE;
    case MODBUS_FC_WRITE_MULTIPLE_REGISTERS:
        if (request.count() < 1 || request.pdu[5] != 2 * request.count())
            return MODBUS_EXCEPTION_ILLEGAL_DATA_VALUE;
        for (int i = 0; i < request.count(); ++i)
            if (const int code = registerRefusal(request.address() + i, word(request.pdu + 6 + 2 * i)))
                return code;
        return 0;
    default:
        return 0;
    }
}

int PlateServer::Work::registerRefusal(int address, int value) const
{
    const bool byDuty = plate.drive() == DriveKind::Duty;
    int lowest = 0, highest = 0;
    if (address == registers::duty && byDuty)
        highest = 10000;
    else if (address == registers::setpoint && !byDuty)
        highest = static_cast<int>(SimulatedPlate::setpointMaxC * 10);
    else if (address == registers::watchdog)
        lowest = 5, highest = 600;
    else
        return MODBUS_EXCEPTION_ILLEGAL_DATA_ADDRESS;
    return value >= lowest && value <= highest ? 0 : MODBUS_EXCEPTION_ILLEGAL_DATA_VALUE;
}

// Puts what the plate shows into the registers.
void PlateServer::Work::show()
{
    const PlateReading reading = plate.shown();
    const auto raw = [](double value) { return static_cast<std::uint16_t>(std::lround(value)); };
    map->tab_input_registers[registers::sensor] = static_cast<std::uint16_t>(
        reading.sensorFault ? registers::noSensorRaw : std::lround(reading.sensorC * 10));
    map->tab_input_registers[registers::status] =
        static_cast<std::uint16_t>((reading.sensorFault ? registers::sensorFaultBit : 0) |
                                   (reading.watchdogTripped ? registers::watchdogTrippedBit : 0));
    map->tab_input_registers[registers::counter] = static_cast<std::uint16_t>(reading.counter.value_or(0));
    map->tab_input_registers[registers::applied] = raw(plate.dutyApplied() * 10000);
    for (int i = 0; i < reading.extraCount; ++i)
        encodeRaw(reading.extraC[static_cast<size_t>(i)], RegisterType::Float32, WordOrder::ABCD,
                  map->tab_input_registers + registers::truth + 2 * i);
    map->tab_registers[registers::duty] = raw(plate.dutyCommand() * 10000);
    map->tab_registers[registers::setpoint] = raw(plate.setpointC() * 10);
    map->tab_registers[registers::watchdog] = raw(plate.watchdogSeconds() * 10);
    map->tab_bits[registers::fan] = plate.fanOn();
    map->tab_bits[registers::stripLifted] = plate.stripLifted();
}

// Hands what a write left in the registers to the plate.
void PlateServer::Work::carryOut(const Request& request)
{
    const int function = request.function();
    const bool one = function == MODBUS_FC_WRITE_SINGLE_REGISTER || function == MODBUS_FC_WRITE_SINGLE_COIL;
    const Range written{request.address(), one ? 1 : request.count()};
    if (function == MODBUS_FC_WRITE_SINGLE_REGISTER || function == MODBUS_FC_WRITE_MULTIPLE_REGISTERS) {
        if (written.covers(registers::duty))
            plate.setDuty(map->tab_registers[registers::duty] / 10000.0);
        if (written.covers(registers::setpoint))
            plate.setSetpointC(map->tab_registers[registers::setpoint] / 10.0);
        if (written.covers(registers::watchdog))
            plate.setWatchdogSeconds(map->tab_registers[registers::watchdog] / 10.0);
    } else if (function == MODBUS_FC_WRITE_SINGLE_COIL || function == MODBUS_FC_WRITE_MULTIPLE_COILS) {
        if (written.covers(registers::fan))
            plate.setFan(map->tab_bits[registers::fan] != 0);
        if (written.covers(registers::stripLifted))
            plate.setStripLifted(map->tab_bits[registers::stripLifted] != 0);
    }
}

bool PlateServer::Work::answer(Client& client, size_t length)
{
    if (plate.has(Fault::Silent))
        return true;
    // A copy of full length: libmodbus reads as far as the counts in the request say.
    std::array<std::uint8_t, MODBUS_TCP_MAX_ADU_LENGTH> bytes{};
    std::copy_n(client.buffer.begin(), length, bytes.begin());
    const Request request{bytes.data() + headerBytes, length - headerBytes};
    modbus_set_socket(modbus, client.fd);

    const int code = bytes[6] != registers::unit ? MODBUS_EXCEPTION_GATEWAY_TARGET : refusal(request);
    if (code)
        return modbus_reply_exception(modbus, bytes.data(), static_cast<unsigned>(code)) > 0;
    show();
    const int sent = modbus_reply(modbus, bytes.data(), static_cast<int>(length), map);
    const bool refused = sent == static_cast<int>(headerBytes) + 2; // shortest answer there is: an exception
    if (sent > 0 && !refused) {
        plate.read(); // feeds the watchdog
        carryOut(request);
    }
    return sent > 0;
}

PlateServer::PlateServer(SimulatedPlate& plate, int port) : work_(std::make_unique<Work>(plate))
{
    work_->listen(port);
}

PlateServer::~PlateServer() = default;

int PlateServer::port() const
{
    return work_->port;
}

int PlateServer::clientCount() const
{
    return static_cast<int>(work_->clients.size());
}

bool PlateServer::serve(int timeoutMs, int alsoWake)
{
    std::vector<pollfd> waits = {{work_->listening, POLLIN, 0}, {alsoWake, POLLIN, 0}};
    for (const auto& client : work_->clients)
        waits.push_back({client->fd, POLLIN, 0});
    if (::poll(waits.data(), waits.size(), timeoutMs) <= 0)
        return false;
    for (size_t i = 2; i < waits.size(); ++i) {
        auto& client = work_->clients[i - 2];
        if (waits[i].revents && !work_->receive(*client)) {
            ::close(client->fd);
            client.reset();
        }
    }
    std::erase(work_->clients, nullptr);
    if (waits[0].revents)
        work_->accept();
    return waits[1].revents != 0;
}

} // namespace stripwright
