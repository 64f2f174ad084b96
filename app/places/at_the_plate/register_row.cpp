#include "at_the_plate/register_row.h"

#include "widgets/look.h"

#include <QCheckBox>
#include <QComboBox>
#include <QDoubleSpinBox>
#include <QHBoxLayout>
#include <QLabel>
#include <QSpinBox>

namespace stripwright {

static constexpr const char* tableNames[] = {"coil", "discrete", "input", "holding"};

RegisterRow::RegisterRow(const QString& name, const RegisterDraft& start, Asks asks, bool optional,
                         QWidget* parent)
    : QWidget(parent), start_(start)
{
    auto* row = new QHBoxLayout(this);
    row->setContentsMargins(0, 0, 0, 0);
    row->setSpacing(space::xs);
    if (optional) {
        used_ = new QCheckBox;
        used_->setAccessibleName(tr("It has: %1").arg(name));
        row->addWidget(used_);
        connect(used_, &QCheckBox::toggled, this, &RegisterRow::show);
    }
    table_ = new QComboBox;
    for (const char* table : tableNames)
        table_->addItem(table);
    table_->setCurrentText(start.table);
    table_->setAccessibleName(tr("%1, table").arg(name));
    address_ = new QSpinBox;
    address_->setRange(0, 65535);
    address_->setValue(start.address.value_or(0));
    address_->setAccessibleName(tr("%1, address from 0").arg(name));
    unit_ = new QSpinBox;
    unit_->setRange(0, 247);
    unit_->setSpecialValueText(tr("its unit"));
    unit_->setPrefix(tr("unit "));
    unit_->setAccessibleName(tr("%1, unit").arg(name));
    number_ = words({}, Type::Secondary, true);
    row->addWidget(table_);
    row->addWidget(address_);
    row->addWidget(unit_);
    if (asks == Asks::PlaceAndScale) {
        scale_ = new QDoubleSpinBox;
        scale_->setDecimals(5);
        scale_->setRange(0.00001, 1000);
        scale_->setValue(start.scale);
        scale_->setPrefix(tr("1 = "));
        scale_->setAccessibleName(tr("%1, value of one count").arg(name));
        row->addWidget(scale_);
    }
    row->addWidget(number_, 1);
    connect(table_, &QComboBox::currentTextChanged, this, &RegisterRow::show);
    connect(address_, &QSpinBox::valueChanged, this, &RegisterRow::show);
    show();
}

void RegisterRow::show()
{
    const bool used = !used_ || used_->isChecked();
    for (QWidget* part : {static_cast<QWidget*>(table_), static_cast<QWidget*>(address_),
                          static_cast<QWidget*>(unit_), static_cast<QWidget*>(scale_)})
        if (part)
            part->setEnabled(used);
    number_->setText(used ? tr("is %1").arg(manualNumber(table_->currentText(), address_->value()))
                          : tr("none"));
    number_->setToolTip(tr("Its number in a manual that counts from 1"));
}

RegisterDraft RegisterRow::value() const
{
    RegisterDraft draft = start_;
    draft.table = table_->currentText();
    draft.address.reset();
    if (!used_ || used_->isChecked())
        draft.address = address_->value();
    if (unit_->value() > 0)
        draft.unit = unit_->value();
    if (scale_)
        draft.scale = scale_->value();
    return draft;
}

} // namespace stripwright
