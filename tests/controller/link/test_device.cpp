#include "test_device.h"

#include <arpa/inet.h>
#include <array>
#include <chrono>
#include <cstring>
#include <poll.h>
#include <stdexcept>
#include <sys/socket.h>
#include <unistd.h>
#include <vector>

namespace stripwright {

static int portOf(int socket)
{
    sockaddr_in bound{};
    socklen_t size = sizeof bound;
    getsockname(socket, reinterpret_cast<sockaddr*>(&bound), &size);
    return ntohs(bound.sin_port);
}

int deadPort()
{
    modbus_t* modbus = modbus_new_tcp("127.0.0.1", 0);
    const int socket = modbus_tcp_listen(modbus, 1);
    const int port = portOf(socket);
    ::close(socket);
    modbus_free(modbus);
    return port;
}

TestDevice::TestDevice()
    : modbus_(modbus_new_tcp("127.0.0.1", 0)), map_(modbus_mapping_new(140, 140, 140, 140))
{
    listening_ = modbus_tcp_listen(modbus_, 4);
    if (listening_ < 0 || pipe(wake_) != 0)
        throw std::runtime_error("the test device cannot listen");
    port_ = portOf(listening_);
    thread_ = std::thread([this] { run(); });
}

TestDevice::~TestDevice()
{
    ::close(wake_[1]);
    thread_.join();
    ::close(wake_[0]);
    ::close(listening_);
    modbus_mapping_free(map_);
    modbus_free(modbus_);
}

// False once the test is over.
bool TestDevice::waitFor(int fd)
{
    pollfd waits[] = {{fd, POLLIN, 0}, {wake_[0], POLLIN, 0}};
    ::poll(waits, 2, -1);
    return waits[1].revents == 0;
}

void TestDevice::run()
{
    while (waitFor(listening_)) {
        const int client = ::accept(listening_, nullptr, nullptr);
        ++connections;
        while (waitFor(client) && answer(client)) {
        }
        ::close(client);
    }
}

bool TestDevice::answer(int client)
{
    std::array<std::uint8_t, MODBUS_TCP_MAX_ADU_LENGTH> query{};
    modbus_set_socket(modbus_, client);
    const int length = modbus_receive(modbus_, query.data());
    if (length <= 0)
        return false;
    ++requests;
    if (hangsUp)
        return false;
    if (silent)
        return true;
    if (const int delay = delayOnceMs.exchange(0))
        std::this_thread::sleep_for(std::chrono::milliseconds(delay));
    if (const int code = exception)
        return modbus_reply_exception(modbus_, query.data(), static_cast<unsigned>(code)) > 0;
    const int function = query[7], address = query[8] << 8 | query[9], count = query[10] << 8 | query[11];
    const bool reads = function <= 4;
    if (reads && answersAs >= 0)
        query[6] = static_cast<std::uint8_t>(answersAs);
    if (wrongTransactions > 0) {
        --wrongTransactions;
        query[1] ^= 0x55;
    }
    if (reads && missing >= address && missing < address + count)
        return modbus_reply_exception(modbus_, query.data(), MODBUS_EXCEPTION_ILLEGAL_DATA_ADDRESS) > 0;
    if (reads && tricklesAnswers) {
        const std::uint8_t head[] = {query[0], query[1], 0, 0, 0, static_cast<std::uint8_t>(3 + 2 * count),
                                     query[6]};
        for (std::uint8_t byte : head) {
            if (::send(client, &byte, 1, MSG_NOSIGNAL) != 1)
                return false;
            std::this_thread::sleep_for(std::chrono::milliseconds(50));
        }
        return true;
    }
    std::lock_guard lock(mutex_);
    const std::vector<std::uint16_t> registers(map_->tab_registers, map_->tab_registers + map_->nb_registers);
    const std::vector<std::uint8_t> bits(map_->tab_bits, map_->tab_bits + map_->nb_bits);
    const int sent = modbus_reply(modbus_, query.data(), length, map_);
    if (ignoresWrites) {
        std::copy(registers.begin(), registers.end(), map_->tab_registers);
        std::copy(bits.begin(), bits.end(), map_->tab_bits);
    }
    if (const int kept = frozen; kept >= 0)
        map_->tab_registers[kept] = registers[static_cast<size_t>(kept)];
    if (meanwhile_)
        meanwhile_(*map_);
    return sent > 0;
}

} // namespace stripwright
