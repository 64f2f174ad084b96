#include "link/modbus_line.h"

#include <cerrno>
#include <chrono>
#include <cstring>
#include <fcntl.h>
#include <future>
#include <modbus.h>
#include <netdb.h>
#include <sys/select.h>
#include <thread>
#include <unistd.h>

namespace stripwright {

struct ModbusLine::Context {
    modbus_t* modbus = nullptr;
    ~Context()
    {
        if (modbus) {
            modbus_close(modbus);
            modbus_free(modbus);
        }
    }
};

static double monotonicS()
{
    return std::chrono::duration<double>(std::chrono::steady_clock::now().time_since_epoch()).count();
}

static void splitSeconds(double seconds, std::uint32_t& whole, std::uint32_t& micro)
{
    const double us = std::max(1.0, seconds * 1e6);
    whole = static_cast<std::uint32_t>(us / 1e6);
    micro = static_cast<std::uint32_t>(us - whole * 1e6);
}

struct Lookup {
    std::vector<std::string> addresses;
    std::string error;
};

static Lookup lookUp(const std::string& host, const std::string& service)
{
    addrinfo hints{};
    hints.ai_socktype = SOCK_STREAM;
    addrinfo* list = nullptr;
    Lookup result;
    if (const int rc = getaddrinfo(host.c_str(), service.c_str(), &hints, &list); rc != 0) {
        result.error = gai_strerror(rc);
        return result;
    }
    for (const addrinfo* one = list; one; one = one->ai_next) {
        char text[NI_MAXHOST];
        if (getnameinfo(one->ai_addr, one->ai_addrlen, text, sizeof text, nullptr, 0, NI_NUMERICHOST) == 0)
            result.addresses.emplace_back(text);
    }
    freeaddrinfo(list);
    return result;
}

ModbusLine::ModbusLine(const std::string& host, int port, int unit, double timeoutS)
    : place_(host + " port " + std::to_string(port)), service_(std::to_string(port)), unit_(unit)
{
    // A name server that does not answer holds getaddrinfo for many seconds; the thread is left to it.
    std::packaged_task<Lookup()> task([host, service = service_] { return lookUp(host, service); });
    std::future<Lookup> answer = task.get_future();
    std::thread(std::move(task)).detach();
    const bool ready = answer.wait_for(std::chrono::duration<double>(timeoutS)) == std::future_status::ready;
    Lookup found = ready ? answer.get() : Lookup{{}, "no answer from the name server"};
    if (found.addresses.empty())
        throw LinkError("the host \"" + host + "\" is not known (" + found.error +
                        "): check \"host\" in the plate link file, or give the plate's address in numbers");
    addresses_ = std::move(found.addresses);
}

ModbusLine::~ModbusLine() = default;

// libmodbus waits with select(), which must not see a descriptor of 1024 or more (#837).
static bool nextDescriptorFitsSelect()
{
    const int fd = ::open("/dev/null", O_RDONLY | O_CLOEXEC);
    if (fd >= 0)
        ::close(fd);
    return fd >= 0 && fd < FD_SETSIZE;
}

bool ModbusLine::open(double timeoutS, double responseTimeoutS)
{
    close();
    exception_ = false;
    if (!nextDescriptorFitsSelect()) {
        error_ = "too many open files in this process to open the line to the plate";
        return false;
    }
    std::string reason;
    const double deadlineS = monotonicS() + timeoutS;
    for (size_t tried = 0; tried < addresses_.size(); ++tried) {
        const size_t index = (answering_ + tried) % addresses_.size();
        const double leftS = (deadlineS - monotonicS()) / static_cast<double>(addresses_.size() - tried);
        if (leftS <= 0)
            break;
        auto context = std::make_unique<Context>();
        context->modbus = modbus_new_tcp_pi(addresses_[index].c_str(), service_.c_str());
        if (!context->modbus) {
            reason = "out of memory";
            continue;
        }
        std::uint32_t s, us;
        splitSeconds(leftS, s, us);
        modbus_set_response_timeout(context->modbus, s, us); // also the connect timeout
        modbus_set_error_recovery(context->modbus, MODBUS_ERROR_RECOVERY_NONE);
        modbus_set_slave(context->modbus, unit_);
        const double startS = monotonicS();
        if (modbus_connect(context->modbus) == 0) {
            splitSeconds(responseTimeoutS, s, us);
            modbus_set_response_timeout(context->modbus, s, us);
            // 0/0: the response timeout bounds the whole answer, not each byte of it.
            modbus_set_byte_timeout(context->modbus, 0, 0);
            context_ = std::move(context);
            open_ = true;
            answering_ = index;
            error_.clear();
            return true;
        }
        // errno after a connect timeout is misleading (#736): the time taken tells more.
        const int code = errno;
        reason = monotonicS() - startS >= 0.9 * leftS ? "no answer in time"
                 : code == ECONNREFUSED               ? "connection refused"
                                                      : std::strerror(code);
    }
    error_ = "no connection to " + place_ + " (" + (reason.empty() ? "no answer in time" : reason) + ")";
    return false;
}

void ModbusLine::close()
{
    context_.reset();
    open_ = false;
}

std::string inWords(RegisterTable table, int address, int count)
{
    static const char* const names[] = {"coil", "discrete input", "input register", "holding register"};
    std::string text = names[static_cast<size_t>(table)];
    if (count == 1)
        return text + " " + std::to_string(address);
    return text + "s " + std::to_string(address) + " to " + std::to_string(address + count - 1);
}

static bool isException(int code)
{
    return code > MODBUS_ENOBASE && code <= EMBXGTAR;
}

static std::string described(int code)
{
    if (code == ETIMEDOUT)
        return "no answer in time";
    if (code == ECONNRESET || code == EPIPE || code == EIO || code == 0)
        return "the plate closed the connection";
    return modbus_strerror(code);
}

template <class Call>
bool ModbusLine::transact(int expected, const char* what, RegisterTable table, int address, int count,
                          Call call)
{
    if (!open_) {
        if (error_.empty())
            error_ = "the line is closed";
        return false;
    }
    exception_ = false;
    errno = 0;
    int answer = call();
    if (answer == -1 && (errno == EMBXSBUSY || errno == EMBXACK))
        answer = call(); // busy: asked once more, as the specification allows
    if (answer == expected) {
        error_.clear();
        return true;
    }
    const int code = errno;
    exception_ = answer == -1 && isException(code);
    error_ =
        std::string(what) + " " + inWords(table, address, count) + " of " + place_ + ": " + described(code);
    if (!exception_)
        close();
    return false;
}

bool ModbusLine::read(RegisterTable table, int address, int count, std::uint16_t* words)
{
    std::uint8_t bits[MODBUS_MAX_READ_BITS];
    std::uint16_t registers[MODBUS_MAX_READ_REGISTERS];
    const bool isBits = table == RegisterTable::Coil || table == RegisterTable::Discrete;
    if (count < 1 || count > (isBits ? MODBUS_MAX_READ_BITS : MODBUS_MAX_READ_REGISTERS)) {
        error_ = "read " + inWords(table, address, count) + ": too many for one request";
        return false;
    }
    const bool ok = transact(count, "read", table, address, count, [&] {
        modbus_t* modbus = context_->modbus;
        switch (table) {
        case RegisterTable::Coil:
            return modbus_read_bits(modbus, address, count, bits);
        case RegisterTable::Discrete:
            return modbus_read_input_bits(modbus, address, count, bits);
        case RegisterTable::Input:
            return modbus_read_input_registers(modbus, address, count, registers);
        case RegisterTable::Holding:
            break;
        }
        return modbus_read_registers(modbus, address, count, registers);
    });
    if (ok)
        for (int i = 0; i < count; ++i)
            words[i] = isBits ? bits[i] : registers[i];
    return ok;
}

bool ModbusLine::write(RegisterTable table, int address, int count, const std::uint16_t* words)
{
    return transact(count, "write", table, address, count, [&] {
        modbus_t* modbus = context_->modbus;
        if (table == RegisterTable::Coil)
            return modbus_write_bit(modbus, address, words[0] ? TRUE : FALSE);
        if (count == 1)
            return modbus_write_register(modbus, address, words[0]);
        return modbus_write_registers(modbus, address, count, words);
    });
}

} // namespace stripwright
