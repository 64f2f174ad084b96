#pragma once

#include <string>

namespace stripwright {

/// A serial device kept for this process alone, for as long as it is taken: by an advisory lock, which holds
/// for the administrator too, and by the terminal's own exclusive mode, which meets programs that know no
/// locks.
class SerialPort {
public:
    SerialPort() = default;
    ~SerialPort() { release(); }
    SerialPort(const SerialPort&) = delete;
    SerialPort& operator=(const SerialPort&) = delete;

    bool take(const std::string& device);
    /// Lets nobody open the device any more, this process included, until release().
    void shut();
    void release();

    bool hasRts() const;
    void askForLowLatency(); ///< USB adapters hold received bytes back for 16 ms unless asked not to.

    const std::string& error() const { return error_; } ///< What to do about it included.

private:
    bool refuse(std::string why);

    std::string error_;
    int fd_ = -1;
    bool locked_ = false;
};

} // namespace stripwright
