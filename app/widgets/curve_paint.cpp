// How a CurveView draws what Qt Charts does not: grid, limits, stages, names at the ends, cursor.

#include "widgets/curve_view.h"

#include "models/wording.h"
#include "widgets/look.h"
#include "widgets/plot_scale.h"

#include <QPainter>

#include <algorithm>
#include <cmath>
#include <map>

namespace stripwright {

void CurveView::drawBackground(QPainter* painter, const QRectF&)
{
    painter->save();
    painter->fillRect(QRectF(0, 0, width(), height()), look().surface);
    const QFont small = typeFont(Type::Secondary);
    const QFontMetrics metrics(small);
    painter->setFont(small);

    const double stepC = stepOver(topC_, std::max(2, int(plot_.height() / 30)));
    for (double value = 0; value <= topC_ + 1e-6; value += stepC) {
        const double y = std::round(yOf(value)) + 0.5;
        painter->setPen(look().line);
        painter->drawLine(QPointF(plot_.left(), y), QPointF(plot_.right(), y));
        painter->setPen(look().muted);
        const bool last = value + stepC > topC_ + 1e-6;
        painter->drawText(QRectF(0, y - metrics.height() / 2.0, plot_.left() - space::xs, metrics.height()),
                          Qt::AlignRight | Qt::AlignVCenter,
                          last ? figure(value, 0) + QStringLiteral(" °C") : figure(value, 0));
    }
    const double stepS = timeStepOver(toS_ - fromS_, std::max(2, int(plot_.width() / 70)));
    for (double time = std::ceil(fromS_ / stepS) * stepS; time <= toS_ + 1e-6; time += stepS) {
        const double x = std::round(xOf(time)) + 0.5;
        painter->setPen(look().line);
        painter->drawLine(QPointF(x, plot_.top()), QPointF(x, plot_.bottom()));
        painter->setPen(look().muted);
        painter->drawText(QRectF(x - 40, plot_.bottom() + space::xs, 80, metrics.height()),
                          Qt::AlignHCenter | Qt::AlignTop,
                          clockText(time).remove(QStringLiteral(" 00 min"))); // a whole hour
    }
    painter->setClipRect(plot_.adjusted(0, -1, 0, metrics.height() * 2 + space::m));
    drawStages(painter);
    painter->setClipRect(plot_);
    QColor faint = look().ink;
    faint.setAlphaF(0.07f);
    for (const PlotField& field : fields_)
        painter->fillRect(
            QRectF(QPointF(xOf(field.fromS), yOf(field.highC)), QPointF(xOf(field.toS), yOf(field.lowC))),
            faint);
    painter->restore();
}

// A name that is longer than its stage stands as near under it as the others leave room; where there is not
// room for all, the short stages go without.
void CurveView::drawStages(QPainter* painter) const
{
    struct Shown {
        QString name;
        double left, right;
    };
    const QFontMetrics metrics(painter->font());
    const double y = plot_.bottom() + metrics.height() + space::s;
    std::vector<Shown> shown;
    double need = 0;
    for (const PlotStage& stage : stages_) {
        const double left = std::max(xOf(stage.startS), plot_.left()),
                     right = std::min(xOf(stage.endS), plot_.right());
        if (right - left < 2)
            continue;
        painter->setPen(look().muted);
        painter->drawLine(QPointF(left + 1, y), QPointF(right - 1, y));
        shown.push_back({stage.name, left, right});
        need += metrics.horizontalAdvance(stage.name) + space::s;
    }
    if (need > plot_.width())
        std::erase_if(shown, [&](const Shown& stage) {
            return metrics.horizontalAdvance(stage.name) >= stage.right - stage.left;
        });
    std::vector<double> middles, widths;
    for (const Shown& stage : shown) {
        middles.push_back((stage.left + stage.right) / 2);
        widths.push_back(metrics.horizontalAdvance(stage.name));
    }
    middles = spreadAcross(middles, widths, space::s, plot_.left(), plot_.right());
    painter->setPen(look().ink);
    for (size_t i = 0; i < shown.size(); ++i)
        painter->drawText(QRectF(middles[i] - widths[i] / 2 - 1, y, widths[i] + 2, metrics.height()),
                          Qt::AlignCenter, shown[i].name);
}

void CurveView::drawForeground(QPainter* painter, const QRectF&)
{
    painter->save();
    const bool empty =
        std::ranges::all_of(curves_, [](const PlotCurve& curve) { return curve.timeS.empty(); });
    if (empty && !emptyText_.isEmpty()) {
        painter->setPen(look().muted);
        painter->setFont(typeFont(Type::Base));
        painter->drawText(plot_.adjusted(space::xl, 0, -space::xl, 0), Qt::AlignCenter | Qt::TextWordWrap,
                          emptyText_);
    }
    painter->setFont(typeFont(Type::Secondary));
    if (nowS_ && *nowS_ >= fromS_ && *nowS_ <= toS_) {
        painter->setPen(QPen(look().ink, 1));
        const double x = std::round(xOf(*nowS_)) + 0.5;
        painter->drawLine(QPointF(x, plot_.top()), QPointF(x, plot_.bottom()));
    }
    drawNames(painter);
    drawPoints(painter);
    drawCursor(painter);
    if (hasFocus()) {
        painter->setPen(QPen(look().focus, 1));
        painter->setBrush(Qt::NoBrush);
        painter->drawRect(QRectF(0.5, 0.5, width() - 1.0, height() - 1.0));
    }
    painter->restore();
}

void CurveView::drawNames(QPainter* painter)
{
    const QFontMetrics metrics(painter->font());
    const double height = metrics.height();

    // Names of limits stand on their line at the right end, inside the plot, moved apart where lines are
    // close.
    std::vector<double> wanted;
    std::vector<const PlotLimit*> shown;
    for (const PlotLimit& limit : limits_)
        if (limit.valueC > 0 && limit.valueC < topC_ &&
            (limit.toS <= limit.fromS || xOf(limit.toS) > plot_.left())) {
            shown.push_back(&limit);
            wanted.push_back(yOf(limit.valueC) - height / 2 - 1);
        }
    const std::vector<double> places = spreadLabels(wanted, height, plot_.top(), plot_.bottom());
    QColor halo = look().surface;
    halo.setAlphaF(0.85f);
    painter->setPen(QPen(look().muted, 1));
    for (const PlotLimit* limit : shown) {
        const double y = std::round(yOf(limit->valueC)) + 0.5;
        const bool everywhere = limit->toS <= limit->fromS;
        painter->drawLine(QPointF(everywhere ? plot_.left() : std::max(plot_.left(), xOf(limit->fromS)), y),
                          QPointF(plot_.right(), y));
    }
    for (size_t i = 0; i < shown.size(); ++i) {
        const QString text = shown[i]->name + ' ' + figure(shown[i]->valueC, 0) + QStringLiteral(" °C");
        const double width = metrics.horizontalAdvance(text) + 2;
        const QRectF place(plot_.right() - width - space::xs, places[i] - height / 2, width, height);
        painter->fillRect(place.adjusted(0, 1, 0, -1), halo);
        painter->setPen(look().ink);
        painter->drawText(place, Qt::AlignCenter, text);
    }

    // Names of curves stand right of where the curve ends, at the plot's edge for those that run through it.
    for (const EndName& name : endNames(height)) {
        const double endX = std::ranges::max(name.ends, {}, &QPointF::x).x(), x = endX + space::m;
        painter->setPen(QPen(name.colour, 1));
        for (const QPointF& end : name.ends)
            painter->drawLine(QPointF(endX + 1, end.y()), QPointF(x - 2, name.y));
        const QString text = metrics.elidedText(name.text, Qt::ElideRight, 160);
        const QRectF place(x, name.y - height / 2, metrics.horizontalAdvance(text) + 2, height);
        if (place.right() < plot_.right())
            painter->fillRect(place, halo);
        painter->drawText(place, Qt::AlignLeft | Qt::AlignVCenter, text);
    }
}

// Each beside its curve; where some would stand far from theirs, one name stands for all of their kind.
std::vector<CurveView::EndName> CurveView::endNames(double height) const
{
    std::vector<EndName> each, merged;
    std::vector<QString> kinds;
    for (const PlotCurve& curve : curves_) {
        if (!curve.named)
            continue;
        for (size_t i = curve.timeS.size(); i-- > 0;)
            if (curve.timeS[i] <= toS_ && std::isfinite(curve.valueC[i])) {
                if (curve.timeS[i] >= fromS_) {
                    const QPointF end(std::min(xOf(curve.timeS[i]), plot_.right()), yOf(curve.valueC[i]));
                    each.push_back({curve.name, curve.colour, {end}, end.y()});
                    kinds.push_back(curve.together);
                }
                break;
            }
    }
    const auto spread = [&](std::vector<EndName>& names) {
        std::vector<double> middles;
        for (const EndName& name : names)
            middles.push_back(name.wantedY);
        middles = spreadLabels(middles, height, plot_.top(), plot_.bottom() + space::s);
        for (size_t i = 0; i < names.size(); ++i)
            names[i].y = middles[i];
    };
    spread(each);
    const double farPx = 2.5 * height;
    if (std::ranges::none_of(each,
                             [&](const EndName& name) { return std::abs(name.y - name.wantedY) > farPx; }))
        return each;
    std::map<QString, size_t> together; // its place among the merged
    for (size_t i = 0; i < each.size(); ++i) {
        const auto place = together.find(kinds[i]);
        if (kinds[i].isEmpty() || place == together.end()) {
            if (!kinds[i].isEmpty())
                together[kinds[i]] = merged.size();
            merged.push_back(each[i]);
            continue;
        }
        EndName& one = merged[place->second];
        one.ends.push_back(each[i].ends.front());
        one.text = tr("%1 %2").arg(one.ends.size()).arg(kinds[i]);
        one.wantedY += (each[i].wantedY - one.wantedY) / double(one.ends.size());
    }
    spread(merged);
    return merged;
}

QStringList CurveView::namesAtEnds() const
{
    QStringList names;
    for (const EndName& name : endNames(QFontMetrics(typeFont(Type::Secondary)).height()))
        names += name.text;
    return names;
}

void CurveView::drawPoints(QPainter* painter)
{
    constexpr double highPx = 10, halfWidthPx = 6;
    const QFontMetrics metrics(painter->font());
    painter->setRenderHint(QPainter::Antialiasing);
    double freeFromX = plot_.left();
    for (const PlotPoint& point : points_) {
        if (point.timeS < fromS_ || point.timeS > toS_)
            continue;
        const QPointF tip(xOf(point.timeS), std::max(yOf(point.valueC), plot_.top()));
        painter->setPen(QPen(look().ink, 1.5));
        painter->setBrush(point.full ? QBrush(look().ink) : QBrush(look().surface));
        painter->drawPolygon(
            QPolygonF{tip, tip + QPointF(-halfWidthPx, highPx), tip + QPointF(halfWidthPx, highPx)});
        const double width = metrics.horizontalAdvance(point.name) + 2;
        const QRectF place(tip.x() + halfWidthPx + space::xs, tip.y() + 1, width, metrics.height());
        if (place.left() < freeFromX || place.right() > plot_.right())
            continue; // a triangle says enough; the cursor and the list of events have the words
        painter->drawText(place, Qt::AlignLeft | Qt::AlignVCenter, point.name);
        freeFromX = place.right();
    }
    painter->setBrush(Qt::NoBrush);
}

void CurveView::drawCursor(QPainter* painter)
{
    if (!cursorS_ || curves_.empty() || *cursorS_ < fromS_ || *cursorS_ > toS_)
        return;
    const double x = std::round(xOf(*cursorS_)) + 0.5;
    painter->setPen(QPen(look().muted, 1, Qt::DotLine));
    painter->drawLine(QPointF(x, plot_.top()), QPointF(x, plot_.bottom()));
    const QString text = reading(*cursorS_);
    const QFontMetrics metrics(painter->font());
    QRectF box = metrics.boundingRect(QRect(0, 0, 400, 400), Qt::AlignLeft, text);
    box = QRectF(x + space::s, plot_.top() + space::xs, box.width() + 2 * space::s,
                 box.height() + 2 * space::xs);
    if (box.right() > plot_.right())
        box.moveRight(x - space::s);
    painter->setPen(look().line);
    painter->setBrush(look().surface);
    painter->drawRoundedRect(box, cornerPx, cornerPx);
    painter->setPen(look().ink);
    painter->drawText(box.adjusted(space::s, space::xs, 0, 0), Qt::AlignLeft, text);
}

} // namespace stripwright
