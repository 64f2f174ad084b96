#pragma once

#include "messages/messages.h"

#include <array>
#include <atomic>
#include <ctime>
#include <optional>

namespace stripwright {

/// A few places for what any thread wants kept. Putting never waits: if all places are taken it is counted
/// and gone. One thread takes.
class NoteBoard {
public:
    struct Note {
        Event event;
        std::time_t at = 0;
    };

    bool put(const Event& event);
    std::optional<Note> take(); ///< In the order they were put.
    long lost() const { return lost_; }

private:
    enum Place { Free, Filling, Full };
    struct Slot {
        std::atomic<int> place = Free;
        long ticket = 0;
        Note note;
    };
    std::array<Slot, 64> slots_;
    std::atomic<long> tickets_ = 0, lost_ = 0;
};

} // namespace stripwright
