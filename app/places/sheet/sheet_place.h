#pragma once

#include "models/sheet_model.h"
#include "planner/heat_plan.h"

#include <QPointer>
#include <QUndoStack>
#include <QWidget>

#include <memory>

class QLabel;
class QLineEdit;
class QTableView;

namespace stripwright {

class FileQuestion;
class MessageLine;
class SitesTable;
class NotesColumn;
class SheetForm;
class StripDrawing;

/// Where a repair is described: title, strip with its marks, materials, and what they mean.
class SheetPlace : public QWidget {
    Q_OBJECT
public:
    explicit SheetPlace(SheetModel& model, QWidget* parent = nullptr);
    ~SheetPlace() override;

    /// The newest plan, or null while none is known; `planning` while a newer one is being made.
    void setPlan(std::shared_ptr<const HeatPlan> plan, bool planning, const QString& failure);
    void openFile(const QString& file); ///< Shows every problem if it cannot be read.
    void saveFile(const QString& file);
    void askOpen();
    void askSave();
    void take(const BenchSheet& sheet, const QString& name); ///< As an edit that can be undone.
    void refresh(); ///< After a change of theme.
    QUndoStack& edits() { return edits_; }
    StripDrawing& strip() { return *strip_; }

private:
    QTableView* sitesView();
    void edit(BenchSheet after, const QString& name, int gesture = -1);
    void showSheet();
    void showNotes();
    void ask(FileQuestion* question);

    SheetModel& model_;
    QUndoStack edits_;
    std::shared_ptr<const HeatPlan> plan_;
    QLineEdit* title_;
    QLabel *file_, *verdict_;
    MessageLine* message_;
    StripDrawing* strip_;
    SheetForm* form_;
    NotesColumn* notes_;
    SitesTable* sites_;
    QPointer<FileQuestion> question_;
    int dragGesture_ = 1;
};

} // namespace stripwright
