// How a StripDrawing is drawn.

#include "widgets/strip_drawing.h"

#include "models/wording.h"
#include "widgets/look.h"
#include "widgets/plot_scale.h"

#include <QPainter>

#include <algorithm>
#include <cmath>

namespace stripwright {

void StripDrawing::paintEvent(QPaintEvent*)
{
    QPainter painter(this);
    painter.setRenderHint(QPainter::Antialiasing);
    painter.setFont(typeFont(Type::Secondary));
    painter.fillRect(rect(), look().surface);
    painter.setPen(QPen(hasFocus() ? look().focus : look().line, 1));
    painter.drawRoundedRect(QRectF(rect()).adjusted(0.5, 0.5, -0.5, -0.5), cornerPx, cornerPx);
    drawStrip(painter);
    drawPlateAndBlocks(painter);
    for (const SiteOnBench& site : sheet_.sites)
        drawSite(painter, site);
    drawRuler(painter);
}

void StripDrawing::drawStrip(QPainter& painter) const
{
    const QRectF strip = stripRect();
    QColor board = look().muted;
    board.setAlphaF(0.12f);
    painter.setPen(QPen(look().muted, 1));
    painter.setBrush(board);
    painter.drawRect(strip);
    const QRectF connector(strip.left() - 16, strip.center().y() - 9, 16, 18);
    painter.setBrush(look().surface);
    painter.drawRect(connector);
    for (int pin : {-1, 1})
        painter.drawLine(QPointF(connector.left() - 6, connector.center().y() + pin * 4),
                         QPointF(connector.left(), connector.center().y() + pin * 4));
    painter.setPen(look().muted);
    const QFontMetrics metrics(painter.font());
    painter.drawText(QRectF(space::xs, strip.top() - metrics.height() - 3, strip.left(), metrics.height()),
                     Qt::AlignLeft, tr("connector"));
}

// Plate and blocks lie in one row under the strip, their names in the row below, moved apart where they would
// meet.
void StripDrawing::drawPlateAndBlocks(QPainter& painter) const
{
    const QRectF plate = plateRect();
    const QFontMetrics metrics(painter.font());
    std::vector<QString> names;
    std::vector<double> middles;
    double widest = 0;
    const auto name = [&](const QString& text, double middle) {
        names.push_back(text);
        middles.push_back(middle);
        widest = std::max(widest, double(metrics.horizontalAdvance(text)) + space::m);
    };
    for (const PlacedSinkBlock& placed : sheet_.sinkBlocks) {
        const QRectF bar(xOf(placed.startMm), plate.top(), placed.block.lengthMm / mmPerPixel(),
                         plate.height());
        painter.setPen(QPen(look().ink, 1));
        painter.setBrush(look().line);
        painter.drawRect(bar);
        name(QStringLiteral("%1, %2–%3 mm")
                 .arg(QString::fromStdString(placed.block.name), placeFigure(placed.startMm),
                      placeFigure(placed.startMm + placed.block.lengthMm)),
             bar.center().x());
    }
    const bool current = hasFocus() && plateCurrent_;
    painter.setPen(QPen(current ? look().focus : look().ink, current ? 2 : 1));
    painter.setBrush(QBrush(look().muted, Qt::BDiagPattern));
    painter.drawRect(plate);
    name(plateName(), std::clamp(plate.center().x(), 0.0, double(width())));
    middles = spreadLabels(middles, widest, space::s, width() - space::s);
    painter.setPen(look().ink);
    for (size_t i = 0; i < names.size(); ++i)
        painter.drawText(QRectF(middles[i] - widest / 2, plate.bottom() + 3, widest, metrics.height()),
                         Qt::AlignCenter, names[i]);
}

void StripDrawing::drawSite(QPainter& painter, const SiteOnBench& site) const
{
    const QRectF led = siteRect(site.site), strip = stripRect();
    const QFontMetrics metrics(painter.font());
    const bool replace = site.state == SiteState::Replace;
    if (sheet_.strip.lens) {
        const double radius = std::clamp(sheet_.strip.lens->diameterMm / 2 / mmPerPixel(),
                                         led.width() * 0.72 + 2, strip.height() / 2 - 2);
        const bool off = !sheet_.lensStaysOn(site.site);
        QPen ring(look().lens, 2);
        if (off)
            ring.setDashPattern({2, 2.5});
        const auto hot = lensRows_.find(site.site);
        if (!off && hot != lensRows_.end() && stateOf(hot->second) == RowState::Broken)
            ring.setColor(look().abnormal);
        painter.setPen(ring);
        painter.setBrush(Qt::NoBrush);
        painter.drawEllipse(led.center(), radius, radius);
    }
    const bool broken = breaksLimit(site.site);
    painter.setPen(broken ? QPen(look().abnormal, 2) : QPen(look().ink, 1));
    // One that another heat does is hatched.
    painter.setBrush(!replace                ? QBrush(look().surface)
                     : inThisHeat(site.site) ? QBrush(look().ink)
                                             : QBrush(look().ink, Qt::BDiagPattern));
    painter.drawRect(led);

    // A letter says the state as well: R to replace, L lens off, G lens to release by its glue.
    const bool lensOff =
        site.lens == LensState::Off || (site.lens == LensState::Release && sheet_.strip.lens);
    const QString letter = sheet_.lensToRelease(site.site)
                               ? tr("G", "site state: glue of the lens is softened")
                           : replace ? tr("R", "site state: replace")
                           : lensOff ? tr("L", "site state: lens off")
                                     : QString();
    QFont bold = painter.font();
    bold.setBold(replace);
    const QFont plain = painter.font();
    painter.setFont(bold);
    painter.setPen(look().ink);
    const double pitch = sheet_.strip.siteXMm.size() > 1
                             ? (sheet_.strip.siteXMm[1] - sheet_.strip.siteXMm[0]) / mmPerPixel()
                             : 100.0;
    const bool everyNumber = pitch > metrics.horizontalAdvance(QStringLiteral("00")) + 4;
    if (everyNumber || replace || site.site == 1 || site.site % 5 == 0 || site.site == currentSite_) {
        const QString number =
            letter.isEmpty() ? QString::number(site.site) : QString::number(site.site) + ' ' + letter;
        painter.drawText(
            QRectF(led.center().x() - 40, strip.top() - metrics.height() - 3, 80, metrics.height()),
            Qt::AlignCenter, everyNumber || replace ? number : QString::number(site.site));
    }
    painter.setFont(plain);
    const auto row = lensRows_.find(site.site);
    const bool figured = row != lensRows_.end() && pitch > 34;
    if (figured || broken) {
        const QString sign = broken ? QStringLiteral("▲ ") : QString();
        const QString text =
            figured ? sign + figure(*hottestOf(row->second), 0) + QStringLiteral("°") : sign.trimmed();
        const QRectF place(led.center().x() - 30, strip.top() - 2 * metrics.height() - 3, 60,
                           metrics.height());
        painter.setPen(broken ? look().abnormal : look().lens);
        painter.drawText(place, Qt::AlignCenter, text);
    }
    if (hasFocus() && !plateCurrent_ && site.site == currentSite_) {
        painter.setPen(QPen(look().focus, 2));
        painter.setBrush(Qt::NoBrush);
        painter.drawRect(QRectF(led.center().x() - std::max(10.0, led.width() / 2 + 4), strip.top() + 2,
                                2 * std::max(10.0, led.width() / 2 + 4), strip.height() - 4));
    }
}

void StripDrawing::drawRuler(QPainter& painter) const
{
    const QFontMetrics metrics(painter.font());
    const double y = plateRect().bottom() + metrics.height() + space::s;
    painter.setPen(look().muted);
    painter.drawLine(QPointF(xOf(0), y), QPointF(xOf(sheet_.strip.lengthMm), y));
    const double step = stepOver(sheet_.strip.lengthMm, std::max(2, int(stripRect().width() / 60)));
    const double minor = step / 5;
    for (int i = 0; i * minor <= sheet_.strip.lengthMm + 1e-6; ++i) {
        const double x = xOf(i * minor);
        painter.drawLine(QPointF(x, y), QPointF(x, y + (i % 5 == 0 ? 6 : 3)));
        if (i % 5 == 0)
            painter.drawText(QRectF(x - 30, y + 7, 60, metrics.height()), Qt::AlignHCenter,
                             i == 0 ? tr("0 mm") : figure(i * minor, 0));
    }
}

} // namespace stripwright
