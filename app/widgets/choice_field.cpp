#include "widgets/choice_field.h"

#include "widgets/look.h"

#include <QCompleter>
#include <QLineEdit>
#include <QPainter>
#include <QStandardItemModel>

namespace stripwright {

namespace {

/// Shows that there is more than there is room for.
class ElidingEdit : public QLineEdit {
public:
    using QLineEdit::QLineEdit;

protected:
    void paintEvent(QPaintEvent* event) override
    {
        const QRect room = rect().adjusted(2, 0, -2, 0);
        if (hasFocus() || fontMetrics().horizontalAdvance(text()) <= room.width()) {
            QLineEdit::paintEvent(event);
            return;
        }
        QPainter painter(this);
        painter.setPen(palette().color(isEnabled() ? QPalette::Active : QPalette::Disabled, QPalette::Text));
        painter.drawText(room, Qt::AlignLeft | Qt::AlignVCenter,
                         fontMetrics().elidedText(text(), Qt::ElideRight, room.width()));
    }
};

} // namespace

ChoiceField::ChoiceField(const QString& accessibleName, QWidget* parent) : ArrowedBox(parent)
{
    setAccessibleName(accessibleName);
    setEditable(true);
    setLineEdit(new ElidingEdit(this));
    setInsertPolicy(NoInsert);
    setSizeAdjustPolicy(AdjustToMinimumContentsLengthWithIcon);
    setMinimumContentsLength(10);
    setFocusPolicy(Qt::StrongFocus);
    completer()->setCompletionMode(QCompleter::PopupCompletion);
    completer()->setFilterMode(Qt::MatchContains);
    completer()->setCaseSensitivity(Qt::CaseInsensitive);
    connect(this, &QComboBox::activated, this, [this] {
        if (!currentData().isValid()) // a refused one, by its typed name
            return;
        lineEdit()->setCursorPosition(0);
        emit chosen(choice());
    });
}

void ChoiceField::addChoice(const QString& name, const QString& id, bool habit)
{
    addItem(habit ? tr("%1 (habit)").arg(name) : name, id);
    setItemData(count() - 1, name, Qt::ToolTipRole);
}

void ChoiceField::addRefused(const QString& name, const QString& why)
{
    addItem(name);
    setItemData(count() - 1, why, Qt::ToolTipRole);
    if (auto* items = qobject_cast<QStandardItemModel*>(model()))
        items->item(count() - 1)->setEnabled(false);
}

void ChoiceField::setChoice(const QString& id)
{
    int index = findData(id);
    if (index < 0) { // an entry the sheet brings itself
        addItem(id, id);
        index = count() - 1;
    }
    const QSignalBlocker quiet(this);
    setCurrentIndex(index);
    setEditText(itemText(index));
    lineEdit()->setCursorPosition(0);
    setToolTip(itemText(index));
}

void ChoiceField::focusOutEvent(QFocusEvent* event)
{
    QComboBox::focusOutEvent(event);
    setEditText(itemText(currentIndex()));
    lineEdit()->setCursorPosition(0);
}

} // namespace stripwright
