#pragma once

#include "models/run_history.h"
#include "models/sheet_model.h"

#include <QPointer>
#include <QUndoStack>
#include <QWidget>

#include <memory>

class QLabel;
class QLineEdit;
class QTableView;

namespace stripwright {

class FileQuestion;
class HeatRow;
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

    /// The newest job, or null while none is known, and which of its heats is shown; `planning` while a newer
    /// one is being made.
    void setJob(const std::shared_ptr<const JobPlan>& job, size_t heat, const HeatsDone& done, bool planning,
                const QString& failure);
    void offerMeasuredHands(const MeasuredHands& measured);
    void openFile(const QString& file); ///< Shows every problem if it cannot be read.
    void saveFile(const QString& file);
    void askOpen();
    void askSave();
    void take(const BenchSheet& sheet, const QString& name); ///< As an edit that can be undone.
    void refresh();                                          ///< After a change of theme.
    QUndoStack& edits() { return edits_; }
    StripDrawing& strip() { return *strip_; }

signals:
    void heatChosen(size_t heat);

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
    HeatRow* heats_;
    SheetForm* form_;
    NotesColumn* notes_;
    SitesTable* sites_;
    QPointer<FileQuestion> question_;
    int dragGesture_ = 1;
};

} // namespace stripwright
