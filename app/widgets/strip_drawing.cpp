#include "widgets/strip_drawing.h"

#include "models/sheet_model.h"
#include "models/wording.h"
#include "widgets/look.h"

#include <QAccessible>
#include <QHelpEvent>
#include <QKeyEvent>
#include <QMouseEvent>
#include <QToolTip>

#include <algorithm>
#include <cmath>

namespace stripwright {

namespace {

constexpr double leastClickPx = 10;
constexpr double endRoomPx = 60; // the connector at the left, half a lens at the right

/// Which part a row about a lens is about: of foot and glue the one whose limit it is.
QString partOf(const MarginRow& row, const StripType& strip)
{
    if (row.limit.station.kind != StationKind::Glue)
        return StripDrawing::tr("lens");
    const double limitC = row.limit.max.value_or(0);
    const bool glue = strip.glue && strip.glue->holdC <= limitC,
               foot = strip.lens && strip.lens->footMaxC <= limitC;
    return glue == foot ? StripDrawing::tr("foot and glue")
           : glue       ? StripDrawing::tr("glue")
                        : StripDrawing::tr("foot");
}

} // namespace

StripDrawing::StripDrawing(QWidget* parent) : QWidget(parent)
{
    setObjectName("stripDrawing");
    setFocusPolicy(Qt::StrongFocus);
    setMouseTracking(true);
    setSizePolicy(QSizePolicy::Expanding, QSizePolicy::Fixed);
    setAccessibleName(tr("Strip"));
}

QSize StripDrawing::sizeHint() const
{
    const int line = QFontMetrics(typeFont(Type::Secondary)).height();
    return {900, int(stripRect().height()) + 4 * line + 18 + 3 * space::m};
}

QSize StripDrawing::minimumSizeHint() const
{
    return {400, sizeHint().height()};
}

void StripDrawing::setSheet(const BenchSheet& sheet)
{
    if (sheet != sheet_)
        heat_.reset();
    sheet_ = sheet;
    currentSite_ = std::clamp(currentSite_, 1, std::max(1, int(sheet_.sites.size())));
    updateGeometry();
    tellSummary();
    update();
}

void StripDrawing::setPlan(const std::shared_ptr<const HeatPlan>& plan)
{
    lensRows_.clear();
    broken_.clear();
    if (plan && plan->sheet.strip.id == sheet_.strip.id) {
        std::vector<MarginRow> rows = plan->margins;
        sortWorstFirst(rows);
        for (const MarginRow& row : rows) {
            if (const int site = lensSiteOf(row.limit); site > 0 && hottestOf(row))
                lensRows_.try_emplace(site, row);
            if (const int site = row.limit.station.site; site > 0 && stateOf(row) == RowState::Broken)
                broken_.try_emplace(site, row);
        }
    }
    tellSummary();
    update();
}

void StripDrawing::setHeat(const std::shared_ptr<const HeatPlan>& heat)
{
    heat_ = heat;
    tellSummary();
    update();
}

double StripDrawing::plateStartMm() const
{
    return heat_ ? heat_->sheet.plateStartMm : sheet_.plateStartMm;
}

bool StripDrawing::inThisHeat(int site) const
{
    return !heat_ || heat_->sheet.sites.at(size_t(site) - 1).state == SiteState::Replace;
}

QString StripDrawing::plateName() const
{
    const double startMm = plateStartMm();
    const QString text = tr("%1, %2–%3 mm")
                             .arg(QString::fromStdString(sheet_.plate.name), placeFigure(startMm),
                                  placeFigure(startMm + sheet_.plate.lengthMm));
    return heat_ ? tr("heat %1 of %2: %3").arg(heat_->heat).arg(heat_->ofHeats).arg(text) : text;
}

double StripDrawing::mmPerPixel() const
{
    const double room = std::max(100.0, width() - 2 * endRoomPx);
    return std::max(1.0, sheet_.strip.lengthMm) / room;
}

double StripDrawing::xOf(double mm) const
{
    return endRoomPx + mm / mmPerPixel();
}

QRectF StripDrawing::stripRect() const
{
    const int line = QFontMetrics(typeFont(Type::Secondary)).height();
    const double high = std::clamp(sheet_.strip.widthMm / mmPerPixel(), 36.0, 72.0);
    return {xOf(0), double(2 * line + space::s), sheet_.strip.lengthMm / mmPerPixel(), high};
}

QRectF StripDrawing::siteRect(int site) const
{
    const size_t i = size_t(site) - 1;
    if (site < 1 || i >= sheet_.strip.siteXMm.size())
        return {};
    const double across = std::max(leastClickPx, sheet_.strip.led.widthMm / mmPerPixel());
    const double along = std::max(leastClickPx, sheet_.strip.led.lengthMm / mmPerPixel());
    const QPointF middle(xOf(sheet_.strip.siteXMm[i]), stripRect().center().y());
    return {middle.x() - along / 2, middle.y() - across / 2, along, across};
}

QRectF StripDrawing::plateRect() const
{
    const QRectF strip = stripRect();
    return {xOf(plateStartMm()), strip.bottom() + 3, sheet_.plate.lengthMm / mmPerPixel(), 18};
}

int StripDrawing::siteAt(QPointF at) const
{
    const QRectF strip = stripRect();
    if (at.y() < 0 || at.y() > strip.bottom() + space::s)
        return 0;
    int nearest = 0;
    double best = 1e9;
    for (const SiteOnBench& site : sheet_.sites) {
        const double away = std::abs(siteRect(site.site).center().x() - at.x());
        if (away < best) {
            best = away;
            nearest = site.site;
        }
    }
    const double reach =
        std::max(12.0, sheet_.strip.lens ? sheet_.strip.lens->diameterMm / 2 / mmPerPixel() : 0.0);
    return best <= reach ? nearest : 0;
}

void StripDrawing::setCurrent(int site, bool plate)
{
    const bool moved = site != currentSite_ || plate != plateCurrent_;
    currentSite_ = std::clamp(site, 1, std::max(1, int(sheet_.sites.size())));
    plateCurrent_ = plate;
    if (!moved)
        return;
    tellSummary();
    update();
    emit currentSiteChanged(plate ? 0 : currentSite_);
}

void StripDrawing::mousePressEvent(QMouseEvent* event)
{
    if (event->button() != Qt::LeftButton)
        return;
    if (plateRect().adjusted(0, -space::xs, 0, space::xs).contains(event->position())) {
        setCurrent(currentSite_, true);
        dragGripMm_ = (event->position().x() - plateRect().left()) * mmPerPixel();
        return;
    }
    if (const int site = siteAt(event->position())) {
        setCurrent(site, false);
        emit replaceToggled(site);
    }
}

void StripDrawing::mouseMoveEvent(QMouseEvent* event)
{
    if (dragGripMm_) {
        const double mm = (event->position().x() - endRoomPx) * mmPerPixel() - *dragGripMm_;
        emit plateMoved(std::round(mm), true);
        return;
    }
    const bool overPlate = plateRect().contains(event->position());
    setCursor(overPlate                   ? Qt::SizeHorCursor
              : siteAt(event->position()) ? Qt::PointingHandCursor
                                          : Qt::ArrowCursor);
}

void StripDrawing::mouseReleaseEvent(QMouseEvent*)
{
    if (dragGripMm_ && !heat_) // else nothing was moved: a changed sheet has ended it
        emit plateMoved(sheet_.plateStartMm, false);
    dragGripMm_.reset();
}

void StripDrawing::keyPressEvent(QKeyEvent* event)
{
    const int way = event->key() == Qt::Key_Left ? -1 : event->key() == Qt::Key_Right ? 1 : 0;
    if (plateCurrent_ && way != 0)
        emit plateMoved(plateStartMm() + way * (event->modifiers() & Qt::ShiftModifier ? 10 : 1), false);
    else if (way != 0)
        setCurrent(currentSite_ + way, false);
    else if (event->key() == Qt::Key_Down)
        setCurrent(currentSite_, true);
    else if (event->key() == Qt::Key_Up)
        setCurrent(currentSite_, false);
    else if (event->key() == Qt::Key_Home || event->key() == Qt::Key_End)
        setCurrent(event->key() == Qt::Key_Home ? 1 : int(sheet_.sites.size()), false);
    else if (!plateCurrent_ && (event->key() == Qt::Key_Space || event->key() == Qt::Key_R))
        emit replaceToggled(currentSite_);
    else if (!plateCurrent_ && event->key() == Qt::Key_L && sheet_.strip.lens)
        emit lensToggled(currentSite_);
    else
        event->ignore();
}

void StripDrawing::focusInEvent(QFocusEvent* event)
{
    QWidget::focusInEvent(event);
    tellSummary();
    update();
}

void StripDrawing::focusOutEvent(QFocusEvent* event)
{
    QWidget::focusOutEvent(event);
    update();
}

bool StripDrawing::event(QEvent* event)
{
    if (event->type() != QEvent::ToolTip)
        return QWidget::event(event);
    const auto* help = static_cast<QHelpEvent*>(event);
    if (const int site = siteAt(help->pos()))
        QToolTip::showText(help->globalPos(), siteText(site), this);
    else if (plateRect().contains(help->pos()))
        QToolTip::showText(help->globalPos(),
                           tr("%1. Drag it, or press Down and use the arrows.").arg(plateName()), this);
    else
        QToolTip::hideText();
    return true;
}

QString StripDrawing::siteText(int number) const
{
    if (number < 1 || size_t(number) > sheet_.sites.size())
        return {};
    const SiteOnBench& site = sheet_.sites[size_t(number) - 1];
    QString text = tr("Site %1 at %2 mm: %3")
                       .arg(number)
                       .arg(placeFigure(sheet_.strip.siteXMm[size_t(number) - 1]),
                            site.state != SiteState::Replace ? tr("LED stays")
                            : inThisHeat(number)             ? tr("LED to replace")
                                                             : tr("LED to replace, in another heat"));
    if (const auto row = broken_.find(number); row != broken_.end())
        text += tr(", breaks a limit: %1, %2")
                    .arg(QString::fromStdString(row->second.limit.what),
                         marginText(row->second.limit, row->second.margin));
    if (!sheet_.strip.lens)
        return text;
    if (sheet_.lensToRelease(number))
        text += tr(", its lens is released in this heat");
    else if (sheet_.lensStaysOn(number))
        text += tr(", lens stays");
    else if (site.state == SiteState::Replace && site.lens == LensState::On)
        text += tr(", its lens comes off");
    else
        text += tr(", lens off");
    if (const auto row = lensRows_.find(number); row != lensRows_.end())
        text += tr(", predicted up to %1 °C at its %2 (%3 to the limit of %4)")
                    .arg(figure(*hottestOf(row->second), 0), partOf(row->second, sheet_.strip),
                         marginText(row->second.limit, row->second.margin),
                         valueText(row->second.limit, *row->second.limit.max)) +
                (row->second.limit.habit ? tr(", trade habit") : QString());
    return text;
}

QString StripDrawing::summary() const
{
    const std::vector<int> targets = sheet_.targets();
    QString text = tr("Strip of %1 mm, sites 1 to %2. ")
                       .arg(placeFigure(sheet_.strip.lengthMm))
                       .arg(sheet_.sites.size());
    if (sheet_.heat == HeatKind::Release)
        text += targets.empty() ? tr("No lens is marked for release. ")
                                : tr("Lenses to release: site %1. ").arg(sitesText(targets));
    else
        text += targets.empty() ? tr("No LED is marked for replacement. ")
                                : tr("To replace: site %1. ").arg(sitesText(targets));
    if (!broken_.empty()) {
        std::vector<int> sites;
        for (const auto& [site, row] : broken_)
            sites.push_back(site);
        text += tr("Limits are broken at site %1. ").arg(sitesText(sites));
    }
    const double startMm = plateStartMm();
    const QString from = placeFigure(startMm), to = placeFigure(startMm + sheet_.plate.lengthMm);
    return text + (heat_ ? tr("In heat %1 of %2, at site %3, the plate reaches from %4 to %5 mm.")
                               .arg(heat_->heat)
                               .arg(heat_->ofHeats)
                               .arg(sitesText(heat_->sheet.targets()), from, to)
                         : tr("The plate reaches from %1 to %2 mm.").arg(from, to));
}

void StripDrawing::tellSummary()
{
    setAccessibleDescription(summary() + ' ' +
                             (plateCurrent_ ? tr("The plate is chosen.") : siteText(currentSite_)));
    if (hasFocus()) {
        QAccessibleEvent changed(this, QAccessible::DescriptionChanged);
        QAccessible::updateAccessibility(&changed);
    }
}

} // namespace stripwright
