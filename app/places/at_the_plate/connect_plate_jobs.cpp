#include "at_the_plate/connect_plate.h"

#include "at_the_plate/register_row.h"
#include "models/wording.h"
#include "widgets/look.h"

#include <QCheckBox>
#include <QComboBox>
#include <QDoubleSpinBox>
#include <QFileDialog>
#include <QLabel>
#include <QLineEdit>
#include <QListWidget>
#include <QPushButton>
#include <QSaveFile>
#include <QSpinBox>
#include <QTableWidget>

namespace stripwright {

using nlohmann::json;

static QString textOf(const json& line, const char* key)
{
    const auto found = line.find(key);
    return found != line.end() && found->is_string() ? QString::fromStdString(found->get<std::string>())
                                                     : QString();
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
        showCandidates(line.value("list", json::array()));
    } else if (kind == "device") {
        note(tr("Unit %1 %2").arg(line.value("unit", 0)).arg(textOf(line, "says")));
    } else if (kind == "proof") {
        note((line.value("ok", false) ? tr("✓ proven, %1: %2") : tr("✗ not so, %1: %2"))
                 .arg(textOf(line, "what"), textOf(line, "text")));
    } else if (kind == "step") {
        now_->setText(textOf(line, "text"));
        if (connector_.heats())
            note(textOf(line, "text"));
    } else if (line.contains("plate_C")) {
        now_->setText(tr("%1 °C, %2 % heat %3")
                          .arg(figure(line.value("plate_C", 0.0), 1),
                               figure(100 * line.value("duty", 0.0), 0), textOf(line, "step")));
    } else if (const auto learnt = line.find("learnt"); learnt != line.end()) {
        note(tr("Learnt: %1 J/K, %2 W lost at 150 °C, lags %3, %4 and %5 s")
                 .arg(figure(learnt->value("heat_capacity_J_per_K", 0.0), 0),
                      figure(learnt->value("loss_at_150_C_W", 0.0), 0),
                      figure(learnt->value("element_lag_s", 0.0), 1),
                      figure(learnt->value("sensor_lag_s", 0.0), 1),
                      figure(learnt->value("dead_time_s", 0.0), 1)));
    }
}

void ConnectPlate::showCandidates(const json& list)
{
    candidates_->setRowCount(0);
    // What makes sense stands first.
    for (const bool sensible : {true, false})
        for (const json& one : list) {
            if (!one.is_object() || one.value("sensible", false) != sensible)
                continue;
            const int row = candidates_->rowCount();
            candidates_->insertRow(row);
            const auto reads = one.find("reads_C");
            const bool known = reads != one.end() && reads->is_number();
            const QString cells[] = {
                textOf(one, "type") + ' ' + textOf(one, "order") + " × " +
                    QString::number(one.value("scale", 1.0)),
                known ? tr("%1 °C").arg(QString::number(reads->get<double>(), 'g', 5)) : tr("nothing"),
                tr("%1 K").arg(figure(one.value("moved_K", 0.0), 2)), sensible ? tr("✓ yes") : tr("no")};
            for (int column = 0; column < 4; ++column)
                candidates_->setItem(row, column, new QTableWidgetItem(cells[column]));
        }
}

void ConnectPlate::showJob()
{
    using Heater = PlateConnector::Heater;
    const bool heats = connector_.heats(), runs = connector_.job() != PlateConnector::Job::None;
    find_->setEnabled(!heats);
    read_->setEnabled(!heats);
    prove_->setEnabled(!heats && bare_->isChecked());
    learn_->setEnabled(!heats && bare_->isChecked() && connector_.link());
    save_->setEnabled(!runs && connector_.link());
    stop_->setEnabled(runs);
    const QString words[] = {QString(), tr("Heat may be on"), tr("Heater off commanded, not confirmed"),
                             tr("Heater off, read back"),
                             tr("Heater off NOT confirmed: pull the mains plug")};
    heater_->setText(words[static_cast<int>(connector_.heater())]);
    heater_->setVisible(connector_.heater() != Heater::Untouched);
}

void ConnectPlate::showEnd(const QString& why)
{
    now_->clear();
    if (!why.isEmpty())
        note(why);
    if (closing_)
        QDialog::reject();
}

void ConnectPlate::reject()
{
    if (connector_.heats()) {
        closing_ = true;
        connector_.stop();
        note(tr("Stopping; this closes when the heater has been read back off."));
        return;
    }
    connector_.stop();
    QDialog::reject();
}

void ConnectPlate::save()
{
    std::error_code ignored;
    std::filesystem::create_directories(linkFolder_, ignored);
    const QString suggested = QString::fromStdString(
        (linkFolder_ / (name_->text().trimmed().replace(' ', '-').toLower().toStdString() + ".plate.json"))
            .string());
    const QString file = QFileDialog::getSaveFileName(this, tr("Save the plate link"), suggested,
                                                      tr("Plate links (*.plate.json)"));
    if (file.isEmpty())
        return;
    QSaveFile out(file);
    const std::string text = connector_.link()->dump(2) + "\n";
    if (!out.open(QIODevice::WriteOnly) || out.write(text.data(), qint64(text.size())) < 0 || !out.commit()) {
        note(tr("Cannot write %1: %2").arg(file, out.errorString()));
        return;
    }
    emit saved(file);
    accept();
}

} // namespace stripwright
