#include "at_the_plate/register_row.h"

#include "widgets/arrowed_box.h"
#include "widgets/figure_field.h"
#include "widgets/look.h"
#include "widgets/message_line.h"

#include <QCheckBox>
#include <QComboBox>
#include <QHBoxLayout>
#include <QLabel>
#include <QSignalBlocker>
#include <QSpinBox>

#include <limits>

namespace stripwright {

static constexpr int ownUnit = -1; // 0 is a device over TCP
static constexpr double any = std::numeric_limits<double>::infinity();

static QHBoxLayout* line()
{
    auto* row = new QHBoxLayout;
    row->setContentsMargins(0, 0, 0, 0);
    row->setSpacing(space::xs);
    return row;
}

RegisterRow::RegisterRow(const Of& of, QWidget* parent) : QWidget(parent), of_(of)
{
    auto* column = new QVBoxLayout(this);
    column->setContentsMargins(0, 0, 0, 0);
    column->setSpacing(space::xs);
    QHBoxLayout* place = line();
    if (of.optional) {
        used_ = new QCheckBox;
        used_->setAccessibleName(tr("It has: %1").arg(of.name));
        place->addWidget(used_);
    }
    table_ = new ArrowedBox;
    table_->addItems(of.tables);
    table_->setAccessibleName(tr("%1, table").arg(of.name));
    address_ = new QSpinBox;
    address_->setRange(0, 65535);
    address_->setAccessibleName(tr("%1, address from 0").arg(of.name));
    number_ = words({}, Type::Secondary, true);
    number_->setToolTip(tr("Its number in a manual that counts from 1"));
    unit_ = new QSpinBox;
    unit_->setRange(ownUnit, 255);
    unit_->setSpecialValueText(tr("same unit"));
    unit_->setPrefix(tr("unit "));
    unit_->setAccessibleName(tr("%1, unit").arg(of.name));
    for (QWidget* part : {static_cast<QWidget*>(table_), static_cast<QWidget*>(address_),
                          static_cast<QWidget*>(number_), static_cast<QWidget*>(unit_)})
        place->addWidget(part);
    place->addStretch();
    place->addStrut(table_->sizeHint().height()); // as high when it is left out
    codingLine_ = new QWidget;
    QHBoxLayout* coded = line();
    codingLine_->setLayout(coded);
    coding_ = new ArrowedBox;
    if (of.mayBeOpen)
        coding_->addItem(tr("coding to be found out"), QString());
    for (const QString& coding : registerCodings())
        if (of.asks == Asks::CodingAndScale || !coding.startsWith(QLatin1String("float")))
            coding_->addItem(coding, coding);
    coding_->setAccessibleName(tr("%1, coding").arg(of.name));
    coding_->setToolTip(
        tr("How the value stands in its registers. Of two registers the letters say which byte "
           "stands where: ABCD the high word first, CDAB the low word first"));
    scale_ = new FigureField({.name = tr("%1, value of one count").arg(of.name),
                              .unit = of.scaleUnit,
                              .min = -any,
                              .max = any,
                              .fahrenheit = Fahrenheit::Refused});
    scale_->setMaximumWidth(12 * fontMetrics().averageCharWidth() +
                            fontMetrics().horizontalAdvance(of.scaleUnit));
    oneCount_ = words(tr("1 count ="), Type::Secondary, true);
    coded->addWidget(coding_);
    coded->addWidget(oneCount_);
    coded->addWidget(scale_);
    coded->addStretch();
    message_ = new MessageLine;
    column->addLayout(place);
    column->addWidget(codingLine_);
    column->addWidget(message_);
    RegisterRow::show(of.start);
    const auto tell = [this] {
        decide();
        emit changed();
    };
    if (used_)
        connect(used_, &QCheckBox::toggled, this, tell);
    for (QComboBox* box : {table_, coding_})
        connect(box, &QComboBox::currentIndexChanged, this, tell);
    for (QSpinBox* box : {address_, unit_})
        connect(box, &QSpinBox::valueChanged, this, tell);
    connect(scale_, &FigureField::changed, this, tell);
    connect(scale_, &FigureField::editingFinished, this, &RegisterRow::decide);
}

bool RegisterRow::used() const
{
    return !used_ || used_->isChecked();
}

void RegisterRow::setCoding(const QString& coding)
{
    int at = coding_->findData(coding);
    if (at < 0 && !coding.isEmpty()) { // what a file says stays as it is
        coding_->addItem(coding, coding);
        at = coding_->count() - 1;
    }
    coding_->setCurrentIndex(at < 0 ? coding_->findData(of_.start.coding) : at);
}

void RegisterRow::show(const RegisterDraft& draft)
{
    const QSignalBlocker quiet(this);
    if (used_)
        used_->setChecked(draft.address.has_value());
    if (table_->findText(draft.table) < 0)
        table_->addItem(draft.table);
    table_->setCurrentText(draft.table);
    address_->setValue(draft.address.value_or(0));
    unit_->setValue(draft.unit.value_or(ownUnit));
    setCoding(draft.coding);
    scale_->show(draft.scale);
    decide();
}

void RegisterRow::decide()
{
    const RegisterDraft now = value();
    const bool coded = used() && of_.asks != Asks::Place && !isBit(now);
    for (QWidget* part :
         {static_cast<QWidget*>(table_), static_cast<QWidget*>(address_), static_cast<QWidget*>(unit_)})
        part->setHidden(!used());
    codingLine_->setHidden(!coded);
    const bool scaled = of_.asks == Asks::CodingAndScale && !now.coding.isEmpty();
    for (QWidget* part : {static_cast<QWidget*>(oneCount_), static_cast<QWidget*>(scale_)})
        part->setHidden(!scaled);
    number_->setText(used() ? tr("is %1").arg(manualNumber(table_->currentText(), address_->value()))
                            : tr("none"));
    message_->say(scale_->hasFocus() ? QString() : problem()); // not while it is typed
}

QString RegisterRow::problem() const
{
    const RegisterDraft now = value();
    if (!now.address || of_.asks != Asks::CodingAndScale || isBit(now) || now.coding.isEmpty())
        return {};
    const QString found = scale_->problem();
    return found.isEmpty() && now.scale == 0
               ? tr("%1: one count is worth something, expected another figure than 0.").arg(of_.name)
               : found;
}

RegisterDraft RegisterRow::value() const
{
    RegisterDraft draft = of_.start;
    draft.table = table_->currentText();
    draft.address.reset();
    if (used())
        draft.address = address_->value();
    draft.unit.reset();
    if (unit_->value() != ownUnit)
        draft.unit = unit_->value();
    draft.coding = coding_->currentData().toString();
    if (isBit(draft) || (of_.asks == Asks::Place))
        draft.coding = of_.start.coding;
    draft.scale = scale_->value().value_or(of_.start.scale);
    return draft;
}

} // namespace stripwright
