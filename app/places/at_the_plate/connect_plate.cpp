#include "at_the_plate/connect_plate.h"

#include "at_the_plate/register_row.h"
#include "models/wording.h"
#include "widgets/look.h"
#include "widgets/stop_button.h"

#include <QCheckBox>
#include <QComboBox>
#include <QDoubleSpinBox>
#include <QFormLayout>
#include <QHBoxLayout>
#include <QHeaderView>
#include <QLabel>
#include <QLineEdit>
#include <QListWidget>
#include <QPushButton>
#include <QScreen>
#include <QScrollArea>
#include <QSpinBox>
#include <QTableWidget>

namespace stripwright {

using nlohmann::json;

ConnectPlate::ConnectPlate(const std::filesystem::path& binFolder, const std::filesystem::path& linkFolder,
                           const std::filesystem::path& shelfFolder, QWidget* parent)
    : QDialog(parent), connector_(binFolder), linkFolder_(linkFolder), shelfFolder_(shelfFolder)
{
    setWindowTitle(tr("Connect a plate"));
    setObjectName("connectPlate");
    auto* row = new QHBoxLayout(this);
    row->setContentsMargins(space::m, space::m, space::m, space::m);
    row->setSpacing(space::l);
    auto* scroll = new QScrollArea;
    scroll->setWidgetResizable(true);
    scroll->setFrameShape(QFrame::NoFrame);
    scroll->setWidget(form());
    row->addWidget(scroll, 3);
    row->addWidget(doings(), 3);
    // With its frame on the screen there is: its Stop heating stands in the corner.
    resize(QSize(1240, 760).boundedTo(screen()->availableSize() - QSize(space::m, 2 * space::xl)));
    connect(&connector_, &PlateConnector::lineCame, this, &ConnectPlate::take);
    connect(&connector_, &PlateConnector::jobChanged, this, &ConnectPlate::showJob);
    connect(&connector_, &PlateConnector::ended, this, &ConnectPlate::showEnd);
    showJob();
}

QWidget* ConnectPlate::form()
{
    auto* page = new QWidget;
    auto* rows = new QFormLayout(page);
    rows->setSpacing(space::s);
    rows->addRow(words(tr("Where it is, and what its manual says"), Type::Title));
    name_ = new QLineEdit(tr("Bench plate"));
    rows->addRow(tr("Name"), name_);
    kind_ = new QComboBox;
    kind_->addItems({tr("Network"), tr("Serial line")});
    kind_->setObjectName("lineKind");
    rows->addRow(tr("Reached by"), kind_);
    host_ = new QLineEdit;
    host_->setObjectName("host");
    host_->setPlaceholderText("192.168.1.20");
    port_ = new QSpinBox;
    port_->setRange(1, 65535);
    port_->setValue(502);
    port_->setObjectName("port");
    rows->addRow(tr("Host"), host_);
    rows->addRow(tr("Port"), port_);
    device_ = new QComboBox;
    device_->setEditable(true);
    device_->addItems(serialDevices());
    device_->setObjectName("device");
    baud_ = new QComboBox;
    for (int baud : {1200, 2400, 4800, 9600, 19200, 38400, 57600, 115200})
        baud_->addItem(QString::number(baud));
    baud_->setCurrentText("9600");
    frame_ = new QComboBox;
    frame_->addItems({"8N1", "8E1", "8O1", "8N2"});
    rows->addRow(tr("Device"), device_);
    rows->addRow(tr("Baud"), baud_);
    rows->addRow(tr("Frame"), frame_);
    unit_ = new QSpinBox;
    unit_->setRange(1, 247);
    unit_->setObjectName("unit");
    rows->addRow(tr("Unit"), unit_);
    sensor_ = new RegisterRow(tr("Sensor"), {.table = "input"}, RegisterRow::Asks::Place, false);
    sensor_->setObjectName("sensor");
    rows->addRow(tr("Sensor"), sensor_);
    auto* hint = words(
        tr("Addresses count from 0; beside each stands its number in a manual that counts from 1. How the "
           "sensor's value is coded is found out; of the others say what one count is worth."),
        Type::Secondary, true);
    hint->setWordWrap(true);
    rows->addRow(hint);
    drive_ = new QComboBox;
    drive_->addItems({tr("a duty register, 0 to full"), tr("an on/off output"), tr("a set-point")});
    drive_->setObjectName("drive");
    rows->addRow(tr("Its heat is driven by"), drive_);
    heat_ = new RegisterRow(tr("Duty"), {.table = "holding", .coding = "uint16", .scale = 0.0001},
                            RegisterRow::Asks::PlaceAndScale, false);
    output_ = new RegisterRow(tr("Output"), {.table = "coil"}, RegisterRow::Asks::Place, false);
    setpoint_ = new RegisterRow(tr("Set-point"), {.table = "holding", .coding = "int16", .scale = 0.1},
                                RegisterRow::Asks::PlaceAndScale, false);
    rows->addRow(tr("Duty"), heat_);
    rows->addRow(tr("Output"), output_);
    rows->addRow(tr("Set-point"), setpoint_);
    watchdog_ = new RegisterRow(tr("Watchdog time"), {.table = "holding", .coding = "uint16", .scale = 0.1},
                                RegisterRow::Asks::PlaceAndScale, true);
    watchdog_->setObjectName("watchdog");
    rows->addRow(tr("Watchdog time, s"), watchdog_);
    enable_ = new RegisterRow(tr("Enable output"), {.table = "coil"}, RegisterRow::Asks::Place, true);
    rows->addRow(tr("Enable output"), enable_);
    strip_ =
        new RegisterRow(tr("Thermocouple on the strip"), {.table = "input", .coding = "int16", .scale = 0.1},
                        RegisterRow::Asks::PlaceAndScale, true);
    rows->addRow(tr("Strip thermocouple"), strip_);
    const auto showLine = [this, rows] {
        const bool serial = kind_->currentIndex() == 1;
        for (QWidget* of :
             {static_cast<QWidget*>(device_), static_cast<QWidget*>(baud_), static_cast<QWidget*>(frame_)})
            rows->setRowVisible(of, serial);
        for (QWidget* of : {static_cast<QWidget*>(host_), static_cast<QWidget*>(port_)})
            rows->setRowVisible(of, !serial);
    };
    const auto showDrive = [this, rows] {
        const RegisterRow* shown[] = {heat_, output_, setpoint_};
        for (RegisterRow* one : {heat_, output_, setpoint_})
            rows->setRowVisible(one, one == shown[drive_->currentIndex()]);
    };
    connect(kind_, &QComboBox::currentIndexChanged, this, showLine);
    connect(drive_, &QComboBox::currentIndexChanged, this, showDrive);
    showLine();
    showDrive();
    return page;
}

QWidget* ConnectPlate::doings()
{
    auto* page = new QWidget;
    auto* column = new QVBoxLayout(page);
    column->setSpacing(space::s);
    const auto button = [](const QString& text, const char* name) {
        auto* made = new QPushButton(text);
        made->setObjectName(name);
        made->setAutoDefault(false);
        return made;
    };
    auto* cold = new QHBoxLayout;
    find_ = button(tr("Look for plates"), "find");
    read_ = button(tr("Read it cold"), "read");
    measured_ = new QCheckBox(tr("A thermometer on it says"));
    thermometer_ = new QDoubleSpinBox;
    thermometer_->setRange(0, 60);
    thermometer_->setDecimals(1);
    thermometer_->setValue(22);
    thermometer_->setSuffix(tr(" °C"));
    thermometer_->setAccessibleName(tr("Thermometer on the cold plate"));
    for (QWidget* one : {static_cast<QWidget*>(find_), static_cast<QWidget*>(read_),
                         static_cast<QWidget*>(measured_), static_cast<QWidget*>(thermometer_)})
        cold->addWidget(one);
    cold->addStretch();
    column->addLayout(cold);
    candidates_ = new QTableWidget(0, 4);
    candidates_->setObjectName("candidates");
    candidates_->setHorizontalHeaderLabels({tr("Taken as"), tr("Reads"), tr("Moved"), tr("Makes sense")});
    candidates_->horizontalHeader()->setSectionResizeMode(QHeaderView::Stretch);
    candidates_->verticalHeader()->hide();
    candidates_->setEditTriggers(QTableWidget::NoEditTriggers);
    candidates_->setAccessibleName(tr("What the sensor's registers may mean"));
    column->addWidget(candidates_, 2);
    auto* caution = words(
        tr("Heat: nothing lies on the plate, and I stay with it. It burns skin and stays hot for half an "
           "hour. Its plug is in reach, and it has its own thermal cut-out: no software replaces it."));
    caution->setWordWrap(true);
    bare_ = new QCheckBox;
    bare_->setObjectName("bare");
    bare_->setAccessibleName(caution->text());
    auto* cautions = new QHBoxLayout;
    cautions->addWidget(bare_, 0, Qt::AlignTop);
    cautions->addWidget(caution, 1);
    column->addLayout(cautions);
    auto* warm = new QHBoxLayout;
    prove_ = button(tr("Warm it and prove it"), "prove");
    learn_ = button(tr("Learn its heat"), "learn");
    power_ = new QDoubleSpinBox;
    power_->setRange(5, 20000);
    power_->setDecimals(0);
    power_->setValue(300);
    power_->setSuffix(tr(" W"));
    power_->setAccessibleName(tr("Power of the heater, as on the plate"));
    warm->addWidget(prove_);
    warm->addWidget(learn_);
    warm->addWidget(power_);
    size_ = new QLineEdit;
    size_->setObjectName("size");
    size_->setPlaceholderText(tr("size, such as 100x100x8 mm"));
    size_->setToolTip(
        tr("Length along the strip x width x thickness. With it the plate goes onto your shelf, "
           "where sheets can choose it; it need not be said again for a plate that stands there."));
    size_->setAccessibleName(tr("Size of the plate: length along the strip x width x thickness in mm"));
    warm->addWidget(size_, 1);
    column->addLayout(warm);
    stop_ = new StopButton;
    stopPresses().add(
        this, [this] { return heatMayBeOn(); }, [this] { stop(); });
    heater_ = words({}, Type::Title);
    heater_->setObjectName("heater");
    now_ = words({});
    now_->setObjectName("now");
    for (QLabel* label : {heater_, now_})
        label->setWordWrap(true);
    notes_ = new QListWidget;
    notes_->setObjectName("notes");
    notes_->setWordWrap(true);
    notes_->setAccessibleName(tr("What was done and proven"));
    column->addWidget(notes_, 3);
    save_ = button(tr("Save and use this plate"), "save");
    // The stop stands in the right corner, as at the foot of the window.
    auto* foot = new QHBoxLayout;
    foot->setSpacing(space::l);
    auto* state = new QVBoxLayout;
    state->addWidget(heater_);
    state->addWidget(now_);
    state->addStretch();
    state->addWidget(save_, 0, Qt::AlignLeft);
    foot->addLayout(state, 1);
    foot->addWidget(stop_, 0, Qt::AlignBottom);
    column->addLayout(foot);
    connect(find_, &QPushButton::clicked, this, [this] { connector_.find(lineArguments()); });
    connect(read_, &QPushButton::clicked, this, [this] {
        if (const json link = draft(); !link.is_null())
            connector_.read(link, thermometerC());
    });
    connect(prove_, &QPushButton::clicked, this, [this] {
        if (const json link = draft(); !link.is_null())
            connector_.prove(link, thermometerC());
    });
    connect(learn_, &QPushButton::clicked, this, &ConnectPlate::learn);
    connect(save_, &QPushButton::clicked, this, &ConnectPlate::save);
    connect(bare_, &QCheckBox::toggled, this, &ConnectPlate::showJob);
    return page;
}

} // namespace stripwright
