#pragma once

#include "link/plate_link.h"

namespace stripwright {

/// The plate's end of a serial line: a terminal that exists, or a pseudo-terminal of its own whose other end
/// a symbolic link names.
class SerialEnd {
public:
    /// `path`: a terminal, opened as it is; or a path that leads nowhere yet, which becomes the link. A link
    /// that a dead plate left behind is replaced. Throws std::runtime_error with what to do.
    SerialEnd(const std::string& path, int baud, SerialFrame frame);
    ~SerialEnd(); ///< Removes the link it made.
    SerialEnd(const SerialEnd&) = delete;
    SerialEnd& operator=(const SerialEnd&) = delete;

    void hangUp(); ///< As if the adapter were pulled out, for good: fd() is -1 from then on.

    int fd() const { return fd_; }
    bool isPseudo() const { return !target_.empty(); } ///< Bytes take no time on it.
    const std::string& path() const { return path_; }
    /// How a client must open it. A pseudo-terminal takes no parity bit (a second opening with one fails with
    /// EINVAL, measured): a frame with one becomes 8N2, which is as long.
    SerialLine line() const;

private:
    void openTerminal(int baud, SerialFrame frame);
    void makePseudo();

    std::string path_, target_; // target_: what the link made says
    int fd_ = -1;
    int clientEnd_ = -1; // held open: without it the line hangs up whenever a client closes
    int baud_;
    SerialFrame frame_;
};

const std::vector<int>& serialEndBauds(); ///< What SerialEnd takes.

} // namespace stripwright
