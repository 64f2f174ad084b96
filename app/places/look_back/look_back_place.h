#pragma once

#include "models/recorded_runs.h"

#include <QTimer>
#include <QWidget>

#include <map>
#include <set>

class QLabel;
class QLineEdit;
class QListWidget;

namespace stripwright {

class CurveView;
class MarginTable;
class MessageLine;

/// Recorded runs: one in focus, the newest others as grey ghosts behind it.
class LookBackPlace : public QWidget {
    Q_OBJECT
public:
    explicit LookBackPlace(RecordedRuns& runs, QWidget* parent = nullptr);
    void enter();                        ///< Lists the runs anew.
    void choose(const std::string& key); ///< Once listed.
    void refresh();                      ///< After a change of theme.

private:
    void showList();
    void readAnew(const std::string& key);
    QString listText(const RunSummary& run) const;
    void showFocus();
    void showGhosts();
    std::string focusKey() const;

    RecordedRuns& runs_;
    std::map<std::string, std::shared_ptr<const ReadRun>> read_;
    std::set<std::string> old_; // of those read: the log has more by now
    std::string wantedKey_, shownKey_;
    QTimer lookAgain_;
    QLineEdit* search_;
    QListWidget *list_, *events_;
    QLabel *title_, *outcome_, *over_;
    MessageLine* message_;
    CurveView* curves_;
    MarginTable* margins_;
};

} // namespace stripwright
