#include "at_the_plate/at_the_plate_place.h"

#include "at_the_plate/readiness.h"
#include "models/hand_work.h"
#include "models/live_run.h"
#include "models/margin_table.h"
#include "models/run_review.h"
#include "models/wording.h"
#include "planner/solder_melts.h"
#include "rules/hands.h"
#include "widgets/curve_view.h"
#include "widgets/hand_card.h"
#include "widgets/heat_row.h"
#include "widgets/look.h"
#include "widgets/margin_ladder.h"
#include "widgets/plan_plot.h"
#include "widgets/wrapped_list.h"

#include <QCheckBox>
#include <QHBoxLayout>
#include <QLabel>
#include <QLineEdit>
#include <QPushButton>
#include <QSplitter>

#include <algorithm>
#include <chrono>
#include <cmath>

namespace stripwright {

using namespace std::chrono_literals;

namespace {

constexpr double pageS = 60; // the time axis grows by pages, not with every sample
constexpr int leastListPx = 44, leastCurvesPx = 110, leastLadderPx = 48; // so that all fits a low screen

} // namespace

AtThePlatePlace::AtThePlatePlace(LiveRun& run, QWidget* parent) : QWidget(parent), run_(run)
{
    card_ = new HandCardView;
    heats_ = new HeatRow(HeatRow::Head::None);
    heatOfJob_ = words({}, Type::Title);
    heatOfJob_->setObjectName("heatOfJob");
    curves_ = new CurveView;
    curves_->setObjectName("liveCurves");
    curves_->setEmptyText(tr("The path stands here once the sheet is planned."));
    backToNow_ = new QPushButton(tr("Back to the whole"));
    backToNow_->hide();
    margins_ = new MarginTable(this);
    margins_->setValueTitle(tr("so far"));
    auto* ladder = new MarginLadder(margins_);
    auto* log = new WrappedList(tr("Log of this run"));
    log->setFollowsEnd(true);
    log_ = log;
    log_->setObjectName("eventLog");
    log_->setMinimumHeight(leastListPx);
    log_->setSizePolicy(QSizePolicy::Expanding, QSizePolicy::Ignored);
    readiness_ = new Readiness;
    note_ = new QLineEdit;
    note_->setObjectName("note");
    note_->setPlaceholderText(tr("Note, Enter keeps it"));
    note_->setAccessibleName(tr("Note for the log"));

    hands_ = new WrappedList(tr("What your hands do in this heat"));
    hands_->setObjectName("handsAhead");
    hands_->setMinimumHeight(leastListPx);
    hands_->setSizePolicy(QSizePolicy::Expanding, QSizePolicy::Ignored);
    another_ = new QPushButton(tr("Ready another heat"));
    another_->setObjectName("another");

    before_ = new QWidget;
    auto* beforeColumn = new QVBoxLayout(before_);
    beforeColumn->setContentsMargins(0, 0, 0, 0);
    beforeColumn->setSpacing(space::s);
    beforeColumn->addWidget(readiness_);
    beforeColumn->addSpacing(space::xs);
    beforeColumn->addWidget(words(tr("Your hands in this heat")));
    beforeColumn->addWidget(hands_, 1);
    during_ = new QWidget;
    auto* duringColumn = new QVBoxLayout(during_);
    duringColumn->setContentsMargins(0, 0, 0, 0);
    duringColumn->setSpacing(space::s);
    duringColumn->addWidget(valuesPanel());
    duringColumn->addWidget(another_);
    duringColumn->addSpacing(space::xs);
    duringColumn->addWidget(words(tr("Log")));
    duringColumn->addWidget(log_, 1);
    duringColumn->addWidget(note_);
    auto* sideBox = new QWidget;
    auto* side = new QVBoxLayout(sideBox);
    side->setContentsMargins(0, 0, 0, 0);
    side->addWidget(before_);
    side->addWidget(during_);
    sideBox->setFixedWidth(250);

    auto* plot = new QWidget;
    auto* plotColumn = new QVBoxLayout(plot);
    plotColumn->setContentsMargins(0, 0, 0, 0);
    plotColumn->setSpacing(0);
    plotColumn->addWidget(backToNow_, 0, Qt::AlignRight);
    plotColumn->addWidget(curves_, 1);
    curves_->setMinimumHeight(leastCurvesPx);
    ladder->setMinimumHeight(leastLadderPx);
    auto* halves = new QSplitter(Qt::Vertical);
    halves->setChildrenCollapsible(false);
    halves->addWidget(plot);
    halves->addWidget(ladder);
    halves->setStretchFactor(0, 3);
    halves->setStretchFactor(1, 1);
    halves->setSizes({600, 220});
    // Its hint is its least: the card gets what it needs first.
    halves->setSizePolicy(QSizePolicy::Expanding, QSizePolicy::Ignored);
    halves->setMinimumHeight(leastCurvesPx + leastLadderPx + halves->handleWidth());
    auto* upper = new QHBoxLayout;
    upper->setSpacing(space::m);
    auto* main = new QVBoxLayout;
    main->setSpacing(space::s);
    auto* heatLine = new QHBoxLayout;
    heatLine->setSpacing(space::m);
    heatLine->addWidget(heatOfJob_);
    heatLine->addWidget(heats_, 1);
    main->addLayout(heatLine);
    main->addWidget(card_);
    main->addWidget(halves, 1);
    upper->addLayout(main, 1);
    upper->addWidget(sideBox);
    auto* page = new QVBoxLayout(this);
    page->setContentsMargins(space::l, space::l, space::l, space::m);
    page->addLayout(upper);

    redrawSoon_.setSingleShot(true);
    redrawSoon_.setInterval(220ms);
    marginsSoon_.setSingleShot(true);
    marginsSoon_.setInterval(1s);
    connect(&redrawSoon_, &QTimer::timeout, this, &AtThePlatePlace::redraw);
    connect(&marginsSoon_, &QTimer::timeout, this, &AtThePlatePlace::showMargins);
    connect(&run_, &LiveRun::sampleAdded, this, [this] {
        if (!isVisible()) // what nobody sees would only make a press wait
            return;
        if (!redrawSoon_.isActive())
            redrawSoon_.start();
        if (!marginsSoon_.isActive())
            marginsSoon_.start();
    });
    connect(&run_, &LiveRun::eventAdded, this, &AtThePlatePlace::addEvents);
    for (auto signal : {&LiveRun::statusChanged, &LiveRun::phaseChanged, &LiveRun::silenceChanged})
        connect(&run_, signal, this, [this] {
            dropOtherPlan();
            showValues();
            showCard();
            if (!run_.live() || !run_.runIsOn())
                curves_->setNow(std::nullopt);
        });
    connect(&run_, &LiveRun::refused, this, [this] { // no run came of it
        if (runPlan_ && !run_.runIsOn() && run_.samples().empty() && run_.events().empty()) {
            runPlan_.reset();
            refresh();
        }
    });
    connect(&run_, &LiveRun::runRead, this, &AtThePlatePlace::takeUpRun);
    connect(&run_, &LiveRun::ended, this, [this] {
        redraw();
        showMargins();
    });
    connect(readiness_, &Readiness::connectWanted, this, &AtThePlatePlace::connectWanted);
    connect(readiness_, &Readiness::otherPlateWanted, this, &AtThePlatePlace::otherPlateWanted);
    connect(readiness_, &Readiness::savedPlateWanted, this, &AtThePlatePlace::savedPlateWanted);
    connect(readiness_, &Readiness::simulatedPlateWanted, this, &AtThePlatePlace::simulatedPlateWanted);
    connect(readiness_, &Readiness::startWanted, this, &AtThePlatePlace::start);
    connect(another_, &QPushButton::clicked, this, &AtThePlatePlace::readyAnother);
    connect(heats_, &HeatRow::heatChosen, this, &AtThePlatePlace::heatChosen);
    connect(card_, &HandCardView::done, &run_, &LiveRun::confirmCard);
    connect(card_, &HandCardView::solderSaid, &run_, &LiveRun::markSolder);
    setFocusPolicy(Qt::ClickFocus);
    connect(note_, &QLineEdit::returnPressed, this, [this] {
        run_.addNote(note_->text());
        note_->clear();
        setFocus(); // keys are answers to the card again
    });
    connect(curves_, &CurveView::zoomedChanged, this, [this] { backToNow_->setVisible(curves_->zoomed()); });
    connect(backToNow_, &QPushButton::clicked, curves_, &CurveView::showWhole);
    refresh();
}

QWidget* AtThePlatePlace::valuesPanel()
{
    auto* panel = new QFrame;
    panel->setProperty("tone", "card");
    auto* column = new QVBoxLayout(panel);
    column->setContentsMargins(space::m, space::m, space::m, space::m);
    column->setSpacing(0);
    const auto add = [&](const QString& title, const QString& name, QLabel*& value, QLabel*& more) {
        value = words(QStringLiteral("–"), Type::LiveValue);
        value->setObjectName(name + "Value");
        more = words({}, Type::Secondary, true);
        more->setObjectName(name + "More");
        more->setAlignment(Qt::AlignRight);
        more->setWordWrap(true);
        value->setAlignment(Qt::AlignRight);
        auto* row = new QHBoxLayout;
        row->addWidget(words(title, Type::Base, true));
        row->addWidget(value, 1);
        column->addLayout(row);
        column->addWidget(more);
    };
    add(tr("Joint, est."), "joint", joint_, jointMore_);
    add(tr("Plate sensor"), "plate", plate_, plateMore_);
    add(tr("Heater power"), "power", power_, powerMore_);
    return panel;
}

void AtThePlatePlace::showEvent(QShowEvent* event)
{
    QWidget::showEvent(event);
    redrawSoon_.start();
    marginsSoon_.start();
}

void AtThePlatePlace::setPlateText(const QString& text, bool switchesFan,
                                   const std::optional<ConnectedPlate>& plate)
{
    readiness_->setPlateText(text);
    readiness_->setConnectedPlate(plate);
    switchesFan_ = switchesFan;
    readiness_->askCautionsAgain();
}

bool AtThePlatePlace::ready() const
{
    return readiness_->ready();
}

void AtThePlatePlace::acknowledgeCautions()
{
    readiness_->findChild<QCheckBox*>("cautions")->setChecked(true);
}

void AtThePlatePlace::answerCard()
{
    card_->answer();
}

void AtThePlatePlace::start()
{
    if (!readiness_->ready() || !plan_)
        return;
    runPlan_ = plan_;
    eventsShown_ = 0;
    log_->clear();
    if (!run_.start(*runPlan_))
        runPlan_.reset();
    refresh();
}

// A run that this window did not start, or lost for a while: its plan and what it said before come from its
// log.
void AtThePlatePlace::takeUpRun(const QString& problem)
{
    if (run_.runPlan())
        runPlan_ = std::make_shared<HeatPlan>(*run_.runPlan());
    eventsShown_ = 0;
    log_->clear();
    addEvents();
    if (!problem.isEmpty())
        log_->addItem(QStringLiteral("▲ ") + problem);
    refresh();
}

// Another window's run: what stands here is not its plan.
void AtThePlatePlace::dropOtherPlan()
{
    if (!runPlan_ || run_.runPlan() || !run_.runIsOn())
        return;
    runPlan_.reset();
    eventsShown_ = 0;
    log_->clear();
    refresh();
}

void AtThePlatePlace::setJob(const std::shared_ptr<const JobPlan>& job, size_t heat, const HeatsDone& done,
                             bool planning)
{
    if (heat != heat_)
        readiness_->askCautionsAgain();
    job_ = job;
    heat_ = heat;
    done_ = done;
    plan_ = job ? std::shared_ptr<const HeatPlan>(job, &job->heats.at(heat)) : nullptr;
    planning_ = planning;
    hands_->clear();
    if (plan_ && plan_->hands && plan_->hands->sureFromS)
        if (const auto work = handWorkOf(plan_->sheet))
            hands_->addItem(QString::fromStdString(handsNeedText(*work, *plan_->hands->sureFromS)));
    if (plan_)
        for (const HandCard& card : plan_->cards)
            hands_->addItem((!card.comesByTime() ? tr("if needed")
                             : card.atS < 0      ? tr("before")
                                                 : clockText(card.atS)) +
                            QStringLiteral("  ") + QString::fromStdString(card.text));
    heats_->showHeats(job, heat, done);
    readiness_->setOutOfOrder(job ? outOfOrder(*job, heat, done) : QString());
    if (!runPlan_)
        refresh();
    else
        showValues();
}

void AtThePlatePlace::showHeat()
{
    const HeatPlan* plan = !runPlan_ && run_.runIsOn() ? nullptr : drawnPlan();
    const QString text = plan ? heatText(*plan) : QString();
    heatOfJob_->setText(text);
    heatOfJob_->setHidden(text.isEmpty());
    heats_->setHidden(runPlan_ || run_.runIsOn() || !job_ || job_->heats.size() < 2);
}

// Of a job the heat that comes next, where this one is done.
void AtThePlatePlace::readyAnother()
{
    runPlan_.reset();
    readiness_->askCautionsAgain();
    refresh();
    const auto isDone = [&](size_t heat) { return heat < done_.size() && !done_[heat].empty(); };
    if (!isDone(heat_))
        return;
    for (size_t next = heat_ + 1; next < done_.size(); ++next)
        if (!isDone(next)) {
            emit heatChosen(next);
            return;
        }
}

void AtThePlatePlace::refresh()
{
    redraw();
    showMargins();
    showValues();
    showCard();
}

void AtThePlatePlace::redraw()
{
    const HeatPlan* plan = drawnPlan();
    if (!plan)
        return;
    const std::vector<Sample> none;
    const std::vector<Sample>& samples = runPlan_ ? run_.samples() : none;
    PlanPlot plot = plotOf(*plan);
    if (runPlan_)
        layOverRun(plot, samples, run_.events());
    std::vector<PlotCurve> curves;
    for (PlotCurve& curve : plot.curves) {
        curve.named = samples.empty();
        if (!samples.empty())
            curve.widthPx = 1;
        curves.push_back(std::move(curve));
    }
    double nowS = 0;
    for (RunCurve& run : curvesOf(samples)) {
        if (!isDrawn(run, curves))
            continue;
        nowS = std::max(nowS, run.timeS.back());
        curves.push_back(plotCurveOf(std::move(run)));
    }
    plot.fields.clear(); // the path carries them; they would only hide what is measured
    const double endS = std::max(plot.workEndS, nowS > plot.workEndS ? nowS + pageS / 2 : 0);
    curves_->setSpan(0, samples.empty() ? plot.workEndS : std::ceil(endS / pageS) * pageS);
    curves_->setMarks(std::move(plot.limits), {}, std::move(plot.stages));
    curves_->setPoints(runPlan_ ? pointsOf(marksOf(run_.events())) : std::vector<PlotPoint>());
    curves_->setCurves(std::move(curves));
    const bool now = !samples.empty() && run_.runIsOn() && run_.live();
    curves_->setNow(now ? std::optional(nowS) : std::nullopt);
    curves_->setAccessibleDescription(samples.empty() ? tr("Planned curves only; no run yet.")
                                                      : curves_->reading(nowS));
}

void AtThePlatePlace::showMargins()
{
    const HeatPlan* plan = drawnPlan();
    if (!plan)
        return;
    const bool running = runPlan_ && !run_.samples().empty();
    if (running) {
        margins_->setPlanned(plan->margins);
        margins_->setValueTitle(run_.runIsOn() ? tr("so far") : tr("measured"));
        margins_->setRows(
            measuredRows(plan->sheet, run_.samples(), run_.events(), !run_.runIsOn(), plan->newLeds));
    } else {
        margins_->setPlanned({});
        margins_->setValueTitle(tr("predicted"));
        margins_->setRows(plan->margins);
    }
}

void AtThePlatePlace::showValues()
{
    const auto& status = run_.status();
    during_->setVisible(runPlan_ != nullptr);
    before_->setVisible(runPlan_ == nullptr);
    another_->setVisible(!run_.runIsOn());
    readiness_->showState(run_, plan_.get(), planning_, fanByHand(plan_.get()));
    showHeat();
    const auto unknown = run_.unknownSince();
    const bool live = run_.live(), ended = live && !run_.runIsOn();
    const QString since =
        unknown ? tr("unknown since %1").arg(unknown->toString(QStringLiteral("HH:mm:ss"))) : QString();
    const QString none = QStringLiteral("–");
    if (run_.samples().empty()) {
        const QString why = unknown ? since : tr("not heating yet");
        showValue(plate_, plateMore_, none, why, false);
        showValue(joint_, jointMore_, none, why, false);
        showValue(power_, powerMore_, none, why, false);
        return;
    }
    // A run that has ended has no more samples: only what the controller reads by itself is still of now.
    const Sample& last = run_.samples().back();
    if (ended || (!live && !unknown)) {
        const auto readsC = run_.liveSensorC();
        const QString why = ended ? tr("ended") : tr("not connected");
        showValue(plate_, plateMore_, readsC ? tr("%1 °C").arg(figure(*readsC, 1)) : none,
                  readsC ? tr("ended, cooling") : why, readsC.has_value());
        showValue(joint_, jointMore_, none, why, false);
        showValue(power_, powerMore_, none,
                  ended ? tr("ended, %1").arg(QString::fromUtf8(inWords(status->heater))) : why, false);
        return;
    }
    const QString waits = run_.waitsFor();
    showValue(plate_, plateMore_, last.sensorC ? tr("%1 °C").arg(figure(*last.sensorC, 1)) : tr("no reading"),
              unknown           ? since
              : waits.isEmpty() ? tr("path %1 °C").arg(figure(last.expectedC, 1))
                                : tr("path over; waits %1").arg(waits),
              live);
    const QString between =
        last.jointLowC && last.jointHighC
            ? tr("between %1 and %2 °C").arg(figure(*last.jointLowC, 0), figure(*last.jointHighC, 0))
            : tr("not estimated");
    const std::vector<TimedMark> marks = marksOf(run_.events());
    const QString byMark =
        marks.empty() ? QString()
                      : '\n' + tr("%1 °C by your mark at %2; %3 °C before it")
                                   .arg(figure(marks.back().mark.afterC, 0), clockText(marks.back().timeS),
                                        figure(marks.back().mark.beforeC, 0));
    const bool lags = sensorLagsBehindJoint(run_.samples());
    showValue(joint_, jointMore_, last.jointNominalC ? tr("%1 °C").arg(figure(*last.jointNominalC, 1)) : none,
              unknown
                  ? since
                  : between + (lags ? '\n' + tr("above the reading: the sensor lags") : QString()) + byMark,
              live);
    joint_->setToolTip(lags ? tr("While the plate warms, its sensor shows it as it was some seconds ago. The "
                                 "estimate of the joint takes that into account.")
                            : QString());
    jointMore_->setToolTip(joint_->toolTip());
    showValue(power_, powerMore_, tr("%1 %").arg(figure(last.duty * 100, 0)),
              unknown ? since : QString::fromUtf8(inWords(status->heater)), live);
}

void AtThePlatePlace::showValue(QLabel* value, QLabel* more, const QString& valueText,
                                const QString& moreText, bool live)
{
    value->setText(valueText);
    value->setEnabled(live);
    more->setText(moreText);
}

bool AtThePlatePlace::fanByHand(const HeatPlan* plan) const
{
    return plan && plan->sheet.cooling.fan && !switchesFan_ && !run_.simulatedPlate();
}

void AtThePlatePlace::showCard()
{
    const auto& status = run_.status();
    const auto passed = runPlan_ && status && status->state != RunState::Idle
                            ? passedUnsaid(runPlan_->cards, run_.events(), run_.placeS())
                            : std::vector<HandCard>();
    const auto work =
        std::ranges::find_if(passed, [](const HandCard& card) { return card.id != "see-liquid"; });
    const bool asksLate = work != passed.end() && run_.live() && run_.runIsOn();
    card_->askLate(asksLate ? std::optional(*work) : std::nullopt);
    showCardOfRun();
    if (runPlan_ && run_.live() && fanByHand(runPlan_.get()) &&
        (status->state == RunState::Stopping || status->state == RunState::Cooling))
        card_->sayToo(tr("▲ The fan: switch it on now, if it does not blow yet. This plate's link does not "
                         "switch it."));
    if (!passed.empty())
        card_->sayToo(tr("▲ Not confirmed: %1.").arg(QString::fromStdString(workInWords(passed))));
}

void AtThePlatePlace::showCardOfRun()
{
    const HeatPlan* plan = drawnPlan();
    const auto& status = run_.status();
    if (!runPlan_ && run_.runIsOn()) {
        card_->showNothing(
            tr("A run is on that was started elsewhere. Until its plan has been read, take strip and "
               "plate for hot."));
        return;
    }
    const bool on = runPlan_ && status && status->state != RunState::Idle;
    if (!plan) {
        card_->showNothing(tr("What your hands do in the heat stands here, one thing at a time."));
        return;
    }
    if (runPlan_ && !on && !run_.runIsOn() && !run_.samples().empty()) {
        card_->showNothing(
            tr("The run is over, or was lost: the controller knows of none. Take strip and plate for "
               "hot until they are measured to be cold."));
        return;
    }
    if (on && !run_.live() && (run_.runIsOn() || run_.heatMayBeOn())) {
        card_->showNothing(
            tr("What strip and plate do is unknown. Take the strip for hot and the heater for on: switch "
               "the plate off at the mains."));
        return;
    }
    if (on && status->state == RunState::Ended) {
        QString outcome = status->outcome
                              ? QString::fromStdString(inWords(*status->outcome, status->outcomeText))
                              : tr("ended");
        if (!outcome.endsWith('.'))
            outcome += '.';
        card_->showNothing(tr("The run has ended: %1 It stands in Look back.").arg(outcome));
        return;
    }
    if (on && run_.brokenOff()) {
        card_->showNothing(
            (jointsMayBeLiquid(*plan)
                 ? tr("The heat was broken off. Leave strip and plate alone until both are below %1 °C: "
                      "joints "
                      "may still be liquid.")
                 : tr("The heat was broken off. Leave strip and plate alone until both are below %1 °C."))
                .arg(figure(plan->safeBelowC, 0)));
        return;
    }
    const auto lift =
        std::ranges::find_if(plan->cards, [](const HandCard& card) { return card.id == liftCard; });
    const bool liftUp = on && lift != plan->cards.end() &&
                        (status->card == liftCard || status->strip == StripPlace::LiftNotSaid);
    if (liftUp && status->strip != StripPlace::Lifted) {
        card_->showLift(*lift, lift->untilS - run_.placeS(),
                        tr("In the estimate: %1.").arg(QString::fromUtf8(inWords(status->strip))));
        return;
    }
    const auto up = std::ranges::find_if(plan->cards,
                                         [&](const HandCard& card) { return on && card.id == status->card; });
    const HandCard* shown = up != plan->cards.end() ? &*up : nullptr;
    if (on && !shown) // a card that is done is up no more, whatever its time
        shown = doneBeforeItsEnd(plan->cards, run_.events(), status->profileS);
    if (shown) {
        // Hands that are ahead of the plan's time go on to the next site.
        while (saidDoneS(run_.events(), *shown) && workFollows(plan->cards, *shown))
            ++shown;
        card_->showCard(*shown, shown->atS - run_.placeS(), shown->untilS - run_.placeS(),
                        status->state == RunState::Holding, asksOf(*shown));
        return;
    }
    const double atS = on ? status->profileS : -1;
    const auto next = std::ranges::find_if(
        plan->cards, [&](const HandCard& card) { return card.comesByTime() && card.atS > atS; });
    if (on && next != plan->cards.end())
        card_->showCard(*next, next->atS - run_.placeS(), 0, status->state == RunState::Holding);
    else if (on)
        card_->showNothing(
            tr("Nothing more for your hands. Leave strip and plate alone until they are cold."));
    else
        card_->showNothing(plan->cards.empty() ? tr("Nothing for your hands in this heat.")
                                               : tr("Your hands are needed %1 times in this heat. First: %2")
                                                     .arg(timesNeeded(plan->cards))
                                                     .arg(QString::fromStdString(plan->cards.front().text)));
}

bool AtThePlatePlace::jointsMayBeLiquid(const HeatPlan& plan) const
{
    const auto melts = solderMelts(plan.sheet);
    if (!melts || run_.samples().empty() || !run_.samples().back().jointHighC)
        return true;
    return *run_.samples().back().jointHighC > melts->lowC - surelySolidBelowK;
}

// About solder only while a mark would count: before that the buttons would be in the way for minutes.
CardAsks AtThePlatePlace::asksOf(const HandCard& card) const
{
    CardAsks asks{.whetherDone = asksForWork(card)};
    if (asks.whetherDone)
        asks.saidDoneS = saidDoneS(run_.events(), card);
    const auto melts = solderMelts(runPlan_->sheet);
    const auto plateC = run_.liveSensorC();
    if (!card.asksLiquid || !melts || !plateC || *plateC < melts->lowC - surelySolidBelowK)
        return asks;
    asks.solderSite = siteToWatch(*runPlan_, card);
    for (const TimedMark& timed : marksOf(run_.events()))
        if (timed.mark.site == asks.solderSite)
            asks.saidLiquid = timed.mark.liquid;
    return asks;
}

void AtThePlatePlace::addEvents()
{
    const auto& events = run_.events();
    for (; eventsShown_ < events.size(); ++eventsShown_) {
        const Event& event = events[eventsShown_];
        const bool abnormal = event.severity != "info";
        auto* item = new QListWidgetItem((abnormal ? QStringLiteral("▲ ") : QString()) +
                                         clockText(event.timeS) + "  " +
                                         QString::fromStdString(eventInWords(
                                             event, runPlan_ ? runPlan_->cards : std::vector<HandCard>())));
        if (event.severity == "trip") {
            QFont bold = log_->font();
            bold.setBold(true);
            item->setFont(bold);
        }
        log_->addItem(item);
    }
    log_->scrollToBottom();
    showValues();
    showCard();
}

} // namespace stripwright
