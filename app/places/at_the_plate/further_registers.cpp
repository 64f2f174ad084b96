#include "at_the_plate/further_registers.h"

#include "at_the_plate/register_row.h"
#include "at_the_plate/setting_rows.h"
#include "widgets/figure_field.h"
#include "widgets/labelled_rows.h"
#include "widgets/look.h"
#include "widgets/message_line.h"

#include <QHBoxLayout>
#include <QLabel>
#include <QLineEdit>
#include <QPushButton>
#include <QSignalBlocker>
#include <QSpinBox>

namespace stripwright {

using Asks = RegisterRow::Asks;

static constexpr int shortFieldPx = 200;

RegisterRow* FurtherRegisters::addRegister(const QString& label, RegisterRow* row, const char* name)
{
    row->setObjectName(name);
    rows_->addRow(label, row);
    connect(row, &RegisterRow::changed, this, &FurtherRegisters::changed);
    return row;
}

QWidget* FurtherRegisters::bitsOf(QLineEdit*& field, const QString& what, const char* name)
{
    auto* whole = new QWidget;
    auto* line = new QHBoxLayout(whole);
    line->setContentsMargins(0, 0, 0, 0);
    line->setSpacing(space::xs);
    field = new QLineEdit;
    field->setObjectName(name);
    field->setPlaceholderText(tr("bit"));
    field->setToolTip(
        tr("Numbers of bits from 0, such as 0 or 2, 5. Empty: it has none. A coil or discrete input "
           "is bit 0"));
    field->setAccessibleName(tr("Status bits: %1").arg(what));
    field->setMaximumWidth(9 * fontMetrics().averageCharWidth());
    line->addWidget(field);
    line->addWidget(words(what), 1);
    connect(field, &QLineEdit::textChanged, this, &FurtherRegisters::changed);
    connect(field, &QLineEdit::editingFinished, this, &FurtherRegisters::decide);
    return whole;
}

FurtherRegisters::FurtherRegisters(QWidget* parent) : QWidget(parent)
{
    const PlateDraft start;
    auto* column = new QVBoxLayout(this);
    column->setContentsMargins(0, space::s, 0, 0);
    column->setSpacing(space::s);
    head_ = new QPushButton;
    head_->setObjectName("further");
    head_->setCheckable(true);
    head_->setAutoDefault(false);
    inUse_ = words({}, Type::Secondary, true);
    inUse_->setObjectName("furtherInUse");
    inUse_->setWordWrap(true);
    auto* top = new QHBoxLayout;
    top->setSpacing(space::s);
    top->addWidget(head_, 0, Qt::AlignTop);
    top->addWidget(inUse_, 1);
    column->addLayout(top);
    part_ = new QWidget;
    column->addWidget(part_);
    rows_ = new LabelledRows(part_);
    const QStringList readable{"input", "holding"}, writable{"coil", "holding"};
    toldDuty_ = addRegister(tr("Tells its heat"),
                            new RegisterRow({.name = tr("The heat it tells"),
                                             .start = start.toldDuty,
                                             .tables = readable,
                                             .asks = Asks::CodingAndScale,
                                             .scaleUnit = tr("of full heat")}),
                            "toldDuty");
    status_ = addRegister(tr("Status bits"),
                          new RegisterRow({.name = tr("Status bits"),
                                           .start = start.status,
                                           .tables = {"input", "holding", "discrete", "coil"},
                                           .asks = Asks::Coding}),
                          "status");
    bits_ = new QWidget;
    auto* bits = new QVBoxLayout(bits_);
    bits->setContentsMargins(0, 0, 0, 0);
    bits->setSpacing(space::xs);
    bits->addWidget(bitsOf(sensorBits_, tr("the sensor is broken"), "sensorBits"));
    bits->addWidget(bitsOf(watchdogBits_, tr("the watchdog has cut the heater"), "watchdogBits"));
    bits->addWidget(bitsOf(stripBits_, tr("the strip's thermocouple is broken"), "stripBits"));
    bitsMessage_ = new MessageLine;
    bits->addWidget(bitsMessage_);
    rows_->addRow(QString(), bits_);
    clear_ = addRegister(tr("Clears its watchdog bit"),
                         new RegisterRow({.name = tr("What clears the watchdog's bit"),
                                          .start = start.clearWatchdog,
                                          .tables = {"holding", "coil"}}),
                         "clearWatchdog");
    clear_->setToolTip(tr("Written once before a heat, heater off, if the watchdog's bit is set"));
    clearLine_ = new QWidget;
    auto* written = new QHBoxLayout(clearLine_);
    written->setContentsMargins(0, 0, 0, 0);
    written->setSpacing(space::xs);
    clearValue_ = new QSpinBox;
    clearValue_->setRange(0, 65535);
    clearValue_->setAccessibleName(tr("Value that clears the watchdog's bit"));
    written->addWidget(words(tr("by the value"), Type::Secondary, true));
    written->addWidget(clearValue_);
    written->addStretch();
    rows_->addRow(QString(), clearLine_);
    counter_ = addRegister(tr("Counter"),
                           new RegisterRow({.name = tr("Counter of readings"),
                                            .start = start.counter,
                                            .tables = readable,
                                            .asks = Asks::Coding}),
                           "counter");
    counter_->setToolTip(tr("Moves with every fresh reading. One that stands still for 2 s ends a heat"));
    fan_ = addRegister(tr("Fan"),
                       new RegisterRow({.name = tr("Fan"), .start = start.fan, .tables = writable}), "fan");
    strip_ = addRegister(tr("Strip thermocouple"),
                         new RegisterRow({.name = tr("Thermocouple on the strip"),
                                          .start = start.stripSensor,
                                          .tables = readable,
                                          .asks = Asks::CodingAndScale,
                                          .scaleUnit = tr("°C")}),
                         "stripSensor");
    readingEvery_ = new FigureField(
        {.name = tr("A fresh reading every"), .unit = tr("s"), .min = 0, .max = 5, .optional = true});
    readingEvery_->setObjectName("readingEvery");
    readingEvery_->setPlaceholderText(tr("as often as it is asked"));
    readingEvery_->setToolTip(tr("Where it measures more seldom than five times a second"));
    rows_->addRow(tr("A fresh reading every"), readingEvery_, shortFieldPx);
    ownRamp_ = new FigureField(
        {.name = tr("Ramp of its own"), .unit = tr("°C/s"), .min = 0.01, .max = 100, .optional = true});
    ownRamp_->setObjectName("ownRamp");
    ownRamp_->setPlaceholderText(tr("none, or it is off"));
    ownRamp_->setToolTip(tr("One that cannot be switched off, set to its fastest: plans climb no faster. "
                            "With it the plate needs an Enable output"));
    rows_->addRow(tr("Ramp of its own"), ownRamp_, shortFieldPx);
    settings_ = new SettingRows;
    settings_->setObjectName("settings");
    settings_->setToolTip(tr("Written while its heater is off, read back, and watched during a heat"));
    rows_->addRow(tr("Settings it needs"), settings_);
    connect(clearValue_, &QSpinBox::valueChanged, this, &FurtherRegisters::changed);
    connect(readingEvery_, &FigureField::changed, this, &FurtherRegisters::changed);
    connect(ownRamp_, &FigureField::changed, this, &FurtherRegisters::changed);
    connect(settings_, &SettingRows::changed, this, &FurtherRegisters::changed);
    connect(this, &FurtherRegisters::changed, this, &FurtherRegisters::decide);
    connect(head_, &QPushButton::toggled, this, [this](bool open) {
        decide();
        if (open)
            emit opened(part_);
    });
    FurtherRegisters::show(start);
}

void FurtherRegisters::show(const PlateDraft& draft)
{
    {
        const QSignalBlocker quiet(this);
        toldDuty_->show(draft.toldDuty);
        status_->show(draft.status);
        sensorBits_->setText(bitsText(draft.sensorFaultMask));
        watchdogBits_->setText(bitsText(draft.watchdogMask));
        stripBits_->setText(bitsText(draft.stripFaultMask));
        clear_->show(draft.clearWatchdog);
        clearValue_->setValue(draft.clearValue);
        counter_->show(draft.counter);
        fan_->show(draft.fan);
        strip_->show(draft.stripSensor);
        readingEvery_->show(draft.readingEveryS > 0 ? std::optional(draft.readingEveryS) : std::nullopt);
        ownRamp_->show(draft.ownRampCPerS);
        settings_->show(draft.settings);
    }
    showDrive(draft.drive);
}

void FurtherRegisters::showDrive(PlateDraft::Drive drive)
{
    bySetpoint_ = drive == PlateDraft::Drive::Setpoint;
    decide();
}

int FurtherRegisters::labelsPx() const
{
    return rows_->labelsPx();
}

void FurtherRegisters::setLabelsPx(int px)
{
    rows_->setLabelsPx(px);
}

QStringList FurtherRegisters::inUse() const
{
    QStringList used;
    if (bySetpoint_ && toldDuty_->used())
        used += tr("tells its heat");
    for (const auto& [row, what] : {std::pair{status_, tr("status bits")}, std::pair{clear_, tr("clearing")},
                                    std::pair{counter_, tr("counter")}, std::pair{fan_, tr("fan")},
                                    std::pair{strip_, tr("strip thermocouple")}})
        if (row->used())
            used += what;
    if (readingEvery_->value().value_or(0) > 0)
        used += tr("pace of readings");
    if (bySetpoint_ && ownRamp_->value())
        used += tr("ramp of its own");
    if (const size_t count = settings_->value().size(); count > 0)
        used += count == 1 ? tr("a setting") : tr("%1 settings").arg(count);
    return used;
}

void FurtherRegisters::decide()
{
    head_->setText((head_->isChecked() ? QStringLiteral("▾ ") : QStringLiteral("▸ ")) +
                   tr("Further registers"));
    inUse_->setText(inUse().join(QStringLiteral(", ")));
    part_->setHidden(!head_->isChecked());
    rows_->setRowVisible(toldDuty_, bySetpoint_);
    rows_->setRowVisible(ownRamp_, bySetpoint_);
    rows_->setRowVisible(bits_, status_->used());
    rows_->setRowVisible(clear_, status_->used() || clear_->used());
    rows_->setRowVisible(clearLine_, clear_->used());
    QString why;
    for (const QLineEdit* field : {sensorBits_, watchdogBits_, stripBits_})
        if (!field->hasFocus() && !readBits(field->text(), why))
            break;
    bitsMessage_->say(why);
}

void FurtherRegisters::fill(PlateDraft& draft) const
{
    const auto bits = [](const QLineEdit* field) {
        QString why;
        return readBits(field->text(), why).value_or(0);
    };
    draft.toldDuty = toldDuty_->value();
    draft.status = status_->value();
    draft.sensorFaultMask = bits(sensorBits_);
    draft.watchdogMask = bits(watchdogBits_);
    draft.stripFaultMask = bits(stripBits_);
    draft.clearWatchdog = clear_->value();
    draft.clearValue = clearValue_->value();
    draft.counter = counter_->value();
    draft.fan = fan_->value();
    draft.stripSensor = strip_->value();
    draft.readingEveryS = readingEvery_->value().value_or(0);
    draft.ownRampCPerS = ownRamp_->value();
    draft.settings = settings_->value();
}

QStringList FurtherRegisters::problems() const
{
    QStringList problems = settings_->problems();
    for (const RegisterRow* row : {status_, clear_, counter_, fan_, strip_})
        problems += row->problem();
    if (bySetpoint_)
        problems += {toldDuty_->problem(), ownRamp_->problem()};
    problems += readingEvery_->problem();
    if (status_->used())
        for (const QLineEdit* field : {sensorBits_, watchdogBits_, stripBits_}) {
            QString why;
            if (!readBits(field->text(), why))
                problems += tr("Status bits: %1").arg(why);
        }
    if (clear_->used() && (!status_->used() || watchdogBits_->text().trimmed().isEmpty()))
        problems += tr("What clears the watchdog's bit needs that bit: name it among the status bits.");
    problems.removeAll(QString());
    return problems;
}

} // namespace stripwright
