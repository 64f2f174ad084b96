#include "at_the_plate/connect_plate.h"

#include "at_the_plate/said_line.h"
#include "models/plate_to_learn.h"
#include "models/wording.h"
#include "widgets/figure_field.h"
#include "widgets/message_line.h"

#include <QCheckBox>
#include <QLabel>
#include <QLineEdit>
#include <QPushButton>

namespace stripwright {

using nlohmann::json;

void ConnectPlate::showLearnt(const json& learnt)
{
    note(tr("Learnt: %1 J/K ± %2 %, %3 W ± %4 % lost at 150 °C, lags %5, %6 and %7 s")
             .arg(figureOf(learnt, "heat_capacity_J_per_K", 0),
                  wholePercent(learnt, "heat_capacity_error_share"), figureOf(learnt, "loss_at_150_C_W", 0),
                  wholePercent(learnt, "loss_error_share"), figureOf(learnt, "element_lag_s", 1),
                  figureOf(learnt, "sensor_lag_s", 1), figureOf(learnt, "dead_time_s", 1)));
    if (const json loop = partOf(learnt, "own_loop"); loop.is_object())
        note(tr("Its own loop: %1 % of full heat per K ± %2 %, integral %3 s ± %4 %")
                 .arg(figureOf(loop, "gain_per_K", 1, 100), wholePercent(loop, "gain_error_share"),
                      figureOf(loop, "integral_s", 0), wholePercent(loop, "integral_error_share")));
    if (const QString question = textOf(learnt, "power_question"); !question.isEmpty())
        note(tr("⚠ %1 If not, learn it again with the right power.").arg(question));
    if (partOf(learnt, "safe_to_touch_s").is_number())
        note(partOf(learnt, "safe_to_touch_with_fan_s").is_number()
                 ? tr("Safe to touch (45 °C) after %1 min, with the fan after %2 min")
                       .arg(figureOf(learnt, "safe_to_touch_s", 0, 1.0 / 60),
                            figureOf(learnt, "safe_to_touch_with_fan_s", 0, 1.0 / 60))
                 : tr("Safe to touch (45 °C) after %1 min")
                       .arg(figureOf(learnt, "safe_to_touch_s", 0, 1.0 / 60)));
    if (const json was = partOf(learnt, "changes"); was.is_array())
        for (const json& one : was)
            if (one.is_string())
                note(QString::fromStdString(one.get<std::string>()));
}

void ConnectPlate::showShelf(const json& line)
{
    const QString problem = textOf(line, "shelf_problem");
    if (!problem.isEmpty())
        return note(tr("Learnt, but %1").arg(problem));
    note(tr("✓ On your shelf as “%1”: the sheet can choose it.").arg(textOf(line, "shelf_name")));
    if (const QString warning = textOf(line, "shelf_warning"); !warning.isEmpty())
        note(tr("⚠ But %1").arg(warning));
    emit shelfChanged();
}

PlateToLearn ConnectPlate::toLearn(const json& link) const
{
    return {.link = link.is_object() ? &link : nullptr,
            .asConnected = isAsConnected(),
            .bare = bare_->isChecked(),
            .powerW = power_->value(),
            .size = size_->text(),
            .sizeNotKnown = sizeNotKnown_->isChecked()};
}

void ConnectPlate::showNeeds()
{
    const bool heats = connector_.heats() || connector_.job() == PlateConnector::Job::TurnOff;
    const bool unconfirmed = connector_.heater() == PlateConnector::Heater::NotConfirmed;
    const json link = linkInForce();
    const QStringList missing = missingToLearn(toLearn(link));
    const QString powerProblem = power_->text().trimmed().isEmpty() ? QString() : power_->problem();
    const QStringList wrong = link.is_object() ? wrongInForm() : QStringList();
    learn_->setEnabled(!heats && !unconfirmed && missing.isEmpty() && wrong.isEmpty());
    needs_->setText(heats         ? QString()
                    : unconfirmed ? tr("First turn it off: press Stop heating. Nothing else is done with any "
                                       "plate until the heater of this one was read back off.")
                    : !wrong.isEmpty()
                        ? tr("Before its heat can be learnt, or it is saved: %1").arg(wrong.join(' '))
                    : missing.isEmpty() ? tr("Its heat can be learnt.")
                                        : tr("Before its heat can be learnt: %1. %2")
                                              .arg(missing.join(QStringLiteral("; ")), powerProblem));
    learn_->setToolTip(needs_->text());
    const QString whyNot = whyNotSaved();
    save_->setEnabled(whyNot.isEmpty());
    save_->setToolTip(whyNot);
    const std::optional<double> topC = learningTopC(link);
    goesOn_->say(
        !topC || !mayGoOnHeating(link) ? QString()
        : partOf(link, "drive") == "setpoint"
            ? tr("▲ Nobody has seen this plate cut its heater, and it keeps to its set-point by itself. If "
                 "this computer dies while its heat is learnt, the plate may go on to %1 °C and stay "
                 "there. Stay by it, and know where its plug is.")
                  .arg(figure(*topC, 0))
            : tr("▲ Nobody has seen this plate cut its heater. If this computer dies while its heat is "
                 "learnt, the plate goes on heating at its last duty until somebody pulls the plug. Stay by "
                 "it, and know where its plug is."),
        MessageLine::Tone::Plain); // it stands so all the time
}

void ConnectPlate::learn()
{
    const json link = linkInForce();
    const PlateToLearn plate = toLearn(link);
    if (!missingToLearn(plate).isEmpty() || !wrongInForm().isEmpty())
        return;
    heatedName_ = textOf(link, "name");
    connector_.learn(link, {.powerW = *plate.powerW,
                            .ambientC = thermometerC().value_or(23),
                            .topC = *learningTopC(link),
                            .shelf = shelfFolder_,
                            .size = plate.sizeNotKnown ? QString() : plate.size});
}

} // namespace stripwright
