#include "serial_device.h"

#include "link/line_listener.h"

#include <algorithm>
#include <cstdlib>
#include <fcntl.h>
#include <poll.h>
#include <stdexcept>
#include <termios.h>
#include <unistd.h>

namespace stripwright {

SerialDevice::SerialDevice(std::vector<int> units)
{
    master_ = ::posix_openpt(O_RDWR | O_NOCTTY | O_CLOEXEC);
    if (master_ < 0 || ::grantpt(master_) != 0 || ::unlockpt(master_) != 0 || ::pipe(wake_) != 0)
        throw std::runtime_error("no pseudo-terminal");
    path_ = ::ptsname(master_);
    slave_ = ::open(path_.c_str(), O_RDWR | O_NOCTTY | O_CLOEXEC); // without one the master hangs up
    termios raw{};
    ::tcgetattr(slave_, &raw);
    ::cfmakeraw(&raw);
    ::tcsetattr(slave_, TCSANOW, &raw);
    for (int unit : units)
        memory_[unit].assign(4, std::vector<std::uint16_t>(140, 0));
    thread_ = std::thread([this] { run(); });
}

SerialDevice::~SerialDevice()
{
    ::close(wake_[1]);
    thread_.join();
    ::close(wake_[0]);
    ::close(slave_);
    ::close(master_);
}

int SerialDevice::get(int unit, RegisterTable table, int address)
{
    std::lock_guard lock(mutex_);
    return memory_.at(unit)[static_cast<size_t>(table)][static_cast<size_t>(address)];
}

void SerialDevice::set(int unit, RegisterTable table, int address, int value)
{
    std::lock_guard lock(mutex_);
    memory_.at(unit)[static_cast<size_t>(table)][static_cast<size_t>(address)] =
        static_cast<std::uint16_t>(value);
}

void SerialDevice::say(const std::vector<std::uint8_t>& bytes)
{
    if (::write(master_, bytes.data(), bytes.size()) != static_cast<ssize_t>(bytes.size()))
        throw std::runtime_error("the pseudo-terminal is full");
}

double SerialDevice::shortestGapS()
{
    std::lock_guard lock(mutex_);
    return *std::min_element(gapsS_.begin(), gapsS_.end());
}

double SerialDevice::longestGapS()
{
    std::lock_guard lock(mutex_);
    return *std::max_element(gapsS_.begin(), gapsS_.end());
}

void SerialDevice::forgetGaps()
{
    std::lock_guard lock(mutex_);
    gapsS_.clear();
    hasAnswered_ = false;
}

std::vector<int> SerialDevice::askedUnits()
{
    std::lock_guard lock(mutex_);
    return askedUnits_;
}

// Of the request at the beginning of the input; 0: not known yet.
size_t SerialDevice::requestLength() const
{
    if (input_.size() < 7)
        return 0;
    return input_[1] == 15 || input_[1] == 16 ? 9u + input_[6] : 8u;
}

void SerialDevice::run()
{
    for (;;) {
        pollfd waits[] = {{master_, POLLIN, 0}, {wake_[0], POLLIN, 0}};
        ::poll(waits, 2, -1);
        if (waits[1].revents)
            return;
        std::uint8_t bytes[512];
        const ssize_t got = ::read(master_, bytes, sizeof bytes);
        if (got <= 0)
            continue;
        if (input_.empty() && hasAnswered_) {
            std::lock_guard lock(mutex_);
            gapsS_.push_back(std::chrono::duration<double>(Clock::now() - answered_).count());
        }
        input_.insert(input_.end(), bytes, bytes + got);
        while (const size_t length = requestLength()) {
            if (input_.size() < length)
                break;
            const std::vector<std::uint8_t> request(input_.begin(),
                                                    input_.begin() + static_cast<long>(length));
            input_.erase(input_.begin(), input_.begin() + static_cast<long>(length));
            if (isFrame(request))
                answer(request);
        }
    }
}

static int word(const std::vector<std::uint8_t>& bytes, size_t at)
{
    return bytes[at] << 8 | bytes[at + 1];
}

static void putWord(std::vector<std::uint8_t>& bytes, int value)
{
    bytes.push_back(static_cast<std::uint8_t>(value >> 8));
    bytes.push_back(static_cast<std::uint8_t>(value));
}

// The answer without its checksum.
std::vector<std::uint8_t> SerialDevice::carryOut(const std::vector<std::uint8_t>& request)
{
    static const RegisterTable tables[] = {RegisterTable::Coil, RegisterTable::Discrete,
                                           RegisterTable::Holding, RegisterTable::Input};
    std::vector<std::uint8_t> reply(request.begin(), request.begin() + 2);
    const int function = request[1], address = word(request, 2), count = word(request, 4);
    const auto refuse = [&](int code) {
        reply[1] |= 0x80;
        reply.push_back(static_cast<std::uint8_t>(code));
        return reply;
    };
    if (exception && exceptions != 0) {
        --exceptions;
        return refuse(exception);
    }
    auto& memory = memory_.at(request[0]);
    if (function <= 4) {
        if (address + count > 140 || (missing >= address && missing < address + count))
            return refuse(2);
        const auto& table = memory[static_cast<size_t>(tables[function - 1])];
        if (function <= 2) {
            reply.push_back(static_cast<std::uint8_t>((count + 7) / 8));
            reply.resize(reply.size() + static_cast<size_t>(count + 7) / 8);
            for (int i = 0; i < count; ++i)
                if (table[static_cast<size_t>(address + i)])
                    reply[3 + static_cast<size_t>(i / 8)] |= static_cast<std::uint8_t>(1 << i % 8);
            return reply;
        }
        reply.push_back(static_cast<std::uint8_t>(2 * count));
        for (int i = 0; i < count; ++i)
            putWord(reply, table[static_cast<size_t>(address + i)]);
        return reply;
    }
    auto& table = memory[static_cast<size_t>(function == 5 ? RegisterTable::Coil : RegisterTable::Holding)];
    if (!ignoresWrites) {
        if (function == 5)
            table[static_cast<size_t>(address)] = count != 0;
        if (function == 6)
            table[static_cast<size_t>(address)] = static_cast<std::uint16_t>(count);
        for (int i = 0; function == 16 && i < count; ++i)
            table[static_cast<size_t>(address + i)] =
                static_cast<std::uint16_t>(word(request, 7 + 2 * static_cast<size_t>(i)));
    }
    putWord(reply, wrongEcho ? address + 1 : address);
    putWord(reply, count);
    return reply;
}

void SerialDevice::answer(const std::vector<std::uint8_t>& request)
{
    ++requests;
    std::vector<std::uint8_t> reply;
    {
        std::lock_guard lock(mutex_);
        askedUnits_.push_back(request[0]);
        if (echoesRequests)
            say(request);
        if (!memory_.count(request[0]) || request[0] == deadUnit)
            return;
        reply = carryOut(request);
    }
    if (silent)
        return;
    if (answersAs)
        reply[0] = static_cast<std::uint8_t>(answersAs.load());
    const int sum = checksumOf(reply.data(), reply.size());
    reply.push_back(static_cast<std::uint8_t>(sum));
    reply.push_back(static_cast<std::uint8_t>(sum >> 8));
    if (garblesAnswers)
        for (std::uint8_t& byte : reply)
            byte ^= 0x55;
    if (const int noise = noiseBefore.exchange(0))
        reply.insert(reply.begin(), static_cast<size_t>(noise), 0);
    if (const int delay = delayOnceMs.exchange(0))
        std::this_thread::sleep_for(std::chrono::milliseconds(delay));
    send(reply);
}

void SerialDevice::send(const std::vector<std::uint8_t>& frame)
{
    if (tricklesAnswers) {
        for (std::uint8_t byte : frame) {
            say({byte});
            pollfd over{wake_[0], POLLIN, 0};
            if (::poll(&over, 1, 100) > 0 || !tricklesAnswers)
                return;
        }
    } else {
        // Taken before the bytes go out: the other side may see them before this thread runs again.
        const auto now = Clock::now();
        say(frame);
        std::lock_guard lock(mutex_);
        answered_ = now;
        hasAnswered_ = true;
    }
}

} // namespace stripwright
