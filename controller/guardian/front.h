#pragma once

#include "guardian/guardian.h"

#include <string_view>

namespace stripwright {

/// What the front sends its guardian, one byte each.
namespace order {
constexpr char beat = 'b';
constexpr char stop = 's';
constexpr char pause = 'p'; ///< Somebody pressed Ctrl+Z or Ctrl+\: a stop as well.
} // namespace order

/// What the guardian sends its front.
struct News {
    enum What : int { Working, TurningOff, AloneFromNow } what;
    pid_t pid; ///< Of the worker; of the guardian.
};
void tell(const FrontLine& front, News::What what, pid_t pid);

/// The process that somebody started, and sees, in front of its guardian: what befalls it and its terminal
/// does not befall the other two.
struct Front {
    pid_t guardian = 0;         ///< 0 in the guardian.
    int orders = -1, news = -1; ///< Front's ends.
    FrontLine line;             ///< Guardian's ends.
};

/// Forks before any thread is made. The guardian gets a session of its own, without a terminal, and standard
/// input from nowhere.
Front forkBehindFront();

/// Front: beats every 0.5 s, and passes each INT, TERM, HUP, QUIT and TSTP on as a stop, to the worker itself
/// as well; writes nothing. Returns when the guardian has ended. After a guardian was killed: when the worker
/// has. Once the guardian turns the heater off itself, a further signal ends the wait with 1.
struct FrontEnd {
    int exitCode = 1;
    bool unguarded =
        false; ///< The worker ended without an orderly end, and no guardian turned the heater off.
};
FrontEnd standInFront(const Front& front);

} // namespace stripwright
