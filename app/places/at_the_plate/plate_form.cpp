#include "at_the_plate/plate_form.h"

#include "at_the_plate/further_registers.h"
#include "at_the_plate/register_row.h"
#include "widgets/arrowed_box.h"
#include "widgets/figure_field.h"
#include "widgets/labelled_rows.h"
#include "widgets/look.h"
#include "widgets/message_line.h"

#include <QComboBox>
#include <QLabel>
#include <QLineEdit>
#include <QPushButton>
#include <QSignalBlocker>
#include <QSpinBox>

#include <algorithm>

namespace stripwright {

using Asks = RegisterRow::Asks;

static constexpr int shortFieldPx = 200;

PlateForm::PlateForm(QWidget* parent) : QWidget(parent)
{
    auto* column = new QVBoxLayout(this);
    column->setContentsMargins(0, 0, space::s, 0);
    column->setSpacing(space::s);
    column->addWidget(words(tr("Where it is, and what its manual says"), Type::Title));
    auto* open = new QPushButton(tr("Go on from a link file…"));
    open->setObjectName("openLink");
    open->setAutoDefault(false);
    open->setToolTip(tr("Fills this in from a plate link file. What this form does not show stays in it"));
    column->addWidget(open, 0, Qt::AlignLeft);
    rows_ = new LabelledRows;
    column->addLayout(rows_);
    addLine();
    addDrive();
    addSafety();
    further_ = new FurtherRegisters;
    column->addWidget(further_);
    column->addStretch();
    const int labelsPx = std::max(rows_->labelsPx(), further_->labelsPx());
    rows_->setLabelsPx(labelsPx);
    further_->setLabelsPx(labelsPx);
    connect(further_, &FurtherRegisters::opened, this, &PlateForm::furtherOpened);
    connect(open, &QPushButton::clicked, this, &PlateForm::fileWanted);
    connect(further_, &FurtherRegisters::changed, this, &PlateForm::changed);
    for (QComboBox* box : {kind_, drive_, device_, baud_, frame_})
        connect(box, &QComboBox::currentTextChanged, this, &PlateForm::changed);
    for (QSpinBox* box : {port_, unit_})
        connect(box, &QSpinBox::valueChanged, this, &PlateForm::changed);
    for (QLineEdit* field : {name_, host_})
        connect(field, &QLineEdit::textChanged, this, &PlateForm::changed);
    connect(this, &PlateForm::changed, this, &PlateForm::decide);
    PlateDraft start;
    start.baud = 9600;
    start.frame = "8N1";
    start.sensor.address = start.heat.address = 0;
    PlateForm::show(start);
}

void PlateForm::addLine()
{
    name_ = new QLineEdit;
    name_->setObjectName("name");
    name_->setPlaceholderText(tr("such as North bench"));
    name_->setToolTip(
        tr("A name of its own: of two plates with one name only the last stands on your shelf"));
    rows_->addRow(tr("Name"), name_);
    kind_ = new ArrowedBox;
    kind_->addItems({tr("Network"), tr("Serial line")});
    kind_->setObjectName("lineKind");
    rows_->addRow(tr("Reached by"), kind_, shortFieldPx);
    host_ = new QLineEdit;
    host_->setObjectName("host");
    host_->setPlaceholderText("192.168.1.20");
    port_ = new QSpinBox;
    port_->setRange(0, 999999999); // what is no port is refused in words, not swallowed digit by digit
    port_->setObjectName("port");
    rows_->addRow(tr("Host"), host_);
    rows_->addRow(tr("Port"), port_, shortFieldPx);
    device_ = new ArrowedBox;
    device_->setEditable(true);
    device_->addItems(serialDevices());
    device_->setObjectName("device");
    baud_ = new ArrowedBox;
    for (int baud : {1200, 2400, 4800, 9600, 19200, 38400, 57600, 115200})
        baud_->addItem(QString::number(baud));
    frame_ = new ArrowedBox;
    frame_->addItems({"8N1", "8E1", "8O1", "8N2"});
    rows_->addRow(tr("Device"), device_);
    rows_->addRow(tr("Baud"), baud_, shortFieldPx);
    rows_->addRow(tr("Frame"), frame_, shortFieldPx);
    unit_ = new QSpinBox;
    unit_->setRange(0, 255);
    unit_->setObjectName("unit");
    rows_->addRow(tr("Unit"), unit_, shortFieldPx);
}

RegisterRow* PlateForm::addRegister(const QString& label, RegisterRow* row, const char* name)
{
    row->setObjectName(name);
    rows_->addRow(label, row);
    connect(row, &RegisterRow::changed, this, &PlateForm::changed);
    return row;
}

FigureField* PlateForm::addFigure(const QString& label, FigureField* field, const char* name)
{
    field->setObjectName(name);
    rows_->addRow(label, field, shortFieldPx);
    connect(field, &FigureField::changed, this, &PlateForm::changed);
    connect(field, &FigureField::editingFinished, this, &PlateForm::decide);
    return field;
}

void PlateForm::addDrive()
{
    const PlateDraft start;
    sensor_ = addRegister(tr("Sensor"),
                          new RegisterRow({.name = tr("Sensor"),
                                           .start = start.sensor,
                                           .tables = {"input", "holding"},
                                           .asks = Asks::CodingAndScale,
                                           .scaleUnit = tr("°C"),
                                           .optional = false,
                                           .mayBeOpen = true}),
                          "sensor");
    auto* hint =
        words(tr("Addresses count from 0; beside each stands its number in a manual that counts from 1."),
              Type::Secondary, true);
    hint->setWordWrap(true);
    rows_->addWidget(hint);
    drive_ = new ArrowedBox;
    drive_->addItems({tr("a duty register, 0 to full"), tr("an on/off output"), tr("a set-point")});
    drive_->setObjectName("drive");
    rows_->addRow(tr("Its heat is driven by"), drive_);
    duty_ = addRegister(tr("Duty"),
                        new RegisterRow({.name = tr("Duty"),
                                         .start = start.heat,
                                         .tables = {"holding"},
                                         .asks = Asks::CodingAndScale,
                                         .scaleUnit = tr("of full heat"),
                                         .optional = false}),
                        "duty");
    output_ = addRegister(tr("Output"),
                          new RegisterRow({.name = tr("Output"),
                                           .start = {.table = "coil"},
                                           .tables = {"coil", "holding"},
                                           .optional = false}),
                          "output");
    leastOn_ = addFigure(
        tr("On, and off, at least"),
        new FigureField(
            {.name = tr("On, and off, at least"), .unit = tr("s"), .min = 0, .max = 30, .optional = true}),
        "leastOn");
    leastOn_->setPlaceholderText(tr("no such time"));
    leastOn_->setToolTip(tr("A mechanical relay wants some 2 s, a solid-state relay none"));
    setpoint_ = addRegister(tr("Set-point"),
                            new RegisterRow({.name = tr("Set-point"),
                                             .start = {.coding = "int16", .scale = 0.1},
                                             .tables = {"holding"},
                                             .asks = Asks::CodingAndScale,
                                             .scaleUnit = tr("°C"),
                                             .optional = false}),
                            "setpoint");
    off_ = addFigure(
        tr("Off is a set-point of"),
        new FigureField({.name = tr("Off is a set-point of"), .unit = tr("°C"), .min = -40, .max = 45}),
        "off");
    off_->setToolTip(
        tr("Written to turn its heat off: below the room's temperature, within what the plate takes"));
}

void PlateForm::addSafety()
{
    const PlateDraft start;
    plateMax_ = addFigure(
        tr("Never hotter than"),
        new FigureField(
            {.name = tr("Never hotter than"), .unit = tr("°C"), .min = 40, .max = 500, .optional = true}),
        "plateMax");
    plateMax_->setPlaceholderText(tr("what its sensor can show"));
    plateMax_->setToolTip(
        tr("No plan may heat it further, and heat ends there. Below what its cut-out is set to"));
    watchdog_ = addRegister(tr("Watchdog time"),
                            new RegisterRow({.name = tr("Watchdog time"),
                                             .start = start.watchdog,
                                             .tables = {"holding"},
                                             .asks = Asks::CodingAndScale,
                                             .scaleUnit = tr("s")}),
                            "watchdog");
    watchdog_->setToolTip(
        tr("Where the time stands after which it cuts its heater when nobody speaks to it"));
    watchdogTime_ = addFigure(
        tr("It cuts its heat after"),
        new FigureField({.name = tr("It cuts its heat after"), .unit = tr("s"), .min = 0.5, .max = 60}),
        "watchdogTime");
    watchdogTime_->setToolTip(tr("Written there: so long a silence"));
    enable_ = addRegister(
        tr("Enable output"),
        new RegisterRow({.name = tr("Enable output"), .start = start.enable, .tables = {"coil", "holding"}}),
        "enable");
    message_ = new MessageLine;
    message_->setObjectName("formMessage");
    rows_->addWidget(message_);
}

PlateDraft::Drive PlateForm::drive() const
{
    return static_cast<PlateDraft::Drive>(drive_->currentIndex());
}

RegisterRow* PlateForm::heat() const
{
    RegisterRow* const rows[] = {duty_, output_, setpoint_};
    return rows[drive_->currentIndex()];
}

void PlateForm::decide()
{
    const bool serial = kind_->currentIndex() == 1;
    for (QWidget* of :
         {static_cast<QWidget*>(device_), static_cast<QWidget*>(baud_), static_cast<QWidget*>(frame_)})
        rows_->setRowVisible(of, serial);
    for (QWidget* of : {static_cast<QWidget*>(host_), static_cast<QWidget*>(port_)})
        rows_->setRowVisible(of, !serial);
    for (RegisterRow* row : {duty_, output_, setpoint_})
        rows_->setRowVisible(row, row == heat());
    rows_->setRowVisible(leastOn_, drive() == PlateDraft::Drive::Switch);
    rows_->setRowVisible(off_, drive() == PlateDraft::Drive::Setpoint);
    rows_->setRowVisible(watchdogTime_, watchdog_->used());
    further_->showDrive(drive());
    QString why;
    for (const FigureField* field : {leastOn_, off_, plateMax_, watchdogTime_})
        if (why.isEmpty() && field->isVisibleTo(this) && !field->hasFocus())
            why = field->problem();
    message_->say(why.isEmpty() ? contradictions().join(' ') : why);
}

QStringList PlateForm::contradictions() const
{
    constexpr double sensorMaxC = 450; // of a link that says nothing of it
    const PlateDraft said = draft();
    const auto most = kept_.is_object() ? kept_.find("sensor_max_C") : kept_.end();
    const double shownC = most != kept_.end() && most->is_number() ? most->get<double>() : sensorMaxC;
    QStringList found;
    if (const QString line = lineProblem(); !line.isEmpty())
        found += line;
    if (said.plateMaxC && *said.plateMaxC > shownC)
        found += tr("Never hotter than: found %1 °C, expected at most %2 °C, which its sensor can show "
                    "(sensor_max_C in its link file).")
                     .arg(shortFigure(*said.plateMaxC), shortFigure(shownC));
    if (drive() == PlateDraft::Drive::Setpoint && said.ownRampCPerS && !said.enable.address)
        found += tr("Ramp of its own: such a plate may go on heating when its set-point is taken back, and "
                    "needs an Enable output. Say where that stands, or leave the ramp empty.");
    return found;
}

QStringList PlateForm::problems() const
{
    QStringList problems;
    for (const RegisterRow* row :
         {static_cast<const RegisterRow*>(sensor_), static_cast<const RegisterRow*>(heat()),
          static_cast<const RegisterRow*>(watchdog_)})
        problems += row->problem();
    problems += plateMax_->problem();
    if (drive() == PlateDraft::Drive::Switch)
        problems += leastOn_->problem();
    if (drive() == PlateDraft::Drive::Setpoint)
        problems += off_->problem();
    if (watchdog_->used())
        problems += watchdogTime_->problem();
    problems += further_->problems();
    problems += contradictions();
    problems.removeAll(QString());
    return problems;
}

void PlateForm::show(const PlateDraft& draft)
{
    {
        const QSignalBlocker quiet(this);
        kept_ = draft.kept;
        name_->setText(draft.name);
        kind_->setCurrentIndex(draft.serial);
        host_->setText(draft.host);
        port_->setValue(draft.port);
        if (draft.serial)
            device_->setCurrentText(draft.device);
        baud_->setCurrentText(QString::number(draft.baud));
        frame_->setCurrentText(draft.frame);
        unit_->setValue(draft.unit);
        sensor_->show(draft.sensor);
        drive_->setCurrentIndex(static_cast<int>(draft.drive));
        heat()->show(draft.heat);
        leastOn_->show(draft.leastOnS > 0 ? std::optional(draft.leastOnS) : std::nullopt);
        off_->show(draft.offC);
        plateMax_->show(draft.plateMaxC);
        watchdog_->show(draft.watchdog);
        watchdogTime_->show(draft.watchdogS);
        enable_->show(draft.enable);
        further_->show(draft);
    }
    decide();
}

PlateDraft PlateForm::draft() const
{
    PlateDraft draft;
    draft.kept = kept_;
    draft.name = name_->text();
    draft.serial = kind_->currentIndex() == 1;
    draft.host = host_->text();
    draft.port = port_->value();
    draft.device = device_->currentText();
    draft.baud = baud_->currentText().toInt();
    draft.frame = frame_->currentText();
    draft.unit = unit_->value();
    draft.sensor = sensor_->value();
    draft.drive = drive();
    draft.heat = heat()->value();
    draft.leastOnS = leastOn_->value().value_or(0);
    draft.offC = off_->value().value_or(draft.offC);
    draft.plateMaxC = plateMax_->value();
    draft.watchdog = watchdog_->value();
    draft.watchdogS = watchdogTime_->value().value_or(draft.watchdogS);
    draft.enable = enable_->value();
    further_->fill(draft);
    return draft;
}

QStringList PlateForm::lineArguments() const
{
    if (kind_->currentIndex() == 1)
        return {device_->currentText(), "--baud", baud_->currentText(), "--frame", frame_->currentText()};
    return {host_->text() + ':' + QString::number(port_->value())};
}

QString PlateForm::lineProblem() const
{
    constexpr int lastPort = 65535;
    const bool serial = kind_->currentIndex() == 1;
    return serial || (port_->value() >= 1 && port_->value() <= lastPort)
               ? QString()
               : tr("Port: found %1, expected 1 to %2; most plates answer at 502.")
                     .arg(port_->value())
                     .arg(lastPort);
}

QString PlateForm::name() const
{
    return name_->text();
}

} // namespace stripwright
