#include "widgets/base_line.h"

#include "models/live_run.h"
#include "models/wording.h"
#include "widgets/look.h"
#include "widgets/message_line.h"

#include <QHBoxLayout>
#include <QLabel>
#include <QPushButton>

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
    clock_ = words({}, Type::LiveValue);
    clockMore_ = words({}, Type::Secondary, true);
    stopState_ = words({}, Type::Base);
    stopState_->setObjectName("stopState");
    stopState_->setAlignment(Qt::AlignRight | Qt::AlignVCenter);
    stopState_->setWordWrap(true);
    message_ = new MessageLine;
    message_->setObjectName("baseMessage");
    stop_ = new QPushButton(tr("Stop heating"));
    stop_->setObjectName("stop");
    stop_->setToolTip(tr("Turns the heater off and reads it back. Key: Esc"));
    stop_->setAccessibleDescription(tr("Turns the heater off at once. The Esc key does the same."));
    stop_->setFocusPolicy(Qt::TabFocus);
    connect(stop_, &QPushButton::pressed, &run_, &LiveRun::stopHeating);

    temperature_->setMinimumWidth(temperature_->fontMetrics().horizontalAdvance(QStringLiteral("000.0 °C")));
    clock_->setMinimumWidth(clock_->fontMetrics().horizontalAdvance(QStringLiteral("00:00")));
    clockMore_->setMinimumWidth(
        clockMore_->fontMetrics().horizontalAdvance(QStringLiteral("heating by the plan, 00:00 to go")));
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
    column->addWidget(message_);
    column->addLayout(row);

    for (auto signal : {&LiveRun::phaseChanged, &LiveRun::statusChanged, &LiveRun::stopChanged,
                        &LiveRun::silenceChanged, &LiveRun::sampleAdded})
        connect(&run_, signal, this, &BaseLine::refresh);
    connect(&run_, &LiveRun::refused, this, &BaseLine::say);
    connect(&run_, &LiveRun::runStarted, this, [this] { say({}); });
    refresh();
}

void BaseLine::showEvent(QShowEvent* event)
{
    QWidget::showEvent(event);
    stop_->setMinimumSize(pixelsOf(36, this), pixelsOf(25, this));
}

void BaseLine::say(const QString& text)
{
    said_ = text;
    refresh();
}

QString BaseLine::stopText() const
{
    switch (run_.stop()) {
    case LiveRun::Stop::None:
        return {};
    case LiveRun::Stop::Sent:
        return tr("Stop sent");
    case LiveRun::Stop::Acknowledged:
        return tr("Stop acknowledged, heater not yet read back off");
    case LiveRun::Stop::OffConfirmed:
        return tr("Heater off, read back");
    case LiveRun::Stop::NotConfirmed:
        return tr("Not confirmed: switch the plate off at the mains");
    }
    return {};
}

void BaseLine::refresh()
{
    const auto& status = run_.status();
    const auto unknown = run_.unknownSince();
    const bool connected = run_.phase() == LiveRun::Phase::Connected;
    QString more;
    if (connected && status) {
        more = unknown ? tr("silent") : QString::fromUtf8(inWords(status->heater));
        if (!unknown && status->link != LinkState::Up)
            more =
                tr("link %1. %2")
                    .arg(QString::fromUtf8(inWords(status->link)), QString::fromStdString(status->linkText));
        if (run_.speed() != 1)
            more += tr(" · %1 times real speed").arg(figure(run_.speed(), 0));
    }
    const bool failed = run_.phase() == LiveRun::Phase::Failed || run_.phase() == LiveRun::Phase::Lost;
    link_->setText(failed ? (run_.phase() == LiveRun::Phase::Lost ? tr("Controller lost") : tr("No plate"))
                          : run_.phaseText());
    linkMore_->setText(more);

    if (status && status->sensorC)
        temperature_->setText(tr("%1 °C").arg(figure(*status->sensorC, 1)));
    else
        temperature_->setText(QStringLiteral("– °C"));
    temperature_->setEnabled(!unknown && status && status->sensorC);
    temperatureMore_->setText(unknown
                                  ? tr("unknown since %1").arg(unknown->toString(QStringLiteral("HH:mm:ss")))
                              : status && !status->sensorC ? tr("no valid reading")
                              : status                     ? tr("plate sensor")
                                                           : tr("not connected"));

    const bool active = status && status->state != RunState::Idle;
    clock_->setText(active ? clockText(status->timeS) : QStringLiteral("0:00"));
    clock_->setEnabled(active && !unknown);
    if (!active)
        clockMore_->setText(tr("no run"));
    else if (status->state == RunState::Ended)
        clockMore_->setText(status->outcome ? QString::fromUtf8(inWords(*status->outcome)) : tr("ended"));
    else
        clockMore_->setText(tr("%1, %2 to go")
                                .arg(QString::fromUtf8(inWords(status->state)),
                                     clockText(std::max(0.0, status->endS - status->profileS))));

    const bool heat = run_.heatMayBeOn() && (run_.runIsOn() || (status && status->heater == HeaterState::On));
    stop_->setProperty("heat", heat);
    stop_->setStyleSheet(
        heat ? QStringLiteral("QPushButton { background: %1; color: %2; border: none; font-weight: bold; }"
                              "QPushButton:focus { border: 2px solid %3; }")
                   .arg(look().abnormal.name(), look().onAbnormal.name(), look().ink.name())
             : QString());
    stopState_->setText(run_.stop() == LiveRun::Stop::NotConfirmed ? QString() : stopText());
    QString message = said_;
    if (run_.stop() == LiveRun::Stop::NotConfirmed)
        message = stopText();
    else if (failed)
        message = run_.phaseText();
    message_->say(message);
}

} // namespace stripwright
