#pragma once

#include <QFrame>

class QHBoxLayout;
class QLabel;
class QPushButton;

namespace stripwright {

/// A message that stays until somebody has answered it: what happened and, beside it, what can be done. Calm
/// once it was seen. Takes no room while it has nothing to say; screen readers are told what is new.
class AlarmLine : public QFrame {
    Q_OBJECT
public:
    explicit AlarmLine(const QString& objectName, QWidget* parent = nullptr);
    QPushButton* addButton(const QString& text, const char* objectName);
    void say(const QString& text, bool calm = false); ///< Empty text hides it.
    QString text() const { return text_; }

private:
    QString text_;
    QLabel* words_;
    QHBoxLayout* row_;
};

} // namespace stripwright
