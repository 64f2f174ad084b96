#pragma once

#include <QWidget>

class QLabel;
class QPushButton;

namespace stripwright {

class LiveRun;
class MessageLine;

/// Foot of the window in every place: what the link is doing, the plate's temperature, where the run stands,
/// and Stop heating in the right corner, at least 25 mm either way. Nothing here but the stop ever takes a
/// press.
class BaseLine : public QWidget {
    Q_OBJECT
public:
    explicit BaseLine(LiveRun& run, QWidget* parent = nullptr);
    void refresh();
    void say(const QString& text); ///< A line the user should see in any place; empty takes it away.

protected:
    void showEvent(QShowEvent* event) override; // the screen's true size is known from here on

private:
    QString stopText() const;

    LiveRun& run_;
    QLabel *link_, *linkMore_, *temperature_, *temperatureMore_, *clock_, *clockMore_, *stopState_;
    MessageLine* message_;
    QPushButton* stop_;
    QString said_;
};

} // namespace stripwright
