#pragma once

#include "analysis/limits.h"

#include <QAbstractTableModel>

#include <map>

namespace stripwright {

/// Limits with predicted or measured values, in the order given (worst first). The same table serves a plan,
/// a run in progress and a recorded run.
class MarginTable : public QAbstractTableModel {
    Q_OBJECT
public:
    enum Column {
        LimitColumn,
        PlannedColumn,
        ValueColumn,
        AllowedColumn,
        MarginColumn,
        BarColumn,
        ColumnCount
    };

    explicit MarginTable(QObject* parent = nullptr) : QAbstractTableModel(parent) {}

    void setRows(std::vector<MarginRow> rows);
    /// Rows to compare with, matched by limit id; the planned column is empty without them.
    void setPlanned(const std::vector<MarginRow>& rows);
    void setValueTitle(const QString& title); ///< "predicted", "measured".
    const MarginRow& row(int index) const { return rows_[size_t(index)]; }
    bool hasPlanned() const { return !planned_.empty(); }

    int rowCount(const QModelIndex& parent = {}) const override
    {
        return parent.isValid() ? 0 : int(rows_.size());
    }
    int columnCount(const QModelIndex& parent = {}) const override
    {
        return parent.isValid() ? 0 : ColumnCount;
    }
    QVariant data(const QModelIndex& index, int role) const override;
    QVariant headerData(int section, Qt::Orientation orientation, int role) const override;

private:
    std::vector<MarginRow> rows_;
    std::map<std::string, MarginRow> planned_;
    QString valueTitle_ = tr("predicted");
};

} // namespace stripwright
