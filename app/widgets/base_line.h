#pragma once

#include <QWidget>

#include "messages/messages.h"

class QLabel;
class QPushButton;

namespace stripwright {

class AlarmLine;
class LiveRun;
class MessageLine;
class StopButton;

/// Foot of the window in every place: what the link is doing, the plate's temperature, where the run stands,
/// and Stop heating in the right corner. Above it stands what must not be missed wherever the window is: what
/// turned the heat off for good, a heater not known to be off, a controller that is lost.
class BaseLine : public QWidget {
    Q_OBJECT
public:
    explicit BaseLine(LiveRun& run, QWidget* parent = nullptr);
    void refresh();
    void say(const QString& text); ///< A line the user should see in any place; empty takes it away.
    /// A line that stays, whatever else comes and goes, until it is said to have been seen.
    void keep(const QString& text);
    void
    stand(const QString& text); ///< As keep(), but stays until this is called again; empty takes it away.

private:
    void showValues();
    void showAlarms();

    LiveRun& run_;
    std::optional<Trip> trip_; // last one heard of
    AlarmLine *tripLine_, *keptLine_, *lostLine_;
    QPushButton *seen_, *reset_, *takeUp_, *keptSeen_;
    QLabel *link_, *linkMore_, *temperature_, *temperatureMore_, *clock_, *clockMore_, *stopState_;
    MessageLine* message_;
    StopButton* stop_;
    QString said_, standing_;
    QStringList kept_, toReset_; // those of kept_ that were seen before their controller went
    bool outOfTouch_ = false;
};

} // namespace stripwright
