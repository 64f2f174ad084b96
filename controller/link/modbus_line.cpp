#include "link/modbus_line.h"

#include "link/line_silence.h"
#include "link/line_time.h"
#include "link/modbus_open.h"
#include "link/modbus_words.h"
#include "link/request_bytes.h"
#include "link/tcp_exchange.h"
#include "link/tcp_host.h"

#include <algorithm>
#include <cerrno>

namespace stripwright {

static constexpr unsigned lastTen = 0x3ff;
static constexpr double marginS = 0.05; // adapters, and a computer that has other things to do

struct ModbusLine::Context {
    SerialPort port; // outlives modbus, which must let go of the device first
    ModbusContext modbus;
    std::optional<LineSilence> silence;
};

ModbusLine::ModbusLine(const PlateLink& link, double lookUpTimeoutS)
    : place_(placeOf(link)), service_(std::to_string(link.port)), serial_(link.serial),
      context_(std::make_unique<Context>())
{
    if (!serial_)
        addresses_ = addressesOf(link.host, link.port, lookUpTimeoutS);
}

ModbusLine::~ModbusLine() = default;

bool ModbusLine::open(double timeoutS, double responseTimeoutS)
{
    close();
    exception_ = 0;
    damaged_ = false;
    responseTimeoutS_ = responseTimeoutS;
    if (!serial_)
        return openTcpLine(timeoutS);
    context_->modbus = openRtu(*serial_, context_->port, error_);
    open_ = context_->modbus != nullptr;
    if (open_) {
        error_.clear();
        context_->silence.emplace(*serial_);
        doubted_.set(); // an answer to whoever had the line before may still come
        failed_.fill({});
    }
    return open_;
}

bool ModbusLine::openTcpLine(double timeoutS)
{
    std::string why;
    const double deadlineS = monotonicS() + timeoutS;
    for (size_t tried = 0; tried < addresses_.size(); ++tried) {
        const size_t index = (answering_ + tried) % addresses_.size();
        const double leftS = (deadlineS - monotonicS()) / static_cast<double>(addresses_.size() - tried);
        if (leftS <= 0)
            break;
        context_->modbus = openTcp(addresses_[index], service_, leftS, why);
        if (!context_->modbus)
            continue;
        open_ = true;
        answering_ = index;
        error_.clear();
        return true;
    }
    error_ = "no connection to " + place_ + " (" + (why.empty() ? "no answer in time" : why) + ")";
    return false;
}

void ModbusLine::close()
{
    context_->modbus.reset();
    context_->port.release();
    open_ = false;
}

bool ModbusLine::othersTalk() const
{
    return context_->silence && context_->silence->othersTalk();
}

bool ModbusLine::silent(Urgency urgency)
{
    if (!serial_)
        return true;
    const auto found = context_->silence->wait(modbus_get_socket(context_->modbus.get()), responseTimeoutS_);
    if (found == LineSilence::Found::Gone) {
        error_ = place_ + ": the serial device is gone: is its adapter unplugged?";
        close();
        return false;
    }
    if (found == LineSilence::Found::Silent || urgency == Urgency::EvenIfNotSilent)
        return true;
    error_ = place_ + ": waiting for silence on the line";
    if (othersTalk())
        error_ += "; bytes nobody asked for keep coming: another master seems to talk on it";
    return false;
}

bool ModbusLine::fail(const Request& request, int code)
{
    exception_ = isException(code) ? code - MODBUS_ENOBASE : 0;
    damaged_ = isDamage(code);
    error_ = std::string(request.what) + " " + inWordsWithUnit(request.block) + " at " + place_ + ": " +
             (echo_.empty() ? described(code, serial_.has_value()) : echo_);
    if (exception_)
        return false;
    if (!serial_ || deviceIsGone(code)) {
        close();
        return false;
    }
    context_->silence->doubt(request.answerCharacters);
    const auto unit = static_cast<size_t>(request.block.unit);
    if (!doubted_[unit])
        failed_[unit] = request.block;
    doubted_.set(unit);
    if (othersTalk())
        error_ += "; bytes nobody asked for keep coming: another master seems to talk on this line";
    return false;
}

template <class Call> bool ModbusLine::transact(const Request& request, Urgency urgency, Call call)
{
    exception_ = 0;
    damaged_ = false;
    echo_.clear();
    if (!open_) {
        if (error_.empty())
            error_ = "the line is closed";
        return false;
    }
    const bool unitFits =
        request.block.unit >= (serial_ ? 1 : 0) && request.block.unit <= 255; // 0: broadcast
    if (!unitFits || modbus_set_slave(context_->modbus.get(), request.block.unit) != 0) {
        error_ = "unit " + std::to_string(request.block.unit) + " cannot be asked";
        return false;
    }
    if (serial_)
        setResponseTimeout(context_->modbus.get(),
                           request.characters * characterS(*serial_) + longestSilenceS(*serial_) + marginS);
    int done = -1, code = 0;
    for (int n = 0; n < 2; ++n) { // busy: asked once more, as the specification allows
        if (!silent(urgency))
            return false;
        errno = 0;
        done = call();
        code = errno;
        if (serial_)
            context_->silence->exchanged();
        if (done != -1 || (code != EMBXSBUSY && code != EMBXACK))
            break;
    }
    const bool wasLost = (failures_.to_ulong() & lastTen) == lastTen;
    failures_ = failures_ << 1 | std::bitset<recent>(done == -1 && !isException(code));
    if (wasLost && !failures_[0])
        failures_.reset(); // it is back: what was lost while it was away says nothing of the line
    if (done != request.block.count)
        return fail(request, done == -1 ? code : EMBBADDATA);
    error_.clear();
    return true;
}

// True once the unit has answered a probe since its last failure. A refusal proves less: it names no size.
bool ModbusLine::believed(const ReadBlock& block)
{
    const auto unit = static_cast<size_t>(block.unit) & 255u;
    if (!serial_ || !doubted_[unit])
        return true;
    const ReadBlock failed = failed_[unit];
    bool any = false;
    for (const bool alike : {false, true})
        for (const ReadBlock& probe : probes_) {
            if (probe.unit != block.unit ||
                answersLookAlike(probe.table, probe.count, failed.table, failed.count) != alike)
                continue;
            any = true;
            std::uint16_t unused[MODBUS_MAX_READ_BITS];
            if (readOnce(probe, unused)) {
                doubted_.reset(unit);
                return true;
            }
            if (!exception_)
                return false;
        }
    if (!any)
        doubted_.reset(unit);
    return !any;
}

bool ModbusLine::read(const ReadBlock& block, std::uint16_t* words)
{
    const bool bits = block.table == RegisterTable::Coil || block.table == RegisterTable::Discrete;
    if (block.count < 1 || block.count > (bits ? MODBUS_MAX_READ_BITS : MODBUS_MAX_READ_REGISTERS)) {
        error_ = "read " + inWordsWithUnit(block) + ": too many for one request";
        return false;
    }
    return believed(block) && readOnce(block, words);
}

// Over TCP by ourselves; libmodbus frames RTU, and takes back what it put around the answer.
int ModbusLine::ask(const RequestBytes& request, std::uint8_t (&answer)[answerBytes])
{
    modbus_t* modbus = context_->modbus.get();
    if (!serial_)
        return exchangeOverTcp(modbus_get_socket(modbus), ++transaction_, request.bytes, request.length,
                               answer, responseTimeoutS_);
    std::uint8_t frame[MODBUS_MAX_ADU_LENGTH];
    constexpr int checksum = 2;
    if (modbus_send_raw_request(modbus, request.bytes, static_cast<int>(request.length)) == -1)
        return -1;
    const int got = modbus_receive_confirmation(modbus, frame);
    if (got == 0)
        errno = EMBBADSLAVE; // so says libmodbus that it is no frame of that unit
    if (got <= 0)
        return -1;
    const int length = std::clamp(got - checksum, 0, static_cast<int>(answerBytes));
    std::copy(frame, frame + length, answer);
    return length;
}

bool ModbusLine::readOnce(const ReadBlock& block, std::uint16_t* words)
{
    if (!serial_)
        return transact({"read", block, 0, 0}, Urgency::Normal, [&] {
            const RequestBytes request = readRequest(block);
            std::uint8_t answer[answerBytes];
            const int length = ask(request, answer);
            return length == -1 ? -1 : takeAnswer(request, block, answer, static_cast<size_t>(length), words);
        });
    std::uint8_t bits[MODBUS_MAX_READ_BITS];
    std::uint16_t registers[MODBUS_MAX_READ_REGISTERS];
    const bool isBits = block.table == RegisterTable::Coil || block.table == RegisterTable::Discrete;
    const int characters = readCharacters(block.table, block.count);
    const bool ok = transact({"read", block, characters, characters - 8}, Urgency::Normal, [&] {
        modbus_t* modbus = context_->modbus.get();
        switch (block.table) {
        case RegisterTable::Coil:
            return modbus_read_bits(modbus, block.start, block.count, bits);
        case RegisterTable::Discrete:
            return modbus_read_input_bits(modbus, block.start, block.count, bits);
        case RegisterTable::Input:
            return modbus_read_input_registers(modbus, block.start, block.count, registers);
        case RegisterTable::Holding:
            break;
        }
        return modbus_read_registers(modbus, block.start, block.count, registers);
    });
    if (ok)
        for (int i = 0; i < block.count; ++i)
            words[i] = isBits ? bits[i] : registers[i];
    return ok;
}

bool ModbusLine::write(const ReadBlock& place, const std::uint16_t* words, Urgency urgency)
{
    const bool coil = place.table == RegisterTable::Coil;
    if (place.count < 1 || place.count > (coil ? 1 : MODBUS_MAX_WRITE_REGISTERS)) {
        error_ = "write " + inWordsWithUnit(place) + ": too many for one request";
        return false;
    }
    const int characters = writeCharacters(place.table, place.count);
    return transact({"write", place, characters, 8}, urgency, [&] {
        const RequestBytes request = writeRequest(place, words);
        std::uint8_t answer[answerBytes];
        const int length = ask(request, answer);
        return length == -1 ? -1 : compareEcho(request, place, answer, static_cast<size_t>(length), echo_);
    });
}

bool ModbusLine::settle(double timeoutS)
{
    return !serial_ || (open_ && context_->silence->wait(modbus_get_socket(context_->modbus.get()),
                                                         timeoutS) == LineSilence::Found::Silent);
}

} // namespace stripwright
