#include "at_the_plate/connect_plate.h"

#include "at_the_plate/plate_form.h"
#include "at_the_plate/said_line.h"
#include "models/plate_draft_json.h"
#include "widgets/message_line.h"
#include "widgets/stop_button.h"

#include <QCheckBox>
#include <QDoubleSpinBox>
#include <QKeyEvent>
#include <QLabel>
#include <QListWidget>
#include <QPushButton>
#include <QTableWidget>

namespace stripwright {

using nlohmann::json;

// What a loop of the plate's own gives it tells, or nobody knows.
static QString heatWords(const json& line)
{
    return partOf(line, "duty").is_number()
               ? ConnectPlate::tr("%1 % heat").arg(figureOf(line, "duty", 0, 100))
               : ConnectPlate::tr("heat not known yet");
}

static QString registersText(const json& registers, const char* table, const char* from)
{
    QStringList words;
    if (const json list = partOf(registers, table); list.is_array())
        for (const json& word : list)
            words += QString::fromStdString(word.dump());
    return words.isEmpty()
               ? ConnectPlate::tr("none at the usual places")
               : ConnectPlate::tr("from %1 on: %2").arg(figureOf(registers, from, 0), words.join(' '));
}

void ConnectPlate::showDevice(const json& device)
{
    const json registers = partOf(device, "registers");
    note(tr("Unit %1 %2. Input registers %3; holding registers %4")
             .arg(figureOf(device, "unit", 0), textOf(device, "says"),
                  registersText(registers, "input", "input_from"),
                  registersText(registers, "holding", "holding_from")));
}

QStringList ConnectPlate::wrongInForm() const
{
    QStringList wrong = form_->problems();
    if (const QStringList missing = missingIn(form_->draft()); !missing.isEmpty())
        wrong += tr("%1 is missing.").arg(missing.join(", "));
    return wrong;
}

json ConnectPlate::draft()
{
    const QStringList wrong = wrongInForm();
    if (wrong.isEmpty())
        return toJson(form_->draft());
    note(tr("Not yet: %1").arg(wrong.join(' ')));
    return {};
}

void ConnectPlate::prove()
{
    const json link = draft();
    if (link.is_null())
        return;
    proving_ = link;
    heatedName_ = textOf(link, "name");
    if (!connector_.prove(link, thermometerC()))
        proving_ = {};
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
        showDevice(line);
    } else if (kind == "proof") {
        note((saysYes(line, "ok")          ? tr("✓ proven, %1: %2")
              : saysYes(line, "left_open") ? tr("? left open, %1: %2")
                                           : tr("✗ not so, %1: %2"))
                 .arg(textOf(line, "what"), textOf(line, "text")));
    } else if (kind == "step") {
        shownC_.reset();
        now_->setText(textOf(line, "text"));
        if (connector_.heats())
            note(textOf(line, "text"));
    } else if (line.contains("plate_C")) {
        takeNews(line);
    } else if (line.contains("learnt")) {
        showLearnt(partOf(line, "learnt"));
    } else if (line.contains("shelf_problem")) {
        showShelf(line);
    }
}

// While the line is silent a program says the last reading again, with the time it had.
void ConnectPlate::takeNews(const json& line)
{
    const json readC = partOf(line, "plate_C"), atS = partOf(line, "time_s");
    const bool nothingRead = readC == 0 && atS == 0; // of a cooling that has only begun
    if (readC.is_number() && !nothingRead && (!shownC_ || !atS.is_number() || atS != readAtS_)) {
        shownC_ = lastReadC_[heatedPlate()] = readC.get<double>();
        readAtS_ = atS;
        shownSince_.start();
    }
    const QString step = textOf(line, "step");
    newsText_ = heatWords(line);
    if (!step.isEmpty())
        newsText_ +=
            QStringLiteral(" · ") + (step == QLatin1String("over") ? tr("the heating is over") : step);
    if (shownC_)
        showNow();
    else
        now_->setText(tr("– °C, %1").arg(newsText_));
}

void ConnectPlate::showNow()
{
    constexpr qint64 freshMs = 2000;
    if (!shownC_)
        return;
    const qint64 oldMs = shownSince_.elapsed();
    now_->setText(tr("%1 °C, %2")
                      .arg(QString::number(*shownC_, 'f', 1),
                           oldMs < freshMs ? newsText_ : tr("%1 s ago").arg(oldMs / 1000)));
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
    const bool mayBegin = !connector_.heats() && connector_.heater() != PlateConnector::Heater::NotConfirmed;
    find_->setEnabled(mayBegin);
    read_->setEnabled(mayBegin);
    prove_->setEnabled(mayBegin && bare_->isChecked());
    showNeeds();
    stop_->showHeat(heatMayBeOn());
    const bool unconfirmed = connector_.heater() == PlateConnector::Heater::NotConfirmed;
    heater_->say(heaterText(), unconfirmed ? MessageLine::Tone::Abnormal : MessageLine::Tone::Plain);
    endWatching_->setVisible(onlyCools());
    closingLine_->say(closingWords(), heatMayBeOn() ? MessageLine::Tone::Abnormal : MessageLine::Tone::Plain);
}

bool ConnectPlate::heatMayBeOn() const
{
    using Heater = PlateConnector::Heater;
    return connector_.heater() != Heater::OffConfirmed &&
           (connector_.heats() || connector_.heater() != Heater::Untouched);
}

void ConnectPlate::stop()
{
    connector_.stop();
}

bool ConnectPlate::onlyCools() const
{
    return connector_.job() == PlateConnector::Job::Learn &&
           connector_.heater() == PlateConnector::Heater::OffConfirmed;
}

QString ConnectPlate::heatedPlate() const
{
    return heatedName_.isEmpty() ? tr("The plate to be connected") : heatedName_;
}

QString ConnectPlate::closingWords() const
{
    if (!closeAsked_ || closing_ || !connector_.heats())
        return {};
    if (onlyCools())
        return tr("%1 is watched while it cools; what was learnt is kept. Close once more to end the "
                  "watching "
                  "and leave.")
            .arg(heatedPlate());
    return connector_.job() == PlateConnector::Job::Learn
               ? tr("The heat of %1 is being learnt. Close once more to stop the heating and leave: then it "
                    "is "
                    "to be learnt anew, and what was proven of it is kept.")
                     .arg(heatedPlate())
               : tr("%1 is being warmed and proven. Close once more to stop the heating and leave.")
                     .arg(heatedPlate());
}

QString ConnectPlate::heaterText() const
{
    if (onlyCools())
        return tr("Heater off, read back: watched while it cools; what was learnt is kept");
    const QString words[] = {QString(), tr("Heat may be on"), tr("Heater off commanded, not confirmed"),
                             tr("Heater off, read back"),
                             tr("Heater off NOT confirmed: pull the mains plug")};
    return words[static_cast<int>(connector_.heater())];
}

void ConnectPlate::showEnd(const QString& why)
{
    shownC_.reset();
    now_->clear();
    closeAsked_ = false;
    keepUnsaved();
    if (!why.isEmpty())
        note(why);
    if (closing_)
        leave();
}

void ConnectPlate::reject()
{
    using Job = PlateConnector::Job;
    using Heater = PlateConnector::Heater;
    const bool heats = connector_.heats();
    const bool stops = connector_.heater() == Heater::OffSent || connector_.heater() == Heater::NotConfirmed;
    if (heats && !stops && !closing_ && !closeAsked_) {
        closeAsked_ = true;
        return showJob();
    }
    // Its program holds the line until it has ended, and whoever comes next wants it.
    if (heats || ((connector_.job() == Job::Find || connector_.job() == Job::Read) && !closing_)) {
        closing_ = true;
        if (heats)
            note(onlyCools() ? tr("This closes when what was learnt has been kept.")
                             : tr("Stopping; this closes when the heater has been read back off."));
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
    return heatMayBeOn() ? tr("%1: %2").arg(heatedPlate(), heaterText()) : QString();
}

QString ConnectPlate::warmWords() const
{
    constexpr double safeToTouchC = 45;
    QStringList words;
    for (const auto& [name, readC] : lastReadC_)
        if (readC > safeToTouchC)
            words += tr("%1 last read %2 °C: it is hot until it has cooled below %3 °C")
                         .arg(name, QString::number(readC, 'f', 0), QString::number(safeToTouchC));
    return words.join('\n');
}

// Whoever opened this must hear of a heater that nobody has read back off, and of a plate that is still hot.
void ConnectPlate::tellWhatIsLeft()
{
    if (heatMayBeOn())
        emit leftHot(leftWords());
    if (const QString words = warmWords(); !words.isEmpty())
        emit leftWarm(words);
}

void ConnectPlate::leave()
{
    closing_ = false;
    tellWhatIsLeft();
    QDialog::reject();
}

} // namespace stripwright
