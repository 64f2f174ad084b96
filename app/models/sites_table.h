#pragma once

#include "planner/heat_plan.h"

#include <QAbstractTableModel>

#include <map>
#include <memory>

namespace stripwright {

/// The strip as a table: a row for each site with its marks and the tightest peak that the plan predicts
/// there.
class SitesTable : public QAbstractTableModel {
    Q_OBJECT
public:
    enum Column { SiteColumn, PlaceColumn, LedColumn, LensColumn, PeakColumn, RoomColumn, ColumnCount };

    explicit SitesTable(QObject* parent = nullptr) : QAbstractTableModel(parent) {}
    void setSheet(const BenchSheet& sheet);
    void setPlan(const std::shared_ptr<const HeatPlan>& plan); ///< Null: no predictions.

    int rowCount(const QModelIndex& parent = {}) const override
    {
        return parent.isValid() ? 0 : int(sheet_.sites.size());
    }
    int columnCount(const QModelIndex& parent = {}) const override
    {
        return parent.isValid() ? 0 : ColumnCount;
    }
    QVariant data(const QModelIndex& index, int role) const override;
    QVariant headerData(int section, Qt::Orientation orientation, int role) const override;

private:
    BenchSheet sheet_;
    std::map<int, MarginRow> tightest_; // by site: of joint, body, glue and lens the peak nearest its limit
};

} // namespace stripwright
