#include "loop/note_board.h"

namespace stripwright {

bool NoteBoard::put(const Event& event)
{
    for (Slot& slot : slots_) {
        int expected = Free;
        if (!slot.place.compare_exchange_strong(expected, Filling))
            continue;
        slot.ticket = ++tickets_;
        slot.note = {event, std::time(nullptr)};
        slot.place = Full;
        return true;
    }
    ++lost_;
    return false;
}

std::optional<NoteBoard::Note> NoteBoard::take()
{
    Slot* first = nullptr;
    for (Slot& slot : slots_)
        if (slot.place == Full && (!first || slot.ticket < first->ticket))
            first = &slot;
    if (!first)
        return std::nullopt;
    Note note = std::move(first->note);
    first->place = Free;
    return note;
}

} // namespace stripwright
