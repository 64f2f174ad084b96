#pragma once

#include "models/sheet_model.h"

#include <QUndoCommand>

namespace stripwright {

/// One named change of the sheet. Changes of the same gesture (a drag, a row of nudges) with nothing between
/// become one.
class SheetEdit : public QUndoCommand {
public:
    /// `gesture` < 0: never merged.
    SheetEdit(SheetModel& model, BenchSheet after, const QString& name, int gesture = -1)
        : QUndoCommand(name), model_(model), before_(model.sheet()), after_(std::move(after)),
          gesture_(gesture)
    {
    }
    void undo() override { model_.setSheet(before_); }
    void redo() override { model_.setSheet(after_); }
    int id() const override { return gesture_; }
    bool mergeWith(const QUndoCommand* later) override
    {
        after_ = static_cast<const SheetEdit*>(later)->after_;
        return true;
    }

private:
    SheetModel& model_;
    BenchSheet before_, after_;
    int gesture_;
};

} // namespace stripwright
