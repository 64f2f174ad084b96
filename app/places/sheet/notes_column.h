#pragma once

#include "models/sheet_notes.h"

#include <QScrollArea>

class QGridLayout;

namespace stripwright {

/// "What this means": refusals and warnings first, then what the chosen entries ask for, with what is only
/// trade habit marked so.
class NotesColumn : public QScrollArea {
    Q_OBJECT
public:
    explicit NotesColumn(QWidget* parent = nullptr);
    void showNotes(const std::vector<SheetNote>& notes);
    QString plainText() const;

private:
    std::vector<SheetNote> notes_;
    QWidget* page_ = nullptr;
};

} // namespace stripwright
