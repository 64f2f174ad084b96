#pragma once

#include <array>
#include <string>
#include <vector>

namespace stripwright::faults {

enum class Phase { Idle, Preheat, Soak, Reflow, Cool };
constexpr std::array<const char*, 5> phaseNames = {"idle", "preheat", "soak", "reflow", "cool"};

/// What must follow.
enum class Answer {
    None,      ///< Does not apply in this phase.
    NoStart,   ///< A run asked for then is refused, or never heats.
    MustStop,  ///< A run asked for then ends its heat by itself within the bound.
    Off,       ///< Heat ends within the bound and stays off, whoever does it.
    AskedOff,  ///< As Off, but all that software can do is ask and say so: heat may be the fault's.
    Warn,      ///< Said within the bound; heat goes on, or stays as little as the fault lets it.
    GoOn,      ///< No trip, heat as it was. Saying something is free.
    OffOrGoOn, ///< Either is right: it depends on how bad it gets.
};

enum class Clock { Plant, Wall };
enum class Kind { Plate, Line, Process, Disk, Message };

/// What is done for a row that no fault of the plate does.
enum class Act {
    PlateFault,
    KillWorker,
    StopWorker,
    KillGuardian,
    StopGuardian,
    KillFront,
    StopFront,
    KillEverything,
    WindowGone,
    WindowSilent,
    BusyProcessor,
    SecondController,
    WallClockJump,
    Suspend,
    DiskFull,
    SlowSync,
    DiskError,
    RunsLocked,
    RunsCorrupt,
    BadRecipe,
    Garbage,
    Flood,
    OperatorStop,
    WrongWordOrder,
    NotInjected
};

/// From when a bound counts under heat. What does not differ from a whole plate yet cannot be seen.
enum class CountsFrom {
    Fault,
    MoreThanTold, ///< A quarter of full power and of the told more: less may be strong mains, or a lighter
                  ///< plate.
    MuchTold,     ///< 3/10 of full power asked for: of less a draught may take all.
};

struct Row {
    const char* name;
    const char* plateFault = ""; ///< As --fault takes it.
    Act act = Act::PlateFault;
    Kind kind = Kind::Plate;
    std::array<Answer, 5> answers; ///< By phase.
    double boundS = 1;
    Clock clock = Clock::Plant;
    double reflowBoundS = 0; ///< 0: as elsewhere.
    bool enable = false;     ///< On a plate with an enable output.
    bool watchdog = true;    ///< On a plate that has one.
    const char* note = "";
    CountsFrom from = CountsFrom::Fault;

    bool countsFromFault(Phase phase) const
    {
        return from == CountsFrom::Fault || phase == Phase::Idle || phase == Phase::Cool;
    }
    double boundIn(Phase phase) const
    {
        return phase == Phase::Reflow && reflowBoundS > 0 ? reflowBoundS : boundS;
    }
};

/// One for each fault that one machine can inject, in the order of the facts they come from.
const std::vector<Row>& allRows();

} // namespace stripwright::faults
