#include "models/margin_table.h"

#include "models/wording.h"

namespace stripwright {

void MarginTable::setRows(std::vector<MarginRow> rows)
{
    // A live table is refreshed several times a second: keep selection and scroll place while the rows stay
    // the same.
    if (rows.size() == rows_.size()) {
        rows_ = std::move(rows);
        if (!rows_.empty())
            emit dataChanged(index(0, 0), index(int(rows_.size()) - 1, ColumnCount - 1));
        return;
    }
    beginResetModel();
    rows_ = std::move(rows);
    endResetModel();
}

void MarginTable::setPlanned(const std::vector<MarginRow>& rows)
{
    beginResetModel();
    planned_.clear();
    for (const MarginRow& row : rows)
        planned_.emplace(row.limit.id, row);
    endResetModel();
}

void MarginTable::setValueTitle(const QString& title)
{
    valueTitle_ = title;
    emit headerDataChanged(Qt::Horizontal, ValueColumn, ValueColumn);
}

QVariant MarginTable::data(const QModelIndex& index, int role) const
{
    const MarginRow& row = rows_[size_t(index.row())];
    if (role == Qt::TextAlignmentRole && index.column() >= PlannedColumn && index.column() <= MarginColumn)
        return QVariant(Qt::AlignRight | Qt::AlignVCenter);
    const auto planned = planned_.find(row.limit.id);
    const QString plannedText = planned == planned_.end() ? QString() : spanText(planned->second);
    if (role == Qt::ToolTipRole)
        return (plannedText.isEmpty() ? QString() : tr("planned %1\n").arg(plannedText)) +
               tr("%1\nallowed %2%3\n%4, margin %5, %6 of its tolerance")
                   .arg(QString::fromStdString(row.limit.what), allowedText(row.limit),
                        row.limit.habit ? tr(" (trade habit: aimed at, breaking it forbids nothing)")
                                        : QString(),
                        spanText(row), marginText(row.limit, row.margin), shareText(row));
    if (role != Qt::DisplayRole && role != Qt::AccessibleTextRole)
        return {};
    switch (index.column()) {
    case LimitColumn:
        return QString::fromStdString(row.limit.what);
    case PlannedColumn:
        return plannedText;
    case ValueColumn:
        return spanText(row);
    case AllowedColumn:
        return allowedText(row.limit);
    case MarginColumn:
        return marginText(row.limit, row.margin);
    case BarColumn:
        return role == Qt::AccessibleTextRole ? QVariant(inWords(stateOf(row))) : QVariant();
    }
    return {};
}

QVariant MarginTable::headerData(int section, Qt::Orientation orientation, int role) const
{
    if (orientation != Qt::Horizontal)
        return {};
    if (role == Qt::TextAlignmentRole)
        return QVariant(
            (section >= PlannedColumn && section <= MarginColumn ? Qt::AlignRight : Qt::AlignLeft) |
            Qt::AlignVCenter);
    if (role == Qt::ToolTipRole)
        return tr("Order: %1.").arg(orderOfLimitsText());
    if (role != Qt::DisplayRole)
        return {};
    switch (section) {
    case LimitColumn:
        return tr("limit, tightest first");
    case PlannedColumn:
        return tr("planned");
    case ValueColumn:
        return valueTitle_;
    case AllowedColumn:
        return tr("allowed");
    case MarginColumn:
        return tr("margin");
    case BarColumn:
        return tr("room");
    }
    return {};
}

} // namespace stripwright
