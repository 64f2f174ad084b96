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

/// Forks before any thread is made. In the child every signal that asks for an end goes to `onStop`, those of
/// job control do nothing, and a write to `heartbeat` fails with EPIPE once the guardian is gone. In the
/// parent they stay blocked until guard() has ended.
Fork forkUnderGuardian(void (*onStop)(int));

/// Child: the heater was read back off, nothing will turn it on, and no heartbeat comes while the rest of the
/// work is done; the next one takes it back.
void sayHeaterOff(int heartbeat);

/// Child: everything is in order and the heater read back off, or never touched; the guardian need not act.
void sayOrderlyEnd(int heartbeat);

/// The guardian's ends of the line to the process that stands in front of it; -1: there is none.
struct FrontLine {
    int orders = -1, news = -1;
};

struct GuardianSettings {
    double longestStallS = 1.5;              ///< Wall time without a heartbeat, counted from the first one.
    double longestEndS = 120;                ///< From sayHeaterOff() to the next heartbeat or the end.
    double longestFrontSilenceS = 0;         ///< Of a front that must beat; 0: it need not.
    double longestDyingS = 2;                ///< Of a killed child; then the line is taken over all the same.
    double retryEveryS = 0.5;                ///< Of "heater off" that was not confirmed.
    double plugAfterS = 10, plugEveryS = 60; ///< The mains plug is asked for.
    /// No line to it for so long and it counts as ended: for a simulated plate; 0: never.
    double goneAfterS = 0;
    std::function<void(const std::string&)> say; ///< Never blocks. Empty: standard error.
    /// From now on it goes on by itself, heater off not confirmed; false: it is now. Never blocks.
    std::function<void(bool)> goesOnAlone;
};

using OpenToTurnOff = std::function<std::unique_ptr<Plate>()>;

/// Parent: waits for the child. Whatever asks this process, or the front, for an end is passed on to the
/// child as SIGTERM; so is a front that is gone or silent. If the child dies without an orderly end or
/// stalls, kills it first, then does as turnHeaterOff(). Returns the exit code: the child's if it ended by
/// itself and heater off is confirmed, else 1.
int guard(const Fork& fork, const FrontLine& front, const OpenToTurnOff& openPlate,
          const GuardianSettings& settings = {});

/// Opens the plate and sends "heater off" until it was read back, for ever; says each step. Only a second
/// signal to this very process ends it before. Returns 1.
int turnHeaterOff(const FrontLine& front, const OpenToTurnOff& openPlate,
                  const GuardianSettings& settings = {});

} // namespace stripwright
