#pragma once

#include "materials/shelf.h"

#include <QAbstractTableModel>

namespace stripwright {

/// Every entry of the shelf as a row: kind, name, its leading figures in words, how much of it is trade
/// habit, source.
class ShelfTable : public QAbstractTableModel {
    Q_OBJECT
public:
    enum Column { KindColumn, NameColumn, FiguresColumn, HabitColumn, SourceColumn, ColumnCount };
    enum Role { IdRole = Qt::UserRole, SearchRole }; ///< SearchRole: all of the row's text in one string.

    explicit ShelfTable(const Shelf& shelf, QObject* parent = nullptr);

    void setShelf(const Shelf& shelf);
    QStringList kinds() const; ///< In shelf order, each once.
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
    struct Row {
        QString kind, id, name, figures, source, standing;
    };
    std::vector<Row> rows_;
};

} // namespace stripwright
