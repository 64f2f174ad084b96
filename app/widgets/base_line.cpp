#include "widgets/base_line.h"

#include "models/live_run.h"
#include "models/wording.h"
#include "widgets/alarm_line.h"
#include "widgets/fitting_scroll.h"
#include "widgets/look.h"
#include "widgets/message_line.h"
#include "widgets/stop_button.h"

#include <QHBoxLayout>
#include <QLabel>
#include <QPushButton>

#include <algorithm>
#include <initializer_list>

namespace stripwright {

namespace {

QVBoxLayout* pair(QLabel* top, QLabel* under)
{
    auto* column = new QVBoxLayout;
    column->setSpacing(0);
    column->addStretch();
    column->addWidget(top);
    column->addWidget(under);
    column->addStretch();
    return column;
}

bool heatsOrMay(const LiveRun& run)
{
    return run.heatMayBeOn() || run.runIsOn() || run.stop() == LiveRun::Stop::NotConfirmed;
}

} // namespace

BaseLine::BaseLine(LiveRun& run, QWidget* parent) : QWidget(parent), run_(run)
{
    setObjectName("baseLine");
    setAttribute(Qt::WA_StyledBackground);
    link_ = words({}, Type::Title);
    linkMore_ = words({}, Type::Secondary, true);
    linkMore_->setWordWrap(true);
    linkMore_->setMinimumWidth(160);
    temperature_ = words({}, Type::LiveValue);
    temperature_->setObjectName("temperature");
    temperatureMore_ = words({}, Type::Secondary, true);
    temperatureMore_->setObjectName("temperatureMore");
    clock_ = words({}, Type::LiveValue);
    clock_->setObjectName("clock");
    clockMore_ = words({}, Type::Secondary, true);
    clockMore_->setObjectName("clockMore");
    stopState_ = words({}, Type::Base);
    stopState_->setObjectName("stopState");
    stopState_->setAlignment(Qt::AlignRight | Qt::AlignVCenter);
    stopState_->setWordWrap(true);
    message_ = new MessageLine;
    message_->setObjectName("baseMessage");
    tripLine_ = new AlarmLine("trip");
    seen_ = tripLine_->addButton(tr("Seen"), "tripSeen");
    seen_->setToolTip(tr("Says that you know of it. It stays here until it is reset."));
    reset_ = tripLine_->addButton(tr("Reset"), "tripReset");
    keptLine_ = new AlarmLine("kept");
    keptSeen_ = keptLine_->addButton(tr("Seen"), "keptSeen");
    keptSeen_->setToolTip(tr("Takes these words away"));
    lostLine_ = new AlarmLine("lost");
    takeUp_ = lostLine_->addButton(tr("Take up contact again"), "takeUp");
    stop_ = new StopButton;
    stopPresses().add(
        this, [this] { return heatsOrMay(run_); }, [this] { run_.stopHeating(); });

    temperature_->setMinimumWidth(temperature_->fontMetrics().horizontalAdvance(QStringLiteral("000.0 °C")));
    clock_->setMinimumWidth(clock_->fontMetrics().horizontalAdvance(QStringLiteral("00:00")));
    clockMore_->setWordWrap(true);
    clockMore_->setMinimumWidth(
        clockMore_->fontMetrics().horizontalAdvance(QStringLiteral("waiting for the hands, 00:00 to go ")));
    temperatureMore_->setMinimumWidth(
        temperatureMore_->fontMetrics().horizontalAdvance(QStringLiteral("unknown since 00:00:00")));
    auto* row = new QHBoxLayout;
    row->setContentsMargins(space::l, space::xs, space::xs, space::xs);
    row->setSpacing(space::xl);
    row->addLayout(pair(link_, linkMore_), 3);
    row->addLayout(pair(temperature_, temperatureMore_));
    row->addLayout(pair(clock_, clockMore_));
    row->addWidget(stopState_, 2);
    row->addWidget(stop_);
    auto* column = new QVBoxLayout(this);
    column->setContentsMargins(0, 0, 0, 0);
    column->setSpacing(0);
    auto* alarms = new QWidget;
    auto* alarmColumn = new QVBoxLayout(alarms);
    alarmColumn->setContentsMargins(0, 0, 0, 0);
    alarmColumn->setSpacing(0);
    for (QWidget* line : std::initializer_list<QWidget*>{tripLine_, keptLine_, lostLine_, message_})
        alarmColumn->addWidget(line);
    // However many there are, they leave the places room on a low screen.
    const int mostPx = 8 * fontMetrics().lineSpacing();
    column->addWidget(new FittingScroll(alarms, mostPx, mostPx));
    column->addLayout(row);

    for (auto signal : {&LiveRun::phaseChanged, &LiveRun::statusChanged, &LiveRun::stopChanged,
                        &LiveRun::silenceChanged, &LiveRun::sampleAdded})
        connect(&run_, signal, this, &BaseLine::refresh);
    connect(&run_, &LiveRun::refused, this, &BaseLine::say);
    connect(&run_, &LiveRun::runStarted, this, [this] { say({}); });
    connect(seen_, &QPushButton::clicked, &run_, &LiveRun::acknowledgeTrip);
    connect(reset_, &QPushButton::clicked, &run_, &LiveRun::resetTrip);
    connect(takeUp_, &QPushButton::clicked, &run_, &LiveRun::takeUpAgain);
    connect(keptSeen_, &QPushButton::clicked, this, [this] {
        kept_.clear();
        toReset_.clear();
        refresh();
    });
    refresh();
}

void BaseLine::say(const QString& text)
{
    said_ = text;
    refresh();
}

void BaseLine::keep(const QString& text)
{
    if (!text.isEmpty() && !kept_.contains(text))
        kept_ += text;
    refresh();
}

void BaseLine::stand(const QString& text)
{
    standing_ = text;
    refresh();
}

void BaseLine::refresh()
{
    showValues();
    showAlarms();
    stop_->showHeat(run_.heatMayBeOn() &&
                    (run_.runIsOn() || (run_.status() && run_.status()->heater == HeaterState::On)));
    using Stop = LiveRun::Stop;
    const bool othersMayHeat = run_.stop() == Stop::None && stopPresses().heatMayBeOn();
    stopState_->setText(run_.stop() == Stop::NotConfirmed || othersMayHeat ? QString() : run_.stopWords());
}

void BaseLine::showValues()
{
    const auto& status = run_.status();
    const auto unknown = run_.unknownSince();
    const QString since =
        unknown ? tr("unknown since %1").arg(unknown->toString(QStringLiteral("HH:mm:ss"))) : QString();
    const bool live = run_.live(), lost = run_.phase() == LiveRun::Phase::Lost;
    QString more;
    const bool connected = run_.phase() == LiveRun::Phase::Connected && status;
    if (connected && status->link != LinkState::Up)
        more = tr("link %1. %2")
                   .arg(QString::fromUtf8(inWords(status->link)), QString::fromStdString(status->linkText));
    else if (connected)
        more = live ? QString::fromUtf8(inWords(status->heater)) : tr("silent");
    if (connected && run_.speed() != 1)
        more += tr(" · %1 times real speed").arg(figure(run_.speed(), 0));
    link_->setText(lost                                     ? tr("Controller lost")
                   : run_.phase() == LiveRun::Phase::Failed ? tr("No plate")
                                                            : run_.phaseText());
    linkMore_->setText(more);

    const bool reading = status && status->sensorC && (live || unknown);
    temperature_->setText(reading ? tr("%1 °C").arg(figure(*status->sensorC, 1)) : QStringLiteral("– °C"));
    temperature_->setEnabled(reading && live);
    temperatureMore_->setText(live      ? status->sensorC ? tr("plate sensor") : tr("no valid reading")
                                   : unknown ? since
                                        : tr("not connected"));

    const bool active = status && (live || unknown) && status->state != RunState::Idle;
    clock_->setText(active ? clockText(status->timeS) : QStringLiteral("0:00"));
    clock_->setEnabled(active && live && status->state != RunState::Ended);
    if (!active)
        clockMore_->setText(tr("no run"));
    else if (status->state == RunState::Ended)
        clockMore_->setText(status->outcome ? QString::fromUtf8(inWords(*status->outcome)) : tr("ended"));
    else if (!live)
        clockMore_->setText(since);
    else if (run_.brokenOff())
        clockMore_->setText(
            tr("%1; waits %2").arg(QString::fromUtf8(inWords(status->state)), run_.waitsFor()));
    else if (const QString waits = run_.waitsFor(); !waits.isEmpty() && !run_.toGoS())
        clockMore_->setText(tr("path over; waits %1").arg(waits));
    else
        clockMore_->setText(
            (status->state == RunState::Holding ? tr("%1; then %2 to go") : tr("%1, %2 to go"))
                .arg(QString::fromUtf8(inWords(status->state)), clockText(run_.toGoS().value_or(0))));
}

void BaseLine::showAlarms()
{
    const auto& status = run_.status();
    // A controller that is gone takes its trip along; nobody may have seen it yet, and none has reset it.
    if (trip_ && !(status && status->trip) && (!trip_->acknowledged || !status || outOfTouch_)) {
        const QString text = QString::fromStdString(trip_->text);
        if (!kept_.contains(text))
            kept_ += text;
        if (trip_->acknowledged && !toReset_.contains(text))
            toReset_ += text;
    }
    outOfTouch_ = !run_.live();
    trip_ = status ? status->trip : std::nullopt;
    QString trip;
    if (trip_) {
        trip = QString::fromStdString(trip_->text);
        kept_.removeAll(trip);
        toReset_.removeAll(trip);
        if (trip_->causeSeen)
            trip += ' ' + tr("The cause is still there.");
    }
    const bool live = run_.live();
    tripLine_->say(trip, trip_ && trip_->acknowledged);
    seen_->setVisible(trip_ && !trip_->acknowledged);
    seen_->setEnabled(live);
    reset_->setEnabled(live && trip_ && trip_->acknowledged && !trip_->causeSeen);
    reset_->setToolTip(!trip_                 ? QString()
                       : !trip_->acknowledged ? tr("First say that you have seen it.")
                       : trip_->causeSeen     ? tr("Not while the cause is still there.")
                                              : tr("Lets a run be started again. Starts nothing itself."));
    seen_->setAccessibleName(tr("Seen: %1").arg(trip));
    reset_->setAccessibleName(tr("Reset: %1").arg(trip));

    const bool onlyToReset = standing_.isEmpty() && std::ranges::all_of(kept_, [&](const QString& text) {
                                 return toReset_.contains(text);
                             });
    keptLine_->say((kept_ + (standing_.isEmpty() ? QStringList() : QStringList{standing_})).join('\n'),
                   onlyToReset);
    keptSeen_->setText(onlyToReset ? tr("Reset") : tr("Seen"));
    keptSeen_->setVisible(!kept_.isEmpty());
    const bool lost = run_.phase() == LiveRun::Phase::Lost || run_.phase() == LiveRun::Phase::Failed;
    lostLine_->say(lost ? run_.phaseText() : QString());
    takeUp_->setVisible(run_.canTakeUpAgain());

    QString message = said_;
    if (run_.stop() == LiveRun::Stop::NotConfirmed)
        message = run_.stopWords() + (said_.isEmpty() ? QString() : '\n' + said_);
    message_->say(message);
}

} // namespace stripwright
