#include "widgets/labelled_rows.h"

#include "widgets/look.h"

#include <QComboBox>
#include <QLabel>

#include <algorithm>

namespace stripwright {

LabelledRows::LabelledRows(QWidget* parent) : QVBoxLayout(parent)
{
    setContentsMargins(0, 0, 0, 0);
    setSpacing(space::s);
}

void LabelledRows::addRow(const QString& text, QWidget* field, int mostPx)
{
    auto* row = new QWidget;
    auto* line = new QHBoxLayout(row);
    line->setContentsMargins(0, 0, 0, 0);
    line->setSpacing(space::s);
    auto* label = words(text);
    label->setMinimumHeight(QComboBox().sizeHint().height()); // beside a field's first line
    label->setBuddy(field);
    labels_ += label;
    line->addWidget(label, 0, Qt::AlignTop);
    field->setMaximumWidth(mostPx);
    line->addWidget(field, 1);
    if (mostPx < QWIDGETSIZE_MAX)
        line->addStretch(1);
    addWidget(row);
    setLabelsPx(labelsPx());
}

void LabelledRows::setRowVisible(QWidget* field, bool visible)
{
    field->parentWidget()->setVisible(visible);
}

int LabelledRows::labelsPx() const
{
    int widest = 0;
    for (const QLabel* label : labels_)
        widest = std::max(widest, label->sizeHint().width());
    return widest;
}

void LabelledRows::setLabelsPx(int px)
{
    for (QLabel* label : labels_)
        label->setFixedWidth(px);
}

} // namespace stripwright
