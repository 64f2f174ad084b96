#include "models/shelf_table.h"

#include "models/wording.h"

#include <algorithm>

namespace stripwright {

namespace {

QString celsius(double value)
{
    return figure(value, 0) + QStringLiteral(" °C");
}

bool anyHabit(const auto& entry)
{
    return entry.habit.any();
}

bool anyHabit(const Paste& paste)
{
    const auto has = [](const Window& window) { return window.minIsHabit || window.maxIsHabit; };
    return paste.habit.any() || has(paste.rampCPerS) || has(paste.soakBandC) || has(paste.soakTimeS) ||
           has(paste.aboveLiquidusS) || has(paste.peakC) || has(paste.coolingCPerS) || has(paste.timeToPeakS);
}

bool anyHabit(const StripType& strip)
{
    return strip.habit.any() || strip.core.habit.any() || strip.dielectric.habit.any() ||
           strip.copper.habit.any();
}

QString size(double lengthMm, double widthMm, double heightMm)
{
    return QStringLiteral("%1 × %2 × %3 mm")
        .arg(figure(lengthMm, 1), figure(widthMm, 1), figure(heightMm, 1));
}

QString standing(const auto& entry)
{
    if (entry.habit.whole)
        return ShelfTable::tr("trade habit");
    return anyHabit(entry) ? ShelfTable::tr("partly trade habit") : ShelfTable::tr("sourced");
}

} // namespace

ShelfTable::ShelfTable(const Shelf& shelf, QObject* parent) : QAbstractTableModel(parent)
{
    setShelf(shelf);
}

void ShelfTable::setShelf(const Shelf& shelf)
{
    beginResetModel();
    rows_.clear();
    const auto add = [this](const QString& kind, const auto& entry, const QString& figures) {
        rows_.push_back({kind, QString::fromStdString(entry.id), QString::fromStdString(entry.name), figures,
                         QString::fromStdString(entry.source), standing(entry)});
    };
    for (const Paste& paste : shelf.pastes)
        add(tr("paste"), paste,
            tr("%1; peak %2; above %3 for %4")
                .arg(QString::fromStdString(paste.alloy.name), windowText(paste.peakC, "°C", 0),
                     celsius(paste.countLiquidusC), windowText(paste.aboveLiquidusS, "s", 0)));
    for (const Alloy& alloy : shelf.alloys)
        add(tr("alloy"), alloy,
            tr("solidus %1, liquidus %2, movable above %3")
                .arg(celsius(alloy.solidusC), celsius(alloy.liquidusC), celsius(alloy.movableAboveC)));
    for (const StripType& strip : shelf.strips)
        add(tr("strip type"), strip,
            tr("%1 × %2 mm, %3 %4 mm, sites: %5")
                .arg(figure(strip.lengthMm, 0), figure(strip.widthMm, 0),
                     QString::fromStdString(strip.core.alloy), figure(strip.core.thicknessMm, 1))
                .arg(strip.siteXMm.size()));
    for (const LedPackage& led : shelf.leds)
        add(tr("LED"), led,
            size(led.lengthMm, led.widthMm, led.heightMm) +
                (led.forwardVoltageV > 0
                     ? tr(", %1 W at %2 V").arg(figure(led.powerW, 1), figure(led.forwardVoltageV, 0))
                     : QString()) +
                tr(", body up to %1, reflow passes: %2").arg(celsius(led.bodyMaxC)).arg(led.passesAllowed));
    for (const Lens& lens : shelf.lenses)
        add(tr("lens"), lens,
            tr("%1, Ø %2 × %3 mm, foot up to %4, optic up to %5")
                .arg(QString::fromStdString(lens.material), figure(lens.diameterMm, 0),
                     figure(lens.heightMm, 0), celsius(lens.footMaxC), celsius(lens.bodyMaxC)));
    for (const Glue& glue : shelf.glues)
        add(tr("glue"), glue,
            glue.letsGo ? tr("holds to %1, lets go between %2 and %3")
                              .arg(celsius(glue.holdC), celsius(glue.releaseLowC), celsius(glue.releaseHighC))
                        : tr("holds to %1, never softens").arg(celsius(glue.holdC)));
    for (const CoreAlloy& alloy : shelf.coreAlloys)
        add(tr("core alloy"), alloy,
            alloy.conductivityLowWPerMK && alloy.conductivityHighWPerMK
                ? tr("%1 W/mK, %2 to %3")
                      .arg(figure(alloy.conductivityWPerMK, 0), figure(*alloy.conductivityLowWPerMK, 0),
                           figure(*alloy.conductivityHighWPerMK, 0))
                : tr("%1 W/mK").arg(figure(alloy.conductivityWPerMK, 0)));
    for (const PlateType& plate : shelf.plates)
        add(tr("plate"), plate,
            tr("%1, %2 W, up to %3")
                .arg(size(plate.lengthMm, plate.widthMm, plate.thicknessMm), figure(plate.powerW, 0),
                     celsius(plate.maxC)));
    for (const ContactCondition& contact : shelf.contacts)
        add(tr("contact"), contact,
            tr("%1 to %2 W/m²K, nominal %3")
                .arg(figure(contact.lowWPerM2K, 0), figure(contact.highWPerM2K, 0),
                     figure(contact.nominalWPerM2K, 0)));
    for (const SinkBlock& block : shelf.sinkBlocks)
        add(tr("sink block"), block,
            tr("%1 mm long, %2 J/K").arg(figure(block.lengthMm, 0), figure(block.heatCapacityJPerK, 0)));
    endResetModel();
}

QStringList ShelfTable::kinds() const
{
    QStringList kinds;
    for (const Row& row : rows_)
        if (!kinds.contains(row.kind))
            kinds += row.kind;
    return kinds;
}

QVariant ShelfTable::data(const QModelIndex& index, int role) const
{
    const Row& row = rows_[size_t(index.row())];
    if (role == IdRole)
        return row.id;
    if (role == SearchRole)
        return QStringList{row.kind, row.id, row.name, row.figures, row.source, row.standing}.join(' ');
    if (role == Qt::ToolTipRole)
        return QStringList{row.id, row.figures, tr("source: %1").arg(row.source)}.join('\n');
    if (role != Qt::DisplayRole)
        return {};
    switch (index.column()) {
    case KindColumn:
        return row.kind;
    case NameColumn:
        return row.name;
    case FiguresColumn:
        return row.figures;
    case HabitColumn:
        return row.standing;
    case SourceColumn:
        return row.source;
    }
    return {};
}

QVariant ShelfTable::headerData(int section, Qt::Orientation orientation, int role) const
{
    if (orientation != Qt::Horizontal || role != Qt::DisplayRole)
        return orientation == Qt::Horizontal && role == Qt::TextAlignmentRole
                   ? QVariant(Qt::AlignLeft | Qt::AlignVCenter)
                   : QVariant();
    const QStringList titles{tr("kind"), tr("name"), tr("figures"), tr("standing"), tr("source")};
    return titles.value(section);
}

} // namespace stripwright
