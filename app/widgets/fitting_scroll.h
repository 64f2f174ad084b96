#pragma once

#include <QScrollArea>

namespace stripwright {

/// As high as what it shows where there is room, and scrolled where there is none: what it shows never makes
/// the window higher than the screen. Between `leastPx` and `mostPx` high, both unless it shows less.
class FittingScroll : public QScrollArea {
    Q_OBJECT
public:
    FittingScroll(QWidget* shown, int leastPx, int mostPx = QWIDGETSIZE_MAX, QWidget* parent = nullptr);

    QSize sizeHint() const override;
    QSize minimumSizeHint() const override;

protected:
    void resizeEvent(QResizeEvent* event) override;
    bool eventFilter(QObject* object, QEvent* event) override; // what is shown has changed

private:
    int shownHeight() const;

    int leastPx_, mostPx_;
};

} // namespace stripwright
