#include "widgets/fitting_scroll.h"

#include <QEvent>
#include <QLayout>
#include <QScrollBar>

#include <algorithm>

namespace stripwright {

FittingScroll::FittingScroll(QWidget* shown, int leastPx, int mostPx, QWidget* parent)
    : QScrollArea(parent), leastPx_(leastPx), mostPx_(mostPx)
{
    setFrameShape(QFrame::NoFrame);
    setWidgetResizable(true);
    setHorizontalScrollBarPolicy(Qt::ScrollBarAlwaysOff);
    setSizePolicy(QSizePolicy::Preferred, QSizePolicy::Maximum);
    setWidget(shown);
    shown->setAutoFillBackground(false);
    viewport()->setAutoFillBackground(false);
    shown->installEventFilter(this);
    // By Tab only while there is something to scroll.
    setFocusPolicy(Qt::NoFocus);
    connect(verticalScrollBar(), &QScrollBar::rangeChanged, this,
            [this](int, int most) { setFocusPolicy(most > 0 ? Qt::TabFocus : Qt::NoFocus); });
}

int FittingScroll::shownHeight() const
{
    const QLayout* layout = widget()->layout();
    const int width = viewport()->width();
    if (!layout || layout->isEmpty())
        return 0;
    const int high =
        layout->hasHeightForWidth() ? layout->totalHeightForWidth(width) : layout->totalSizeHint().height();
    return std::min(high, mostPx_);
}

QSize FittingScroll::sizeHint() const
{
    return {widget()->sizeHint().width(), shownHeight()};
}

QSize FittingScroll::minimumSizeHint() const
{
    return {widget()->minimumSizeHint().width(), std::min(shownHeight(), leastPx_)};
}

void FittingScroll::resizeEvent(QResizeEvent* event)
{
    QScrollArea::resizeEvent(event);
    if (event->size().width() != event->oldSize().width())
        updateGeometry();
}

bool FittingScroll::eventFilter(QObject* object, QEvent* event)
{
    if (object == widget() && event->type() == QEvent::LayoutRequest)
        updateGeometry();
    return QScrollArea::eventFilter(object, event);
}

} // namespace stripwright
