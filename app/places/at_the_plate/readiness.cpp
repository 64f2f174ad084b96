#include "at_the_plate/readiness.h"

#include "models/live_run.h"
#include "models/plan_verdict.h"
#include "models/wording.h"
#include "rules/wording.h"
#include "widgets/fitting_scroll.h"
#include "widgets/look.h"

#include <QCheckBox>
#include <QGridLayout>
#include <QLabel>
#include <QPushButton>

namespace stripwright {

Readiness::Readiness(QWidget* parent) : QFrame(parent)
{
    setProperty("tone", "card");
    auto* page = new QWidget;
    auto* grid = new QGridLayout(page);
    grid->setContentsMargins(0, 0, 0, 0);
    grid->setHorizontalSpacing(space::s);
    grid->setVerticalSpacing(space::s);
    grid->setColumnStretch(1, 1);
    int row = 0;
    for (Line* line : {&link_, &trip_, &plan_, &differs_, &cold_, &fan_}) {
        line->mark = words({});
        line->text = words({});
        line->text->setWordWrap(true);
        line->text->setMinimumHeight(1);
        grid->addWidget(line->mark, row, 0, Qt::AlignTop);
        grid->addWidget(line->text, row++, 1);
    }
    fan_.text->setObjectName("fanByHand");
    differs_.text->setObjectName("notAsPlanned");
    outOfOrder_ = words({});
    outOfOrder_->setObjectName("outOfOrder");
    outOfOrder_->setWordWrap(true);
    outOfOrder_->setMinimumHeight(1);
    anyway_ = new QCheckBox;
    anyway_->setObjectName("anyway");
    outOfOrder_->setBuddy(anyway_);
    grid->addWidget(anyway_, row, 0, Qt::AlignTop);
    grid->addWidget(outOfOrder_, row++, 1);
    auto* caution = words(
        tr("I stay at the plate until it is cold. The mains switch is in reach, and the plate has its own "
           "thermal cut-out: no software replaces it."));
    caution->setWordWrap(true);
    caution->setMinimumHeight(1);
    cautions_ = new QCheckBox;
    cautions_->setObjectName("cautions");
    cautions_->setAccessibleName(caution->text());
    caution->setBuddy(cautions_);
    grid->addWidget(cautions_, row, 0, Qt::AlignTop);
    grid->addWidget(caution, row++, 1);
    connect_ = new QPushButton(tr("Connect again"));
    connect_->setObjectName("connect");
    otherPlate_ = new QPushButton(tr("Connect a plate…"));
    otherPlate_->setObjectName("otherPlate");
    saved_ = new QPushButton(tr("Use a saved plate…"));
    saved_->setObjectName("savedPlate");
    saved_->setToolTip(tr("One that was connected before: opens its plate link file"));
    simulated_ = new QPushButton(tr("Use the simulated plate"));
    simulated_->setObjectName("simulatedPlate");
    start_ = new QPushButton(tr("Start heating"));
    start_->setObjectName("start");
    start_->setAutoDefault(false);
    start_->setMinimumHeight(pixelsOf(10, this));
    auto* column = new QVBoxLayout(this);
    column->setContentsMargins(space::m, space::m, space::m, space::m);
    column->setSpacing(space::s);
    column->addWidget(words(tr("Ready?"), Type::Title));
    column->addWidget(new FittingScroll(page, 4 * fontMetrics().lineSpacing()), 1);
    for (QPushButton* button : {connect_, otherPlate_, saved_, simulated_, start_})
        column->addWidget(button);
    setSizePolicy(QSizePolicy::Preferred, QSizePolicy::Maximum);
    for (QCheckBox* box : {cautions_, anyway_})
        connect(box, &QCheckBox::toggled, this, &Readiness::decide);
    connect(start_, &QPushButton::clicked, this, &Readiness::startWanted);
    connect(connect_, &QPushButton::clicked, this, &Readiness::connectWanted);
    connect(otherPlate_, &QPushButton::clicked, this, &Readiness::otherPlateWanted);
    connect(saved_, &QPushButton::clicked, this, &Readiness::savedPlateWanted);
    connect(simulated_, &QPushButton::clicked, this, &Readiness::simulatedPlateWanted);
    setOutOfOrder({});
}

void Readiness::set(Line& line, bool met, const QString& text)
{
    line.mark->setText(met ? QStringLiteral("✓") : QStringLiteral("–"));
    line.mark->setAccessibleName(met ? tr("ready") : tr("not yet"));
    line.text->setText(met ? text : tr("Not yet: %1").arg(text));
}

// It keeps nothing from starting.
void Readiness::setToKnow(Line& line, const QString& text)
{
    line.mark->setText(QStringLiteral("▲"));
    line.mark->setAccessibleName(tr("to know"));
    line.text->setText(text);
}

void Readiness::showState(const LiveRun& run, const HeatPlan* plan, bool planning, bool fanByHand)
{
    const auto& status = run.status();
    const bool connected = run.live();
    const bool up = connected && status->link == LinkState::Up;
    QString linkText = run.phaseText();
    if (up)
        linkText = run.simulatedPlate()   ? tr("The simulated plate answers. Nothing real gets hot.")
                   : plateText_.isEmpty() ? tr("The plate answers.")
                                          : plateText_;
    else if (connected && !status->linkText.empty())
        linkText = QString::fromStdString(status->linkText);
    set(link_, up, linkText);
    const bool tripped = connected && status->trip;
    for (QLabel* label : {trip_.mark, trip_.text})
        label->setVisible(tripped);
    if (tripped)
        set(trip_, false,
            tr("%1 Answer it at the foot of the window.").arg(QString::fromStdString(status->trip->text)));
    const bool runnable = plan && plan->runnable && plan->refusals.empty() && !planning;
    set(plan_, runnable,
        planning || !plan ? tr("the sheet is being planned")
        : runnable && plan->ofHeats > 1
            ? tr("Heat %1 of %2 is planned and runnable: %3 at %4.")
                  .arg(plan->heat)
                  .arg(plan->ofHeats)
                  .arg(QString::fromStdString(inWords(plan->sheet.heat)),
                       QString::fromStdString(sitesInWords(plan->sheet.targets())))
        : runnable ? tr("The sheet is planned and runnable.")
                   : verdictOf(*plan));
    QStringList differences;
    if (plan && connected_ && !run.simulatedPlate())
        for (const std::string& one : plateDifferences(plan->sheet.plate, *connected_,
                                                       plan->sheet.air.ambientC, plan->sheet.cooling.fan))
            differences += QString::fromStdString(one);
    for (QLabel* label : {differs_.mark, differs_.text})
        label->setHidden(differences.isEmpty());
    if (!differences.isEmpty()) // what is too far off the controller refuses
        setToKnow(differs_,
                  tr("This plate is not as planned. Choose it on the sheet, or learn its heat again.\n%1")
                      .arg(differences.join("\n")));
    const double coldC = plan ? plan->safeBelowC : 45;
    const bool cold = up && status->sensorC && *status->sensorC < coldC;
    set(cold_, cold,
        !up || !status->sensorC ? tr("the plate's temperature is unknown")
        : cold                  ? tr("The plate is cold: %1 °C.").arg(figure(*status->sensorC, 1))
                                : tr("the plate is at %1 °C, it must be below %2 °C")
                     .arg(figure(*status->sensorC, 1), figure(coldC, 0)));
    for (QLabel* label : {fan_.mark, fan_.text})
        label->setVisible(fanByHand);
    if (fanByHand)
        setToKnow(fan_, tr("This plate's link switches no fan: you switch it on by hand %1 after the start, "
                           "when the heater goes off.")
                            .arg(clockText(plan->heaterOffS)));
    connect_->setVisible(run.phase() == LiveRun::Phase::Failed || run.phase() == LiveRun::Phase::Lost ||
                         run.phase() == LiveRun::Phase::Off);
    otherPlate_->setEnabled(!run.runIsOn());
    saved_->setEnabled(!run.runIsOn());
    simulated_->setVisible(!run.plateLink().empty()); // a link may lead to a simulated one, too
    simulated_->setEnabled(!run.runIsOn());
    met_ = up && !tripped && runnable && cold && !run.runIsOn();
    decide();
}

void Readiness::decide()
{
    ready_ = met_ && cautions_->isChecked() && (outOfOrder_->isHidden() || anyway_->isChecked());
    start_->setEnabled(ready_);
    start_->setToolTip(ready_ ? QString() : tr("Starts when every line above is met."));
}

void Readiness::setOutOfOrder(const QString& text)
{
    const QString shown = text.isEmpty() ? QString() : QStringLiteral("▲ ") + text;
    if (shown != outOfOrder_->text())
        anyway_->setChecked(false); // it was another question
    outOfOrder_->setText(shown);
    anyway_->setAccessibleName(text);
    outOfOrder_->setHidden(text.isEmpty());
    anyway_->setHidden(text.isEmpty());
    decide();
}

void Readiness::askCautionsAgain()
{
    anyway_->setChecked(false);
    cautions_->setChecked(false);
}

} // namespace stripwright
