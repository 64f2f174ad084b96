#include "bench/rtu_server.h"

#include <algorithm>
#include <cerrno>
#include <cmath>
#include <cstring>
#include <poll.h>
#include <stdexcept>
#include <sys/timerfd.h>
#include <unistd.h>

namespace stripwright {

// Adapters hand over what they received in lumps, 16 ms apart by default: on a real port the rest of a frame
// is waited for this long.
constexpr double lumpS = 0.05;
constexpr double groupS = 0.001; // answers are paced in groups of about this long
constexpr double never = 1e300;

RtuServer::RtuServer(RegisterDevice& device, const std::string& path, const Settings& settings)
    : device_(device), timing_(rtuTiming(settings.baud, settings.frame, settings.turnaroundS)),
      end_(path, settings.baud, settings.frame),
      timer_(timerfd_create(CLOCK_MONOTONIC, TFD_NONBLOCK | TFD_CLOEXEC))
{
    if (timer_ < 0)
        throw std::runtime_error("no timer for the serial line");
}

RtuServer::~RtuServer()
{
    ::close(timer_);
}

void RtuServer::putInto(PlateLink& link) const
{
    link.host.clear();
    link.serial = end_.line();
    link.serial->turnroundS = std::max(link.serial->turnroundS, timing_.turnaroundS);
}

double RtuServer::nextDueS() const
{
    double dueS = received_.empty() ? never : receivedS_ + timing_.silenceS;
    if (!sending_.empty()) {
        const Sending& next = sending_.front();
        const auto group = static_cast<size_t>(std::ceil(groupS / next.byteS));
        const size_t upTo = std::min(next.bytes.size(), next.sent + group);
        dueS = std::min(dueS, next.startS + static_cast<double>(upTo) * next.byteS);
    }
    return dueS;
}

void RtuServer::receive()
{
    std::uint8_t bytes[512];
    const ssize_t got = ::read(end_.fd(), bytes, sizeof bytes);
    if (got <= 0) {
        if (got == 0 || errno == EAGAIN || errno == EINTR)
            return;
        throw std::runtime_error(end_.path() + ": the serial port is gone (" + std::strerror(errno) +
                                 "); plug it in and start the plate again");
    }
    const double nowS = lineClockS();
    receivedS_ =
        end_.isPseudo() ? std::max(nowS, receivedS_) + static_cast<double>(got) * timing_.characterS : nowS;
    // One byte more than a frame can have tells that it is none.
    const size_t room = longestRtuFrame + 1 - received_.size();
    received_.insert(received_.end(), bytes, bytes + std::min(room, static_cast<size_t>(got)));
}

void RtuServer::endFrame(double nowS)
{
    const double quietS = nowS - receivedS_;
    if (received_.empty() || quietS < timing_.silenceS)
        return;
    if (isRtuFrame(received_))
        take(receivedS_);
    else if (!end_.isPseudo() && quietS < lumpS)
        return;
    received_.clear();
}

bool RtuServer::hasClients() const
{
    return lineClockS() - askedS_ < 1;
}

void RtuServer::take(double endS)
{
    askedS_ = endS;
    const int unit = received_[0];
    const std::span<const std::uint8_t> pdu(received_.data() + 1, received_.size() - 3);
    if (unit == 0)
        return device_.obeyBroadcast(pdu);
    if (!device_.serves(unit))
        return;
    const auto answer = device_.answer(unit, pdu);
    if (!answer)
        return;
    std::vector<std::uint8_t> bytes = answer->junk;
    auto frame = rtuFrame(answer->unit, answer->pdu);
    if (answer->damaged)
        device_.damage(frame);
    bytes.insert(bytes.end(), frame.begin(), frame.end());
    // A late answer does not hold up those to later requests.
    const Sending sending{endS + timing_.turnaroundS + answer->lateS, std::move(bytes),
                          std::max(timing_.characterS, answer->byteEveryS)};
    const auto later = std::find_if(sending_.begin(), sending_.end(), [&](const Sending& one) {
        return one.sent == 0 && one.startS > sending.startS;
    });
    sending_.insert(later, sending);
}

void RtuServer::send(double nowS)
{
    if (sending_.empty() || sending_.front().startS > nowS)
        return;
    Sending& now = sending_.front();
    const bool paced = end_.isPseudo() || now.byteS > timing_.characterS; // else the port does it
    const double onWire = paced ? (nowS - now.startS) / now.byteS : never;
    const size_t upTo =
        onWire >= static_cast<double>(now.bytes.size()) ? now.bytes.size() : static_cast<size_t>(onWire);
    if (upTo > now.sent) {
        // What a full buffer does not take is lost, as on a wire that nobody listens to.
        [[maybe_unused]] const ssize_t taken = ::write(end_.fd(), &now.bytes[now.sent], upTo - now.sent);
        now.sent = upTo;
    }
    if (now.sent == now.bytes.size()) {
        sending_.pop_front();
        if (!sending_.empty()) // one after the other: the next one has no earlier start than this one's end
            sending_.front().startS = std::max(sending_.front().startS, nowS);
    }
}

bool RtuServer::serve(int timeoutMs, int alsoWake)
{
    if (device_.plate().has(Fault::Unplugged) && end_.fd() >= 0) {
        end_.hangUp();
        received_.clear();
        sending_.clear();
    }
    // A timer of its own: waits by poll() come up to 50 µs late by the kernel's timer slack.
    const double dueS = std::min(nextDueS(), lineClockS() + timeoutMs / 1000.0);
    itimerspec due{};
    due.it_value.tv_sec = static_cast<time_t>(dueS);
    due.it_value.tv_nsec = static_cast<long>((dueS - std::floor(dueS)) * 1e9);
    timerfd_settime(timer_, TFD_TIMER_ABSTIME, &due, nullptr);
    pollfd waits[] = {{end_.fd(), POLLIN, 0}, {alsoWake, POLLIN, 0}, {timer_, POLLIN, 0}};
    if (::poll(waits, 3, -1) < 0)
        return false;
    endFrame(lineClockS()); // before what comes behind it is joined to it
    if (waits[0].revents)
        receive();
    const double nowS = lineClockS();
    endFrame(nowS);
    send(nowS);
    return waits[1].revents != 0;
}

} // namespace stripwright
