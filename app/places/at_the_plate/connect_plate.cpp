#include "at_the_plate/connect_plate.h"

#include "at_the_plate/plate_form.h"
#include "models/plate_draft_json.h"
#include "widgets/figure_field.h"
#include "widgets/look.h"
#include "widgets/message_line.h"
#include "widgets/stop_button.h"

#include <QCheckBox>
#include <QDateTime>
#include <QDoubleSpinBox>
#include <QFileInfo>
#include <QHBoxLayout>
#include <QHeaderView>
#include <QLabel>
#include <QLineEdit>
#include <QListWidget>
#include <QPushButton>
#include <QScreen>
#include <QScrollArea>
#include <QTableWidget>
#include <QTimer>

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
    form_ = new PlateForm;
    auto* scroll = new QScrollArea;
    scroll->setWidgetResizable(true);
    scroll->setFrameShape(QFrame::NoFrame);
    scroll->setWidget(form_);
    row->addWidget(scroll, 3);
    row->addWidget(doings(), 3);
    // With its frame on the screen there is: its Stop heating stands in the corner.
    resize(QSize(1240, 760).boundedTo(screen()->availableSize() - QSize(space::m, 2 * space::xl)));
    connect(form_, &PlateForm::furtherOpened, scroll, [scroll](QWidget* part) {
        QTimer::singleShot(0, scroll, [scroll, part] { scroll->ensureWidgetVisible(part, 0, 0); });
    });
    connect(&connector_, &PlateConnector::lineCame, this, &ConnectPlate::take);
    connect(&connector_, &PlateConnector::jobChanged, this, &ConnectPlate::showJob);
    connect(&connector_, &PlateConnector::ended, this, &ConnectPlate::showEnd);
    connectDoings();
    showJob();
}

static QPushButton* button(const QString& text, const char* name)
{
    auto* made = new QPushButton(text);
    made->setObjectName(name);
    made->setAutoDefault(false);
    return made;
}

QWidget* ConnectPlate::doings()
{
    auto* page = new QWidget;
    auto* column = new QVBoxLayout(page);
    column->setContentsMargins(0, 0, 0, 0);
    column->setSpacing(space::s);
    addUnsaved(column);
    addCold(column);
    addWarm(column);
    addFoot(column);
    return page;
}

void ConnectPlate::addUnsaved(QVBoxLayout* column)
{
    const std::filesystem::path file = newestUnsaved();
    if (file.empty())
        return;
    const QFileInfo info(QString::fromStdString(file.string()));
    QString why;
    const std::optional<PlateDraft> draft = readPlateDraft(info.filePath(), why);
    auto* line = new QWidget;
    auto* row = new QHBoxLayout(line);
    row->setContentsMargins(0, 0, 0, 0);
    row->setSpacing(space::s);
    auto* offered = words(tr("What was proven of %1 on %2 was never saved: go on from it?")
                              .arg(draft && !draft->name.isEmpty() ? draft->name : info.fileName(),
                                   info.lastModified().date().toString(Qt::ISODate)));
    offered->setObjectName("unsaved");
    offered->setWordWrap(true);
    auto* goOn = button(tr("Go on from it"), "goOnUnsaved");
    row->addWidget(offered, 1);
    row->addWidget(goOn);
    column->addWidget(line);
    connect(goOn, &QPushButton::clicked, this, [this, line, file, info] {
        if (!goOnFrom(info.filePath()))
            return;
        unsaved_ = file;
        line->hide();
    });
}

void ConnectPlate::addCold(QVBoxLayout* column)
{
    auto* cold = new QHBoxLayout;
    cold->setSpacing(space::s);
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
}

void ConnectPlate::addWarm(QVBoxLayout* column)
{
    auto* caution = words(
        tr("Heat: nothing lies on the plate, and I stay with it. It burns skin and stays hot for half an "
           "hour. Its plug is in reach, and it has its own thermal cut-out: no software replaces it."));
    caution->setWordWrap(true);
    bare_ = new QCheckBox;
    bare_->setObjectName("bare");
    bare_->setAccessibleName(caution->text());
    caution->setBuddy(bare_);
    auto* cautions = new QHBoxLayout;
    cautions->addWidget(bare_, 0, Qt::AlignTop);
    cautions->addWidget(caution, 1);
    column->addLayout(cautions);
    goesOn_ = new MessageLine;
    goesOn_->setObjectName("goesOn");
    prove_ = button(tr("Warm it and prove it"), "prove");
    learn_ = button(tr("Learn its heat"), "learn");
    power_ = new FigureField({tr("Power of the heater"), tr("W"), 5, 20000});
    power_->setObjectName("power");
    power_->setPlaceholderText(tr("such as 300 W"));
    power_->setToolTip(tr("As on the heater's label, or volts times volts over ohms"));
    size_ = new QLineEdit;
    size_->setObjectName("size");
    size_->setPlaceholderText(tr("such as 100x100x8 mm"));
    size_->setToolTip(
        tr("Length along the strip x width x thickness. With it a wrong power is noticed, and the "
           "plate goes onto your shelf, where sheets can choose it."));
    size_->setAccessibleName(tr("Size of the plate: length along the strip x width x thickness in mm"));
    sizeNotKnown_ = new QCheckBox(tr("not known"));
    sizeNotKnown_->setObjectName("sizeNotKnown");
    sizeNotKnown_->setAccessibleName(tr("The size of the plate is not known"));
    sizeNotKnown_->setToolTip(
        tr("A plate that stands on your shelf keeps its size there. Of another one nothing "
           "tells a wrong power, and it does not go onto your shelf."));
    auto* figures = new QHBoxLayout;
    figures->setSpacing(space::s);
    for (const auto& [label, field] : {std::pair{tr("Heater"), static_cast<QWidget*>(power_)},
                                       {tr("Size"), static_cast<QWidget*>(size_)}}) {
        figures->addWidget(words(label));
        figures->addWidget(field, 1);
    }
    figures->addWidget(sizeNotKnown_);
    column->addWidget(prove_, 0, Qt::AlignLeft);
    column->addWidget(goesOn_);
    column->addLayout(figures);
    auto* warm = new QHBoxLayout;
    warm->setSpacing(space::s);
    warm->addWidget(learn_, 0, Qt::AlignTop);
    needs_ = words({}, Type::Secondary, true);
    needs_->setObjectName("needs");
    needs_->setWordWrap(true);
    warm->addWidget(needs_, 1);
    column->addLayout(warm);
}

void ConnectPlate::addFoot(QVBoxLayout* column)
{
    stop_ = new StopButton;
    stopPresses().add(
        this, [this] { return heatMayBeOn(); }, [this] { stop(); });
    heater_ = new MessageLine;
    heater_->setFont(typeFont(Type::Title));
    heater_->setObjectName("heater");
    now_ = words({});
    now_->setObjectName("now");
    now_->setWordWrap(true);
    ageing_.setInterval(500);
    connect(&ageing_, &QTimer::timeout, this, &ConnectPlate::showNow);
    ageing_.start();
    notes_ = new QListWidget;
    notes_->setObjectName("notes");
    notes_->setWordWrap(true);
    notes_->setAccessibleName(tr("What was done and proven"));
    column->addWidget(notes_, 3);
    save_ = button(tr("Save and use this plate"), "save");
    closingLine_ = new MessageLine;
    closingLine_->setObjectName("closing");
    column->addWidget(closingLine_);
    column->addWidget(heater_); // over the whole width: its last words are "mains plug"
    endWatching_ = button(tr("End watching"), "endWatching");
    endWatching_->setToolTip(tr("Ends the job now; what was learnt is kept"));
    // The stop stands in the right corner, as at the foot of the window.
    auto* foot = new QHBoxLayout;
    foot->setSpacing(space::l);
    auto* state = new QVBoxLayout;
    state->addWidget(now_);
    state->addWidget(endWatching_, 0, Qt::AlignLeft);
    state->addStretch();
    state->addWidget(save_, 0, Qt::AlignLeft);
    foot->addLayout(state, 1);
    foot->addWidget(stop_, 0, Qt::AlignBottom);
    column->addLayout(foot);
}

void ConnectPlate::connectDoings()
{
    connect(form_, &PlateForm::changed, this, &ConnectPlate::showNeeds);
    connect(form_, &PlateForm::fileWanted, this, &ConnectPlate::askForLink);
    connect(find_, &QPushButton::clicked, this, [this] {
        if (const QString why = form_->lineProblem(); !why.isEmpty())
            note(why);
        else
            connector_.find(form_->lineArguments());
    });
    connect(read_, &QPushButton::clicked, this, [this] {
        if (const json link = draft(); !link.is_null())
            connector_.read(link, thermometerC());
    });
    connect(prove_, &QPushButton::clicked, this, &ConnectPlate::prove);
    connect(learn_, &QPushButton::clicked, this, &ConnectPlate::learn);
    connect(endWatching_, &QPushButton::clicked, this, &ConnectPlate::stop);
    connect(save_, &QPushButton::clicked, this, &ConnectPlate::save);
    connect(bare_, &QCheckBox::toggled, this, &ConnectPlate::showJob);
    connect(power_, &FigureField::changed, this, &ConnectPlate::showNeeds);
    connect(size_, &QLineEdit::textChanged, this, &ConnectPlate::showNeeds);
    connect(sizeNotKnown_, &QCheckBox::toggled, this, [this](bool unknown) {
        size_->setEnabled(!unknown);
        showNeeds();
    });
}

} // namespace stripwright
