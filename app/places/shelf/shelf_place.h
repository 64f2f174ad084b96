#pragma once

#include "materials/shelf.h"

#include <QWidget>

class QLabel;
class QLineEdit;
class QSortFilterProxyModel;
class QTableView;

namespace stripwright {

class ShelfTable;

/// Every material and plate that a sheet can name, with its source.
class ShelfPlace : public QWidget {
    Q_OBJECT
public:
    ShelfPlace(const Shelf& shelf, const QString& userFolder, QWidget* parent = nullptr);
    void setShelf(const Shelf& shelf);

private:
    void showChosen();
    void tellCount();

    ShelfTable* table_;
    QSortFilterProxyModel *byKind_, *bySearch_;
    QTableView* view_;
    QLineEdit* search_;
    QLabel *count_, *name_, *detail_, *source_;
};

} // namespace stripwright
