#include "widgets/arrowed_box.h"

#include "widgets/look.h"

#include <QPainter>

namespace stripwright {

void ArrowedBox::paintEvent(QPaintEvent* event)
{
    QComboBox::paintEvent(event);
    QPainter painter(this);
    painter.setRenderHint(QPainter::Antialiasing);
    painter.setPen(QPen(look().muted, 1.5));
    const QPointF tip(width() - 12, height() / 2.0 + 2);
    painter.drawPolyline(QPolygonF{{tip.x() - 4, tip.y() - 4}, tip, {tip.x() + 4, tip.y() - 4}});
}

} // namespace stripwright
