#include "widgets/margin_ladder.h"

#include "models/margin_table.h"
#include "models/wording.h"
#include "widgets/look.h"

#include <QApplication>
#include <QClipboard>
#include <QHeaderView>
#include <QKeyEvent>
#include <QPainter>
#include <QStyledItemDelegate>
#include <QTextLayout>

#include <algorithm>

namespace stripwright {

namespace {

// The bar is full at a margin of half the window: as far inside as one can be.
constexpr double fullBar = 1.0;

QString stateTag(RowState state)
{
    return QStringLiteral("▲ ") + inWords(state) + QStringLiteral("  ");
}

QString habitTag()
{
    return QCoreApplication::translate("MarginLadder", "habit");
}

int boldWidth(const QString& text)
{
    QFont bold = typeFont(Type::Base);
    bold.setBold(true);
    return QFontMetrics(bold).horizontalAdvance(text);
}

// Wrapped to the width, its first line begun behind the tag of what is not kept. Returns the lines.
int layOutName(QTextLayout& layout, const MarginRow& row, double columnPx, const QFontMetrics& metrics)
{
    const RowState state = stateOf(row);
    const double tagPx = state == RowState::Kept ? 0 : boldWidth(stateTag(state));
    const double habitPx =
        state == RowState::Kept && row.limit.habit ? metrics.horizontalAdvance(habitTag()) + space::s : 0;
    QTextOption wraps;
    wraps.setWrapMode(QTextOption::WrapAtWordBoundaryOrAnywhere);
    layout.setTextOption(wraps);
    layout.beginLayout();
    int lines = 0;
    for (QTextLine line = layout.createLine(); line.isValid(); line = layout.createLine(), ++lines) {
        const double fromPx = lines == 0 ? tagPx : 0;
        line.setLineWidth(std::max(20.0, columnPx - 2 * space::s - habitPx - fromPx));
        line.setPosition({fromPx, double(lines * metrics.height())});
    }
    layout.endLayout();
    return std::max(1, lines);
}

class RungDelegate : public QStyledItemDelegate {
public:
    RungDelegate(const MarginTable* table, QObject* parent) : QStyledItemDelegate(parent), table_(table) {}

    QSize sizeHint(const QStyleOptionViewItem& option, const QModelIndex&) const override
    {
        return {80, option.fontMetrics.height() + 2 * space::xs};
    }

    void paint(QPainter* painter, const QStyleOptionViewItem& option, const QModelIndex& index) const override
    {
        const MarginRow& row = table_->row(index.row());
        const RowState state = stateOf(row);
        painter->save();
        painter->setRenderHint(QPainter::Antialiasing);
        const bool broken = state == RowState::Broken;
        painter->fillRect(option.rect, broken ? look().abnormal : look().surface);
        if (option.state & QStyle::State_Selected) {
            QColor tint = look().focus;
            tint.setAlphaF(broken ? 0.0f : 0.14f);
            painter->fillRect(option.rect, tint);
        }
        const QColor ink = broken ? look().onAbnormal : look().ink;
        painter->setPen(ink);
        const QRect inside = option.rect.adjusted(space::s, 0, -space::s, 0);
        if (index.column() == MarginTable::BarColumn)
            paintBar(painter, inside, row, state, ink);
        else
            paintText(painter, inside, index, row, state, ink, option);
        painter->setPen(look().line);
        painter->drawLine(option.rect.bottomLeft(), option.rect.bottomRight());
        painter->restore();
    }

private:
    void paintText(QPainter* painter, QRect inside, const QModelIndex& index, const MarginRow& row,
                   RowState state, const QColor& ink, const QStyleOptionViewItem& option) const
    {
        const QString text = index.data().toString();
        const auto alignment = Qt::Alignment(index.data(Qt::TextAlignmentRole).toInt()) | Qt::AlignVCenter;
        if (index.column() == MarginTable::LimitColumn) {
            QTextLayout name(text, option.font);
            const int high = painter->fontMetrics().height(),
                      lines = layOutName(name, row, option.rect.width(), painter->fontMetrics());
            const QRectF first(inside.left(), inside.center().y() - lines * high / 2.0, inside.width(), high);
            if (state != RowState::Kept) {
                const QString sign = stateTag(state);
                QFont bold = option.font;
                bold.setBold(true);
                painter->setFont(bold);
                painter->drawText(first, Qt::AlignLeft | Qt::AlignVCenter, sign);
                painter->setFont(option.font);
            }
            if (row.limit.habit && state == RowState::Kept) {
                painter->setPen(look().muted);
                painter->drawText(first, Qt::AlignRight | Qt::AlignVCenter, habitTag());
            }
            painter->setPen(ink);
            painter->setClipRect(option.rect);
            name.draw(painter, first.topLeft());
            painter->setClipping(false);
            return;
        }
        if (index.column() == MarginTable::MarginColumn) {
            QFont bold = option.font;
            bold.setBold(true);
            painter->setFont(bold);
        }
        const bool quiet =
            index.column() == MarginTable::AllowedColumn || index.column() == MarginTable::PlannedColumn;
        painter->setPen(quiet && state != RowState::Broken ? look().muted : ink);
        painter->drawText(inside, int(alignment),
                          painter->fontMetrics().elidedText(text, Qt::ElideRight, inside.width()));
    }

    // From the edge of the limit: right is inside it, left is outside.
    void paintBar(QPainter* painter, QRect inside, const MarginRow& row, RowState state,
                  const QColor& ink) const
    {
        const double outside = inside.width() * 0.25, edge = inside.left() + outside;
        const QRectF lane(inside.left(), inside.center().y() - 4, inside.width(), 9);
        painter->setPen(state == RowState::Broken ? ink : look().muted);
        painter->drawLine(QPointF(edge, inside.top() + 3), QPointF(edge, inside.bottom() - 3));
        const double share = std::clamp(row.normalisedMargin / fullBar, -1.0, 1.0);
        QRectF bar(edge, lane.top(), share * (inside.width() - outside), lane.height());
        if (share < 0)
            bar = QRectF(edge + share * outside, lane.top(), -share * outside, lane.height());
        if (bar.width() < 2)
            bar.setWidth(2);
        painter->setPen(Qt::NoPen);
        QColor fill = state == RowState::Broken ? ink : look().ink;
        if (row.limit.habit && state != RowState::Broken) {
            painter->setPen(QPen(look().muted, 1));
            fill = Qt::transparent; // a habit's bar is only outlined
        } else if (state == RowState::Kept) {
            fill.setAlphaF(0.55f);
        }
        painter->setBrush(fill);
        painter->drawRect(bar);
    }

    const MarginTable* table_;
};

} // namespace

MarginLadder::MarginLadder(MarginTable* table, QWidget* parent) : QTableView(parent), table_(table)
{
    setObjectName("marginLadder");
    setModel(table);
    setItemDelegate(new RungDelegate(table, this));
    setShowGrid(false);
    setFont(typeFont(Type::Base));
    setSelectionBehavior(SelectRows);
    setEditTriggers(NoEditTriggers);
    setTabKeyNavigation(false);
    setWordWrap(false);
    setHorizontalScrollBarPolicy(Qt::ScrollBarAlwaysOff);
    verticalHeader()->hide();
    verticalHeader()->setDefaultSectionSize(fontMetrics().height() + 2 * space::xs);
    verticalHeader()->setMinimumSectionSize(10);
    horizontalHeader()->setSectionsClickable(false);
    horizontalHeader()->setHighlightSections(false);
    horizontalHeader()->setSectionResizeMode(QHeaderView::Fixed);
    horizontalHeader()->setFont(typeFont(Type::Secondary));
    setAccessibleName(tr("Margin ladder"));
    setAccessibleDescription(
        tr("Every limit as a row with its margin, in this order: %1.").arg(orderOfLimitsText()));
    connect(table, &QAbstractItemModel::modelReset, this, &MarginLadder::fitColumns);
    connect(table, &QAbstractItemModel::dataChanged, this, &MarginLadder::fitColumns);
}

void MarginLadder::resizeEvent(QResizeEvent* event)
{
    QTableView::resizeEvent(event);
    fitColumns();
}

// What the delegate writes in the first column.
static int nameWidth(const MarginRow& row, const QFontMetrics& metrics)
{
    const RowState state = stateOf(row);
    int width = metrics.horizontalAdvance(QString::fromStdString(row.limit.what)) + 2 * space::s + 2;
    if (state != RowState::Kept)
        width += boldWidth(stateTag(state));
    else if (row.limit.habit)
        width += metrics.horizontalAdvance(habitTag()) + space::s;
    return width;
}

// The bar takes what the words leave; on a narrow window the allowed column goes first, it stands in the tool
// tip too.
void MarginLadder::fitColumns()
{
    const QFontMetrics metrics = fontMetrics();
    const int figureWidth =
        metrics.horizontalAdvance(QStringLiteral("9 h 02 min · 9 h 02 min · 9 h 05 min")) + 2 * space::s + 4;
    const int allowedWidth = metrics.horizontalAdvance(QStringLiteral("at least 000.0 K/s")) + 2 * space::s;
    const int marginWidth = metrics.horizontalAdvance(QStringLiteral("+000.00 K/s")) + 2 * space::s;
    const int room = viewport()->width();
    int named = 0, valued = 0, plannedWidth = 0;
    for (int row = 0; row < table_->rowCount(); ++row) {
        named = std::max(named, nameWidth(table_->row(row), metrics));
        valued = std::max(valued, metrics.horizontalAdvance(spanText(table_->row(row))) + 2 * space::s + 2);
        const QString planned = table_->index(row, MarginTable::PlannedColumn).data().toString();
        plannedWidth = std::max(plannedWidth, metrics.horizontalAdvance(planned) + 2 * space::s + 2);
    }
    plannedWidth = std::min(figureWidth, std::max(plannedWidth, marginWidth));
    const int valueWidth = table_->hasPlanned()
                               ? metrics.horizontalAdvance(QStringLiteral("000.00 K/s")) + 2 * space::s
                               : std::min(figureWidth, std::max(valued, marginWidth));
    constexpr int leastWords = 170, leastBar = 70;
    int left = room - valueWidth - marginWidth;
    const bool planned = table_->hasPlanned() && left - plannedWidth >= leastWords + leastBar;
    left -= planned ? plannedWidth : 0;
    const int wantedWords = std::clamp(named, leastWords + 60, 420); // which comes before what is allowed
    const bool allowed = left - allowedWidth >= wantedWords + leastBar;
    left -= allowed ? allowedWidth : 0;
    setColumnHidden(MarginTable::PlannedColumn, !planned);
    setColumnHidden(MarginTable::AllowedColumn, !allowed);
    // What the longest name needs comes before a longer bar.
    const int bar = std::clamp(std::min(left * 2 / 5, left - named), leastBar, 420);
    setColumnWidth(MarginTable::PlannedColumn, plannedWidth);
    setColumnWidth(MarginTable::ValueColumn, valueWidth);
    setColumnWidth(MarginTable::AllowedColumn, allowedWidth);
    setColumnWidth(MarginTable::MarginColumn, marginWidth);
    setColumnWidth(MarginTable::BarColumn, bar);
    setColumnWidth(MarginTable::LimitColumn, std::max(120, left - bar));
    for (int row = 0; row < table_->rowCount(); ++row) { // a name that is longer still is wrapped
        QTextLayout name(QString::fromStdString(table_->row(row).limit.what), font());
        const int lines = layOutName(name, table_->row(row), columnWidth(MarginTable::LimitColumn), metrics);
        setRowHeight(row, lines * metrics.height() + 2 * space::xs);
    }
}

void MarginLadder::keyPressEvent(QKeyEvent* event)
{
    if (!event->matches(QKeySequence::Copy)) {
        QTableView::keyPressEvent(event);
        return;
    }
    QStringList lines;
    for (int row = 0; row < table_->rowCount(); ++row) {
        if (selectionModel()->hasSelection() && !selectionModel()->isRowSelected(row, {}))
            continue;
        QStringList cells;
        for (int column = 0; column < MarginTable::BarColumn; ++column)
            cells += table_->index(row, column).data().toString();
        lines += cells.join('\t');
    }
    QApplication::clipboard()->setText(lines.join('\n'));
}

} // namespace stripwright
