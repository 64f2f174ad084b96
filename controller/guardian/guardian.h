#pragma once

#include "link/plate.h"

#include <functional>
#include <memory>
#include <sys/types.h>

namespace stripwright {

/// The two ends of a fork: the child works, the parent guards it.
struct Fork {
    pid_t child = 0;    ///< 0 in the child.
    int heartbeat = -1; ///< Child: write one byte at the end of each completed cycle. Parent: read them.
};

/// Forks before any thread is made. In the child SIGPIPE is ignored: a write to `heartbeat` fails with EPIPE
/// once the guardian is gone.
Fork forkUnderGuardian();

/// Child: everything is in order and the heater read back off, or never touched; the guardian need not act.
void sayOrderlyEnd(int heartbeat);

struct GuardianSettings {
    double longestStallS = 1.5; ///< Wall time without a heartbeat, counted from the first one.
    double retryEveryS = 0.5;
    double giveUpAfterS = 120; ///< Of sending "heater off" without a confirmation.
};

/// Parent: waits for the child. Forwards SIGINT, SIGTERM and SIGHUP to it as SIGTERM. If it dies without an
/// orderly end or stalls, kills it first, then opens the plate itself and sends "heater off" until it was
/// read back, and says each step on standard error. Returns the exit code: the child's after an orderly end,
/// else 1.
int guard(const Fork& fork, const std::function<std::unique_ptr<Plate>()>& openPlate,
          const GuardianSettings& settings = {});

} // namespace stripwright
