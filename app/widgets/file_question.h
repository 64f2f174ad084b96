#pragma once

#include <QElapsedTimer>
#include <QFileDialog>

namespace stripwright {

class MessageLine;

/// Asks for a file beside the window, never in front of it: a press on Stop heating must reach the window
/// whatever is open. What is wrong with a file is said in the dialog, in a line; an existing file is written
/// over only after a second press, 1 s after the first: a key held down is one. Deletes itself when closed.
class FileQuestion : public QFileDialog {
    Q_OBJECT
public:
    enum class For { Opening, Saving };
    /// `startAt`: a file or a folder. `own`: the file that may be written over without asking; empty: none.
    FileQuestion(QWidget* parent, const QString& title, const QString& startAt, const QString& filter,
                 For purpose, const QString& own = {});

    void accept() override;

private:
    QString own_, warnedOf_;
    QElapsedTimer lastTry_;
    MessageLine* message_;
};

} // namespace stripwright
