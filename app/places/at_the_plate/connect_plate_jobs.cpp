#include "at_the_plate/connect_plate.h"

#include "at_the_plate/register_row.h"
#include "materials/own_plates.h"
#include "models/wording.h"
#include "widgets/file_question.h"
#include "widgets/stop_button.h"

#include <QCheckBox>
#include <QComboBox>
#include <QDoubleSpinBox>
#include <QKeyEvent>
#include <QLabel>
#include <QLineEdit>
#include <QListWidget>
#include <QPushButton>
#include <QSaveFile>
#include <QSpinBox>
#include <QTableWidget>

#include <algorithm>
#include <cmath>

namespace stripwright {

using nlohmann::json;

// A program's line may have any shape: what is not as it should be reads as nothing, never as zero.
static json partOf(const json& line, const char* key)
{
    return line.is_object() && line.contains(key) ? line.at(key) : json();
}

static bool saysYes(const json& line, const char* key)
{
    const json part = partOf(line, key);
    return part.is_boolean() && part.get<bool>();
}

static QString figureOf(const json& line, const char* key, int decimals, double times = 1)
{
    const json part = partOf(line, key);
    return part.is_number() ? figure(times * part.get<double>(), decimals) : QStringLiteral("–");
}

// An uncertainty is never none: a percent at least.
static QString wholePercent(const json& line, const char* key)
{
    const json part = partOf(line, key);
    return part.is_number() ? figure(std::max(1.0, std::ceil(100 * part.get<double>())), 0)
                            : QStringLiteral("–");
}

static QString textOf(const json& line, const char* key)
{
    const json part = partOf(line, key);
    return part.is_string() ? QString::fromStdString(part.get<std::string>()) : QString();
}

json ConnectPlate::draft()
{
    PlateDraft draft;
    draft.name = name_->text();
    draft.serial = kind_->currentIndex() == 1;
    draft.host = host_->text();
    draft.port = port_->value();
    draft.device = device_->currentText();
    draft.baud = baud_->currentText().toInt();
    draft.frame = frame_->currentText();
    draft.unit = unit_->value();
    draft.drive = static_cast<PlateDraft::Drive>(drive_->currentIndex());
    draft.sensor = sensor_->value();
    const RegisterRow* heat[] = {heat_, output_, setpoint_};
    draft.heat = heat[drive_->currentIndex()]->value();
    draft.watchdog = watchdog_->value();
    draft.enable = enable_->value();
    draft.stripSensor = strip_->value();
    if (const QStringList missing = missingIn(draft); !missing.isEmpty()) {
        note(tr("Not yet: %1 is missing.").arg(missing.join(", ")));
        return {};
    }
    return toJson(draft);
}

QStringList ConnectPlate::lineArguments() const
{
    if (kind_->currentIndex() == 1)
        return {device_->currentText(), "--baud", baud_->currentText(), "--frame", frame_->currentText()};
    return {host_->text() + ':' + QString::number(port_->value())};
}

std::optional<double> ConnectPlate::thermometerC() const
{
    return measured_->isChecked() ? std::optional(thermometer_->value()) : std::nullopt;
}

void ConnectPlate::note(const QString& text)
{
    notes_->addItem(text);
    notes_->scrollToBottom();
}

void ConnectPlate::take(const json& line)
{
    const QString kind = textOf(line, "kind");
    if (kind == "candidates") {
        showCandidates(partOf(line, "list"));
    } else if (kind == "device") {
        note(tr("Unit %1 %2").arg(figureOf(line, "unit", 0), textOf(line, "says")));
    } else if (kind == "proof") {
        note((saysYes(line, "ok")          ? tr("✓ proven, %1: %2")
              : saysYes(line, "left_open") ? tr("? left open, %1: %2")
                                           : tr("✗ not so, %1: %2"))
                 .arg(textOf(line, "what"), textOf(line, "text")));
    } else if (kind == "step") {
        now_->setText(textOf(line, "text"));
        if (connector_.heats())
            note(textOf(line, "text"));
    } else if (line.contains("plate_C")) {
        now_->setText(
            tr("%1 °C, %2 % heat %3")
                .arg(figureOf(line, "plate_C", 1), figureOf(line, "duty", 0, 100), textOf(line, "step")));
    } else if (line.contains("learnt")) {
        showLearnt(partOf(line, "learnt"));
    } else if (line.contains("shelf_problem")) {
        showShelf(line);
    }
}

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

void ConnectPlate::learn()
{
    if (!connector_.link())
        return;
    std::string why;
    if (!size_->text().trimmed().isEmpty() && !readPlateSize(size_->text().toStdString(), why))
        return note(tr("Size of the plate: %1").arg(QString::fromStdString(why)));
    connector_.learn(*connector_.link(), {.powerW = power_->value(),
                                          .ambientC = thermometerC().value_or(23),
                                          .shelf = shelfFolder_,
                                          .size = size_->text()});
}

void ConnectPlate::showCandidates(const json& list)
{
    candidates_->setRowCount(0);
    // What makes sense stands first.
    for (const bool sensible : {true, false})
        for (const json& one : list) {
            if (!one.is_object() || saysYes(one, "sensible") != sensible)
                continue;
            const int row = candidates_->rowCount();
            candidates_->insertRow(row);
            const json scale = partOf(one, "scale"), reads = partOf(one, "reads_C");
            const QString cells[] = {
                textOf(one, "type") + ' ' + textOf(one, "order") + " × " +
                    (scale.is_number() ? QString::number(scale.get<double>()) : QStringLiteral("–")),
                reads.is_number() ? tr("%1 °C").arg(QString::number(reads.get<double>(), 'g', 5))
                                  : tr("nothing"),
                tr("%1 K").arg(figureOf(one, "moved_K", 2)), sensible ? tr("✓ yes") : tr("no")};
            for (int column = 0; column < 4; ++column)
                candidates_->setItem(row, column, new QTableWidgetItem(cells[column]));
        }
}

void ConnectPlate::showJob()
{
    const bool heats = connector_.heats() || connector_.job() == PlateConnector::Job::TurnOff;
    const bool runs = connector_.job() != PlateConnector::Job::None;
    find_->setEnabled(!heats);
    read_->setEnabled(!heats);
    prove_->setEnabled(!heats && bare_->isChecked());
    learn_->setEnabled(!heats && bare_->isChecked() && connector_.link());
    save_->setEnabled(!runs && connector_.link());
    stop_->showHeat(heatMayBeOn());
    heater_->setText(heaterText());
    heater_->setVisible(connector_.heater() != PlateConnector::Heater::Untouched);
}

bool ConnectPlate::heatMayBeOn() const
{
    using Heater = PlateConnector::Heater;
    return connector_.heats() ||
           (connector_.heater() != Heater::Untouched && connector_.heater() != Heater::OffConfirmed);
}

void ConnectPlate::stop()
{
    connector_.stop();
}

QString ConnectPlate::heaterText() const
{
    const QString words[] = {QString(), tr("Heat may be on"), tr("Heater off commanded, not confirmed"),
                             tr("Heater off, read back"),
                             tr("Heater off NOT confirmed: pull the mains plug")};
    return words[static_cast<int>(connector_.heater())];
}

void ConnectPlate::showEnd(const QString& why)
{
    now_->clear();
    if (!why.isEmpty())
        note(why);
    if (closing_)
        leave();
}

void ConnectPlate::reject()
{
    using Job = PlateConnector::Job;
    const bool heats = connector_.heats();
    // Its program holds the line until it has ended, and whoever comes next wants it.
    if (heats || ((connector_.job() == Job::Find || connector_.job() == Job::Read) && !closing_)) {
        closing_ = true;
        if (heats)
            note(tr("Stopping; this closes when the heater has been read back off."));
        connector_.stop();
        return;
    }
    leave();
}

// Esc has stopped it already, and must do no more than that.
void ConnectPlate::keyPressEvent(QKeyEvent* event)
{
    if (event->key() != Qt::Key_Escape || !heatMayBeOn())
        QDialog::keyPressEvent(event);
}

QString ConnectPlate::leftWords() const
{
    return heatMayBeOn() ? tr("%1: %2").arg(name_->text(), heaterText()) : QString();
}

// Whoever opened this must hear of a heater that nobody has read back off.
void ConnectPlate::leave()
{
    closing_ = false;
    if (heatMayBeOn())
        emit leftHot(leftWords());
    QDialog::reject();
}

void ConnectPlate::save()
{
    std::error_code ignored;
    std::filesystem::create_directories(linkFolder_, ignored);
    const QString suggested = QString::fromStdString(
        (linkFolder_ / (name_->text().trimmed().replace(' ', '-').toLower().toStdString() + ".plate.json"))
            .string());
    auto* question = new FileQuestion(this, tr("Save the plate link"), suggested,
                                      tr("Plate links (*.plate.json)"), FileQuestion::For::Saving);
    question->setDefaultSuffix("plate.json");
    connect(question, &QFileDialog::fileSelected, this, &ConnectPlate::saveAs);
    question->show();
}

void ConnectPlate::saveAs(const QString& file)
{
    if (!connector_.link())
        return;
    QSaveFile out(file);
    const std::string text = connector_.link()->dump(2) + "\n";
    if (!out.open(QIODevice::WriteOnly) || out.write(text.data(), qint64(text.size())) < 0 || !out.commit()) {
        note(tr("Cannot write %1: %2").arg(file, out.errorString()));
        return;
    }
    if (heatMayBeOn())
        emit leftHot(leftWords());
    emit saved(file);
    accept();
}

} // namespace stripwright
