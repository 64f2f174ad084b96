#pragma once

#include "link/request_bytes.h"

#include <bitset>
#include <cstdint>
#include <memory>

namespace stripwright {

/// One Modbus line, TCP or RTU, with request and answer, nothing else: no meaning of values. Belongs to one
/// thread, and every call is bounded.
///
/// TCP: transaction and unit of an answer must be those asked for. After a failure the connection is closed:
/// a late answer would only meet the next request.
///
/// RTU: answers carry no number, so a late one could pass for the answer to another request. After a failure
/// nothing is asked until the line has been silent for the longest turn-round; what comes meanwhile is thrown
/// away. Then the unit that failed must answer a probe (setProbes), whose value nobody uses, before a value
/// of it is believed. Writes go without the probe, since they claim nothing: a heater is turned off even
/// where answers never come back.
class ModbusLine {
public:
    /// Over TCP finds the host's addresses: throws LinkError if there are none within `lookUpTimeoutS`.
    ModbusLine(const PlateLink& link, double lookUpTimeoutS);
    ~ModbusLine();
    ModbusLine(const ModbusLine&) = delete;
    ModbusLine& operator=(const ModbusLine&) = delete;

    /// TCP: all addresses of the host share `timeoutS`; `responseTimeoutS` then bounds each whole answer.
    /// RTU: that follows from baud and turn-round; `responseTimeoutS` is the longest that one call waits for
    /// silence.
    bool open(double timeoutS, double responseTimeoutS);
    void close();
    bool isOpen() const { return open_; }

    /// What to ask a unit for before it is believed again; RTU only. The first that differs from what failed
    /// and is not refused.
    void setProbes(std::vector<ReadBlock> probes) { probes_ = std::move(probes); }

    /// Reads registers, or bits as words of 0 or 1. `words` is only touched by a whole valid answer.
    bool read(const ReadBlock& block, std::uint16_t* words);
    enum class Urgency {
        Normal,
        EvenIfNotSilent
    }; ///< RTU; for "heater off", which no chatter may hold back.
    /// Writes registers or one coil. True means acknowledged with the right echo, not done.
    bool write(const ReadBlock& place, const std::uint16_t* words, Urgency urgency = Urgency::Normal);

    int lastException() const { return exception_; } ///< The device answered, but refused; 0: it did not.
    bool damaged() const { return damaged_; }        ///< An answer came, and was none to what was asked.
    /// Of the last 20 requests, those without a valid answer; a refusal is one.
    double failedShare() const { return static_cast<double>(failures_.count()) / recent; }
    bool othersTalk() const; ///< Bytes nobody asked for keep coming: another master seems to be on the line.
    const std::string& error() const
    {
        return error_;
    } ///< Of the last failure, in words; empty after success.

    /// Waits for silence before the first request, longer than a call in the control cycle may. False: there
    /// was none within that time.
    bool settle(double timeoutS);

private:
    struct Context;
    static constexpr size_t recent = 20;
    static constexpr size_t answerBytes = 254; // from the unit on
    struct Request {
        const char* what;
        ReadBlock block;
        int characters, answerCharacters; // as RTU frames
    };
    bool believed(const ReadBlock& block);
    int ask(const RequestBytes& request, std::uint8_t (&answer)[answerBytes]);
    bool readOnce(const ReadBlock& block, std::uint16_t* words);
    template <class Call> bool transact(const Request& request, Urgency urgency, Call call);
    bool silent(Urgency urgency);
    bool fail(const Request& request, int code);
    bool openTcpLine(double timeoutS);

    std::string place_;                  // "127.0.0.1 port 502"
    std::vector<std::string> addresses_; // numeric
    std::string service_;
    std::optional<SerialLine> serial_;
    size_t answering_ = 0; // the address that worked last is tried first
    std::unique_ptr<Context> context_;
    std::vector<ReadBlock> probes_;
    std::bitset<256> doubted_; // units whose next value is not believed
    std::array<ReadBlock, 256> failed_;
    double responseTimeoutS_ = 0;
    std::uint16_t transaction_ = 0;
    bool open_ = false, damaged_ = false;
    std::bitset<recent> failures_; // newest first
    int exception_ = 0;
    std::string error_, echo_;
};

} // namespace stripwright
