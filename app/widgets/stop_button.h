#pragma once

#include <QPushButton>

#include <functional>
#include <vector>

namespace stripwright {

/// Stop heating, the same words and size wherever it stands, at least 36 by 25 mm. It is never disabled and
/// never says anything else. A press stops everything that stopPresses() knows of, at the press, not at the
/// release.
class StopButton : public QPushButton {
    Q_OBJECT
public:
    explicit StopButton(QWidget* parent = nullptr);
    void showHeat(bool mayBeOn); ///< Filled while heat may be on; nothing else differs.

protected:
    void showEvent(QShowEvent* event) override; // the screen's true size is known from here on
};

/// Sees every press of the program before the window it is meant for does: Esc wherever the keys go, while
/// heat may be on, and a press of the pointer on a StopButton, also when an open list holds the pointer.
/// Stops at once, before anything is painted, once a press. The press then goes its way: Esc still closes a
/// list.
///
/// Qt throws away what is pressed in a window behind a modal one before anybody sees it. Nothing in this
/// program may be modal.
class StopPresses : public QObject {
    Q_OBJECT
public:
    /// Something that may heat, known for as long as `of` lives.
    void add(QObject* of, std::function<bool()> heatMayBeOn, std::function<void()> stop);
    void press();             ///< As a press on a StopButton.
    bool heatMayBeOn() const; ///< Of any of them.

    bool eventFilter(QObject* object, QEvent* event) override;

private:
    friend StopPresses& stopPresses();
    using QObject::QObject;
    struct Heating {
        QObject* of;
        std::function<bool()> heatMayBeOn;
        std::function<void()> stop;
    };

    std::vector<Heating> heating_;
    bool taken_ = false; // this press, which passes here once for each widget it is offered to
};

StopPresses& stopPresses(); ///< The application's; needs a QApplication.

} // namespace stripwright
