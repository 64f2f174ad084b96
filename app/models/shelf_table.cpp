#include "models/shelf_table.h"

#include "models/wording.h"

#include <algorithm>

namespace stripwright {

namespace {

QString celsius(double value)
{
    return figure(value, 0) + QStringLiteral(" °C");
}

QString size(double lengthMm, double widthMm, double heightMm)
{
    return QStringLiteral("%1 × %2 × %3 mm")
        .arg(figure(lengthMm, 1), figure(widthMm, 1), figure(heightMm, 1));
}

} // namespace

ShelfTable::ShelfTable(const Shelf& shelf, QObject* parent) : QAbstractTableModel(parent)
{
    const auto add = [this](const QString& kind, const auto& entry, const QString& figures) {
        rows_.push_back({kind, QString::fromStdString(entry.id), QString::fromStdString(entry.name), figures,
                         QString::fromStdString(entry.source), entry.habit});
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
            tr("%1, body up to %2, reflow passes: %3")
                .arg(size(led.lengthMm, led.widthMm, led.heightMm), celsius(led.bodyMaxC))
                .arg(led.passesAllowed));
    for (const Lens& lens : shelf.lenses)
        add(tr("lens"), lens,
            tr("%1, foot up to %2, optic up to %3")
                .arg(QString::fromStdString(lens.material), celsius(lens.footMaxC), celsius(lens.bodyMaxC)));
    for (const Glue& glue : shelf.glues)
        add(tr("glue"), glue,
            glue.letsGo ? tr("holds to %1, lets go from %2").arg(celsius(glue.maxC), celsius(glue.letsGoC))
                        : tr("holds to %1, never softens").arg(celsius(glue.maxC)));
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
        return QStringList{row.kind,    row.id,     row.name,
                           row.figures, row.source, row.habit ? tr("trade habit") : ""}
            .join(' ');
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
        return row.habit ? tr("trade habit") : tr("sourced");
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
