#include "models/sites_table.h"

#include "models/wording.h"

#include <algorithm>
#include <cmath>
#include <limits>

namespace stripwright {

void SitesTable::setSheet(const BenchSheet& sheet)
{
    const bool sameRows = sheet.sites.size() == sheet_.sites.size();
    if (!sameRows)
        beginResetModel();
    sheet_ = sheet;
    if (!sameRows)
        endResetModel();
    else if (!sheet_.sites.empty())
        emit dataChanged(index(0, 0), index(rowCount() - 1, ColumnCount - 1));
}

void SitesTable::setPlan(const std::shared_ptr<const HeatPlan>& plan)
{
    tightest_.clear();
    if (plan && plan->sheet.strip == sheet_.strip)
        for (const MarginRow& row : plan->margins) {
            const int site = row.limit.station.site;
            if (site < 1 || row.limit.metric != Metric::Peak || row.limit.habit || !std::isfinite(row.margin))
                continue;
            const auto [place, fresh] = tightest_.try_emplace(site, row);
            if (!fresh && row.normalisedMargin < place->second.normalisedMargin)
                place->second = row;
        }
    if (!sheet_.sites.empty())
        emit dataChanged(index(0, PeakColumn), index(rowCount() - 1, RoomColumn));
}

QVariant SitesTable::data(const QModelIndex& index, int role) const
{
    const SiteOnBench& site = sheet_.sites[size_t(index.row())];
    const bool replace = site.state == SiteState::Replace;
    const bool inWords =
        index.column() == LedColumn || index.column() == LensColumn || index.column() == PeakColumn;
    if (role == Qt::TextAlignmentRole)
        return QVariant((inWords ? Qt::AlignLeft : Qt::AlignRight) | Qt::AlignVCenter);
    const auto found = tightest_.find(site.site);
    if (role == Qt::ToolTipRole && found != tightest_.end())
        return QString::fromStdString(found->second.limit.what) + '\n' + spanText(found->second);
    if (role != Qt::DisplayRole)
        return {};
    switch (index.column()) {
    case SiteColumn:
        return site.site;
    case PlaceColumn:
        return placeText(sheet_.strip.siteXMm[size_t(index.row())]);
    case LedColumn:
        return replace ? tr("replace") : site.state == SiteState::Later ? tr("another heat") : tr("stays");
    case LensColumn:
        return lensText(sheet_, site.site);
    case PeakColumn: {
        if (found == tightest_.end())
            return {};
        const MarginRow& row = found->second;
        const auto margin = [&](const std::optional<double>& value) {
            return value ? marginOf(row.limit, value) : std::numeric_limits<double>::infinity();
        };
        const auto worst = std::min({row.low, row.nominal, row.high},
                                    [&](const auto& a, const auto& b) { return margin(a) < margin(b); });
        return worst ? tr("%1 %2").arg(stationText(row.limit.station).section(' ', 0, 0),
                                       valueText(row.limit, *worst))
                     : QVariant();
    }
    case RoomColumn:
        return found == tightest_.end()
                   ? QVariant()
                   : QVariant((found->second.margin < 0 ? QStringLiteral("▲ ") : QString()) +
                              marginText(found->second.limit, found->second.margin));
    }
    return {};
}

QVariant SitesTable::headerData(int section, Qt::Orientation orientation, int role) const
{
    if (orientation != Qt::Horizontal)
        return {};
    if (role == Qt::TextAlignmentRole) {
        const bool inWords = section == LedColumn || section == LensColumn || section == PeakColumn;
        return QVariant((inWords ? Qt::AlignLeft : Qt::AlignRight) | Qt::AlignVCenter);
    }
    if (role == Qt::ToolTipRole && section >= PeakColumn)
        return tr("The part of the site whose peak leaves the smallest share of its window");
    if (role != Qt::DisplayRole)
        return {};
    const QStringList titles{tr("site"), tr("at"), tr("LED"), tr("lens"), tr("tightest peak"), tr("room")};
    return titles.value(section);
}

} // namespace stripwright
