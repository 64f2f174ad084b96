#include "widgets/curve_view.h"

#include "models/wording.h"
#include "widgets/decimate.h"
#include "widgets/look.h"
#include "widgets/plot_scale.h"

#include <QAreaSeries>
#include <QChart>
#include <QEvent>
#include <QKeyEvent>
#include <QLineSeries>
#include <QMouseEvent>
#include <QValueAxis>
#include <QWheelEvent>

#include <algorithm>
#include <cmath>
#include <map>

namespace stripwright {

namespace {

constexpr double leastRangeS = 5;

} // namespace

CurveView::CurveView(QWidget* parent)
    : QChartView(parent), timeAxis_(new QValueAxis(this)), valueAxis_(new QValueAxis(this))
{
    auto* plot = new QChart;
    plot->setBackgroundVisible(false);
    plot->setPlotAreaBackgroundVisible(false);
    plot->legend()->hide();
    plot->setMargins({0, 0, 0, 0});
    plot->addAxis(timeAxis_, Qt::AlignBottom);
    plot->addAxis(valueAxis_, Qt::AlignLeft);
    timeAxis_->setVisible(false);
    valueAxis_->setVisible(false);
    setChart(plot);
    setRenderHint(QPainter::Antialiasing);
    setFrameShape(QFrame::NoFrame);
    setFocusPolicy(Qt::StrongFocus);
    setMouseTracking(true);
    viewport()->setMouseTracking(true);
    setMinimumHeight(160);
    setAccessibleName(tr("Temperature curves"));
}

static bool drawnAlike(const PlotCurve& a, const PlotCurve& b)
{
    return a.name == b.name && a.colour == b.colour && a.widthPx == b.widthPx && a.dashed == b.dashed &&
           a.named == b.named && a.lowC.empty() == b.lowC.empty();
}

void CurveView::setCurves(std::vector<PlotCurve> curves)
{
    const bool alike = std::ranges::equal(curves, curves_, drawnAlike);
    curves_ = std::move(curves);
    if (!alike)
        rebuildSeries();
    fitTemperature();
    redraw();
}

void CurveView::rebuildSeries()
{
    chart()->removeAllSeries();
    series_.clear();
    for (const PlotCurve& curve : curves_) {
        Series series;
        if (!curve.lowC.empty()) {
            series.low = new QLineSeries;
            series.high = new QLineSeries;
            series.band = new QAreaSeries(series.high, series.low);
            series.low->setParent(series.band);
            series.high->setParent(series.band);
            QColor fill = curve.colour;
            fill.setAlphaF(0.16f);
            series.band->setBrush(fill);
            series.band->setPen(Qt::NoPen);
            chart()->addSeries(series.band);
            series.band->attachAxis(timeAxis_);
            series.band->attachAxis(valueAxis_);
        }
        series.line = new QLineSeries;
        QPen pen(curve.colour, curve.widthPx, Qt::SolidLine, Qt::FlatCap, Qt::RoundJoin);
        if (curve.dashed)
            pen.setDashPattern({6 / curve.widthPx * 1.5, 4 / curve.widthPx * 1.5});
        series.line->setPen(pen);
        chart()->addSeries(series.line);
        series.line->attachAxis(timeAxis_);
        series.line->attachAxis(valueAxis_);
        series_.push_back(series);
    }
}

void CurveView::setMarks(std::vector<PlotLimit> limits, std::vector<PlotField> fields,
                         std::vector<PlotStage> stages)
{
    limits_ = std::move(limits);
    fields_ = std::move(fields);
    stages_ = std::move(stages);
    layOut();
    fitTemperature();
    viewport()->update();
}

void CurveView::setPoints(std::vector<PlotPoint> points)
{
    points_ = std::move(points);
    viewport()->update();
}

void CurveView::setSpan(double fromS, double toS)
{
    wholeFromS_ = fromS;
    wholeToS_ = std::max(toS, fromS + leastRangeS);
    if (!zoomed_)
        showSpan(wholeFromS_, wholeToS_);
}

void CurveView::setNow(std::optional<double> nowS)
{
    nowS_ = nowS;
    viewport()->update();
}

void CurveView::showWhole()
{
    if (zoomed_) {
        zoomed_ = false;
        emit zoomedChanged();
    }
    showSpan(wholeFromS_, wholeToS_);
}

void CurveView::showSpan(double fromS, double toS)
{
    fromS_ = fromS;
    toS_ = toS;
    timeAxis_->setRange(fromS, toS);
    redraw();
}

// The warmest thing drawn decides, so that the scale does not jump while one zooms in time.
void CurveView::fitTemperature()
{
    double warmest = 60;
    for (const PlotCurve& curve : curves_) {
        for (const auto* values : {&curve.valueC, &curve.highC})
            for (double value : *values)
                if (value > warmest)
                    warmest = value;
    }
    const double curvesTop = warmest;
    for (const PlotLimit& limit : limits_)
        if (limit.valueC < curvesTop * 1.15)
            warmest = std::max(warmest, limit.valueC);
    topC_ = std::ceil((warmest * 1.06) / 10) * 10;
    valueAxis_->setRange(0, topC_);
}

void CurveView::layOut()
{
    const QFontMetrics small(typeFont(Type::Secondary));
    int names = small.horizontalAdvance(QStringLiteral("joint 12"));
    std::map<QString, int> alike;
    for (const PlotCurve& curve : curves_)
        if (curve.named) {
            names = std::max(names, small.horizontalAdvance(curve.name));
            if (!curve.together.isEmpty() && ++alike[curve.together] > 1)
                names = std::max(names, small.horizontalAdvance(QStringLiteral("12 ") + curve.together));
        }
    const int left = small.horizontalAdvance(QStringLiteral("300 °C")) + space::m;
    const int bottom = small.height() * (stages_.empty() ? 1 : 2) + space::l;
    plot_ = QRectF(left, space::s, std::max(40, width() - left - std::min(names, 160) - space::xl),
                   std::max(40, height() - bottom - space::s));
    chart()->setPlotArea(plot_);
}

void CurveView::redraw()
{
    layOut();
    const int columns = std::clamp(int(plot_.width()), 50, 2000);
    for (size_t i = 0; i < series_.size(); ++i) {
        const PlotCurve& curve = curves_[i];
        series_[i].line->replace(decimated(curve.timeS, curve.valueC, fromS_, toS_, columns));
        if (series_[i].band) {
            series_[i].low->replace(decimated(curve.timeS, curve.lowC, fromS_, toS_, columns));
            series_[i].high->replace(decimated(curve.timeS, curve.highC, fromS_, toS_, columns));
        }
    }
    viewport()->update();
}

double CurveView::xOf(double timeS) const
{
    return plot_.left() + (timeS - fromS_) / (toS_ - fromS_) * plot_.width();
}

double CurveView::yOf(double valueC) const
{
    return plot_.bottom() - valueC / topC_ * plot_.height();
}

double CurveView::timeAt(double x) const
{
    return fromS_ + (x - plot_.left()) / plot_.width() * (toS_ - fromS_);
}

void CurveView::resizeEvent(QResizeEvent* event)
{
    QChartView::resizeEvent(event);
    redraw();
}

void CurveView::zoomAt(double timeS, double factor)
{
    const double range = std::clamp((toS_ - fromS_) * factor, leastRangeS, wholeToS_ - wholeFromS_);
    const double share = (timeS - fromS_) / (toS_ - fromS_);
    const double from = std::clamp(timeS - share * range, wholeFromS_, wholeToS_ - range);
    const bool zoomed = range < (wholeToS_ - wholeFromS_) * 0.999;
    if (zoomed != zoomed_) {
        zoomed_ = zoomed;
        emit zoomedChanged();
    }
    showSpan(from, from + range);
}

// The stock view dereferences what lies under the pointer and there may be nothing: none of its mouse
// handling is used.
void CurveView::mousePressEvent(QMouseEvent* event)
{
    if (event->button() == Qt::LeftButton && zoomed_)
        dragFromX_ = event->position().x();
    event->accept();
}

void CurveView::mouseMoveEvent(QMouseEvent* event)
{
    const double x = event->position().x();
    if (dragFromX_) {
        const double move = timeAt(*dragFromX_) - timeAt(x), range = toS_ - fromS_;
        const double from = std::clamp(fromS_ + move, wholeFromS_, wholeToS_ - range);
        dragFromX_ = x;
        showSpan(from, from + range);
    }
    setCursor(plot_.contains(event->position()) ? std::optional(timeAt(x)) : std::nullopt);
    event->accept();
}

void CurveView::mouseReleaseEvent(QMouseEvent* event)
{
    dragFromX_.reset();
    event->accept();
}

void CurveView::mouseDoubleClickEvent(QMouseEvent* event)
{
    showWhole();
    event->accept();
}

void CurveView::wheelEvent(QWheelEvent* event)
{
    zoomAt(std::clamp(timeAt(event->position().x()), fromS_, toS_), event->angleDelta().y() > 0 ? 0.8 : 1.25);
    event->accept();
}

void CurveView::keyPressEvent(QKeyEvent* event)
{
    const double range = toS_ - fromS_, at = cursorS_.value_or((fromS_ + toS_) / 2);
    const int way = event->key() == Qt::Key_Left ? -1 : event->key() == Qt::Key_Right ? 1 : 0;
    if (way != 0 && event->modifiers() & Qt::ShiftModifier) {
        const double from = std::clamp(fromS_ + way * range / 10, wholeFromS_, wholeToS_ - range);
        showSpan(from, from + range);
    } else if (way != 0) {
        setCursor(std::clamp(at + way * range / 100, fromS_, toS_));
    } else if (event->key() == Qt::Key_Plus || event->key() == Qt::Key_Equal) {
        zoomAt(at, 0.8);
    } else if (event->key() == Qt::Key_Minus) {
        zoomAt(at, 1.25);
    } else if (event->key() == Qt::Key_Home) {
        showWhole();
    } else {
        event->ignore(); // Esc and the rest go to the window
    }
}

void CurveView::leaveEvent(QEvent* event)
{
    QChartView::leaveEvent(event);
    setCursor(std::nullopt);
}

void CurveView::changeEvent(QEvent* event)
{
    QChartView::changeEvent(event);
    if (event->type() == QEvent::FontChange && chart())
        redraw();
}

void CurveView::setCursor(std::optional<double> timeS)
{
    cursorS_ = timeS;
    if (timeS)
        setAccessibleDescription(reading(*timeS));
    viewport()->update();
}

static std::optional<double> valueAt(const PlotCurve& curve, double timeS)
{
    const auto next = std::ranges::lower_bound(curve.timeS, timeS);
    if (next == curve.timeS.end() || (next == curve.timeS.begin() && *next > timeS))
        return {};
    const size_t i = size_t(next - curve.timeS.begin());
    if (i == 0 || *next == timeS)
        return std::isfinite(curve.valueC[i]) ? std::optional(curve.valueC[i]) : std::nullopt;
    const double share = (timeS - curve.timeS[i - 1]) / (curve.timeS[i] - curve.timeS[i - 1]);
    const double value = curve.valueC[i - 1] + share * (curve.valueC[i] - curve.valueC[i - 1]);
    return std::isfinite(value) ? std::optional(value) : std::nullopt;
}

QString CurveView::reading(double timeS) const
{
    constexpr size_t mostOfAKind = 4;
    QStringList parts{clockText(timeS)};
    std::map<QString, std::vector<double>> kinds;
    for (const PlotCurve& curve : curves_)
        if (const auto value = valueAt(curve, timeS); curve.named && value)
            kinds[curve.together].push_back(*value);
    for (const PlotCurve& curve : curves_) {
        const auto value = valueAt(curve, timeS);
        if (!curve.named || !value)
            continue;
        std::vector<double>& kind = kinds[curve.together];
        if (curve.together.isEmpty() || (!kind.empty() && kind.size() <= mostOfAKind)) {
            parts += tr("%1 %2 °C").arg(curve.name, figure(*value, 1));
        } else if (!kind.empty()) {
            parts += tr("%1 %2 %3 to %4 °C")
                         .arg(kind.size())
                         .arg(curve.together, figure(std::ranges::min(kind), 1),
                              figure(std::ranges::max(kind), 1));
            kind.clear();
        }
    }
    const double near = (toS_ - fromS_) / 100;
    for (const PlotPoint& point : points_)
        if (std::abs(point.timeS - timeS) <= near)
            parts += tr("%1 at %2").arg(point.name, clockText(point.timeS));
    return parts.join(QStringLiteral("\n"));
}

} // namespace stripwright
