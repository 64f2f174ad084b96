#include "widgets/wrapped_list.h"

#include "widgets/look.h"

#include <QPainter>
#include <QScrollBar>
#include <QStyledItemDelegate>

namespace stripwright {

namespace {

constexpr int wrapFlags = Qt::TextWordWrap | Qt::AlignLeft | Qt::AlignTop;

// The stock delegate measures a text in one way and draws it in another: last words are lost.
class WholeText : public QStyledItemDelegate {
public:
    explicit WholeText(QListWidget* list) : QStyledItemDelegate(list), list_(list) {}

    QSize sizeHint(const QStyleOptionViewItem& option, const QModelIndex& index) const override
    {
        const int width = list_->viewport()->width() - 2 * (space::xs + list_->spacing());
        const QRect room(0, 0, std::max(40, width), 100000);
        const QFontMetrics metrics(fontOf(option, index));
        return {0, metrics.boundingRect(room, wrapFlags, index.data().toString()).height() + 2};
    }

    void paint(QPainter* painter, const QStyleOptionViewItem& option, const QModelIndex& index) const override
    {
        painter->save();
        if (option.state & QStyle::State_Selected)
            painter->fillRect(option.rect, look().line);
        painter->setFont(fontOf(option, index));
        painter->setPen(look().ink);
        painter->drawText(option.rect.adjusted(space::xs, 1, -space::xs, 1), wrapFlags,
                          index.data().toString());
        painter->restore();
    }

private:
    QFont fontOf(const QStyleOptionViewItem& option, const QModelIndex& index) const
    {
        const QVariant own = index.data(Qt::FontRole);
        return own.isValid() ? own.value<QFont>() : option.font;
    }

    QListWidget* list_;
};

} // namespace

WrappedList::WrappedList(const QString& accessibleName, QWidget* parent) : QListWidget(parent)
{
    setAccessibleName(accessibleName);
    setItemDelegate(new WholeText(this));
    setResizeMode(Adjust);
    setSpacing(space::xs / 2);
    setVerticalScrollMode(ScrollPerPixel);
    setHorizontalScrollBarPolicy(Qt::ScrollBarAlwaysOff);
    setVerticalScrollBarPolicy(Qt::ScrollBarAlwaysOn); // else the width it measures by is not the one it gets
}

void WrappedList::resizeEvent(QResizeEvent* event)
{
    const bool atEnd = followsEnd_ && verticalScrollBar()->value() == verticalScrollBar()->maximum();
    QListWidget::resizeEvent(event);
    if (atEnd)
        QMetaObject::invokeMethod(this, &QListWidget::scrollToBottom, Qt::QueuedConnection);
    if (event->size().width() != event->oldSize().width())
        scheduleDelayedItemsLayout();
}

} // namespace stripwright
