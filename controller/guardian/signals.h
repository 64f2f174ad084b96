#pragma once

#include <csignal>

namespace stripwright {

/// Those that ask for an end; and those of job control or of a reader that is gone, which must not stop or
/// end anybody who heats.
inline constexpr int endSignals[] = {SIGINT, SIGTERM, SIGHUP, SIGQUIT};
inline constexpr int idleSignals[] = {SIGTSTP, SIGTTIN, SIGTTOU, SIGPIPE, SIGUSR1, SIGUSR2, SIGALRM};

inline void ignoreIdleSignals()
{
    for (int signal : idleSignals)
        std::signal(signal, SIG_IGN);
}

inline sigset_t endSignalSet()
{
    sigset_t signals;
    sigemptyset(&signals);
    for (int signal : endSignals)
        sigaddset(&signals, signal);
    return signals;
}

} // namespace stripwright
