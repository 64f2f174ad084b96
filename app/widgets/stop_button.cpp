#include "widgets/stop_button.h"

#include "widgets/look.h"

#include <QApplication>
#include <QKeyEvent>
#include <QMouseEvent>
#include <QPointer>
#include <QWindow>

#include <algorithm>

namespace stripwright {

StopButton::StopButton(QWidget* parent) : QPushButton(tr("Stop heating"), parent)
{
    setObjectName("stop");
    setToolTip(tr("Turns the heater off and reads it back. Key: Esc"));
    setAccessibleDescription(tr("Turns the heater off at once. The Esc key does the same."));
    setFocusPolicy(Qt::TabFocus);
    setAutoDefault(false);
    connect(this, &QPushButton::pressed, this, [] { stopPresses().press(); }); // Space, and screen readers
}

void StopButton::showHeat(bool mayBeOn)
{
    const QString sheet =
        mayBeOn ? QStringLiteral("QPushButton { background: %1; color: %2; border: none; font-weight: bold; }"
                                 "QPushButton:focus { border: 2px solid %3; }")
                      .arg(look().abnormal.name(), look().onAbnormal.name(), look().ink.name())
                : QString();
    if (sheet != styleSheet()) // setting it lays the whole window out anew
        setStyleSheet(sheet);
}

void StopButton::showEvent(QShowEvent* event)
{
    QPushButton::showEvent(event);
    setMinimumSize(pixelsOf(36, this), pixelsOf(25, this));
}

StopPresses& stopPresses()
{
    static QPointer<StopPresses> presses;
    if (!presses) {
        presses = new StopPresses(qApp);
        qApp->installEventFilter(presses);
    }
    return *presses;
}

void StopPresses::add(QObject* of, std::function<bool()> heatMayBeOn, std::function<void()> stop)
{
    heating_.push_back({of, std::move(heatMayBeOn), std::move(stop)});
    connect(of, &QObject::destroyed, this,
            [this, of] { std::erase_if(heating_, [of](const Heating& one) { return one.of == of; }); });
}

bool StopPresses::heatMayBeOn() const
{
    return std::ranges::any_of(heating_, [](const Heating& one) { return one.heatMayBeOn(); });
}

void StopPresses::press()
{
    if (taken_)
        return;
    taken_ = true;
    for (const Heating& one : std::vector(heating_))
        one.stop();
    QMetaObject::invokeMethod(
        this, [this] { taken_ = false; }, Qt::QueuedConnection);
}

// A list that is open gets every press, also those outside of it.
static bool meetsStopButton(const QObject* object, const QMouseEvent& press)
{
    const auto* widget = qobject_cast<const QWidget*>(object);
    const auto* window = widget ? widget->window()->windowHandle() : qobject_cast<const QWindow*>(object);
    if (!window)
        return false;
    const QPoint at = press.globalPosition().toPoint();
    const bool outsideList = window->type() == Qt::Popup && !window->geometry().contains(at);
    for (const QWidget* one : QApplication::allWidgets())
        if (qobject_cast<const StopButton*>(one) && one->isVisible() &&
            (outsideList || one->window()->windowHandle() == window) &&
            one->rect().contains(one->mapFromGlobal(at)))
            return true;
    return false;
}

bool StopPresses::eventFilter(QObject* object, QEvent* event)
{
    switch (event->type()) {
    case QEvent::ShortcutOverride:
    case QEvent::KeyPress: {
        const auto* key = static_cast<QKeyEvent*>(event);
        if (key->key() == Qt::Key_Escape && !key->isAutoRepeat() && heatMayBeOn())
            press();
        break;
    }
    case QEvent::MouseButtonPress:
    case QEvent::MouseButtonDblClick: // the second press of two quick ones
        if (meetsStopButton(object, *static_cast<QMouseEvent*>(event)))
            press();
        break;
    default:
        break;
    }
    return false;
}

} // namespace stripwright
