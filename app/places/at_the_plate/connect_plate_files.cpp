#include "at_the_plate/connect_plate.h"

#include "at_the_plate/plate_form.h"
#include "at_the_plate/said_line.h"
#include "models/plate_draft_json.h"
#include "widgets/figure_field.h"
#include "widgets/file_question.h"

#include <QCheckBox>
#include <QDir>
#include <QLabel>
#include <QLineEdit>
#include <QSaveFile>
#include <QTableWidget>

#include <algorithm>
#include <array>
#include <fstream>
#include <utility>

namespace stripwright {

using nlohmann::json;

// These say nothing of how a plate is reached, read or driven: what was proven holds whatever they say.
static constexpr const char* freeKeys[] = {"name", "plate_max_C"};

static json withoutFreeKeys(json link)
{
    for (const char* key : freeKeys)
        if (link.is_object())
            link.erase(key);
    return link;
}

static json readLink(const std::filesystem::path& file)
{
    std::ifstream in(file);
    return json::parse(in, nullptr, false);
}

static QString written(const QString& file, const json& link)
{
    QSaveFile out(file);
    const std::string text = link.dump(2) + "\n";
    const bool whole =
        out.open(QIODevice::WriteOnly) && out.write(text.data(), qint64(text.size())) >= 0 && out.commit();
    return whole ? QString() : ConnectPlate::tr("Cannot write %1: %2").arg(file, out.errorString());
}

bool ConnectPlate::isAsConnected() const
{
    return withoutFreeKeys(toJson(form_->draft())) == asConnected_;
}

json ConnectPlate::linkInForce() const
{
    if (!connector_.link())
        return {};
    json link = *connector_.link();
    const json said = toJson(form_->draft());
    for (const char* key : freeKeys) {
        link.erase(key);
        if (said.contains(key))
            link[key] = said.at(key);
    }
    return link;
}

void ConnectPlate::askForLink()
{
    if (heatMayBeOn() || connector_.heats())
        return note(tr("A link file can be opened once the heater of this plate was read back off."));
    auto* question =
        new FileQuestion(this, tr("Go on from a plate link"), QString::fromStdString(linkFolder_.string()),
                         tr("Plate links (*.plate.json)"), FileQuestion::For::Opening);
    connect(question, &QFileDialog::fileSelected, this, &ConnectPlate::goOnFrom);
    question->show();
}

// They were given for the plate before.
void ConnectPlate::takeBackWords()
{
    for (QCheckBox* box : {bare_, sizeNotKnown_, measured_})
        box->setChecked(false);
    power_->clear();
    size_->clear();
    candidates_->setRowCount(0);
    shownC_.reset();
    now_->clear();
}

// Of a link that says how its sensor is read the heat can be learnt, or it can be saved, as it is.
bool ConnectPlate::goOnFrom(const QString& file)
{
    QString why;
    const std::optional<PlateDraft> draft = readPlateDraft(file, why);
    if (!draft)
        return note(why), false;
    if (heatMayBeOn() || connector_.heats())
        return note(tr("A link file can be opened once the heater of this plate was read back off.")), false;
    if (const QStringList problems = connector_.problemsIn(file); !problems.isEmpty()) {
        note(tr("Not opened: %1 is to be mended first.").arg(file));
        for (const QString& problem : problems)
            note(problem);
        return false;
    }
    takeBackWords();
    form_->show(*draft);
    asConnected_ = withoutFreeKeys(toJson(form_->draft()));
    kept_ = draft->sensor.coding.isEmpty() ? json() : draft->kept;
    connector_.takeLink(kept_.is_object() ? std::optional(kept_) : std::nullopt);
    showJob();
    note(tr("Opened %1.").arg(file));
    return true;
}

std::filesystem::path ConnectPlate::newestUnsaved() const
{
    const QFileInfoList kept = QDir(QString::fromStdString(linkFolder_.string()))
                                   .entryInfoList({"unsaved*.plate.json"}, QDir::Files, QDir::Time);
    if (linkFolder_.empty() || kept.isEmpty())
        return {};
    return kept.front().filePath().toStdString();
}

// Another plate's stays, and so does what cannot be read.
std::filesystem::path ConnectPlate::unsavedFileFor(const json& link) const
{
    const auto isOfThisPlate = [&](const json& there) {
        return there.is_object() &&
               std::ranges::all_of(std::array{"name", "host", "port", "serial", "unit"},
                                   [&](const char* key) { return partOf(there, key) == partOf(link, key); });
    };
    std::filesystem::path file = linkFolder_ / "unsaved.plate.json";
    std::error_code ignored;
    for (int next = 2; std::filesystem::exists(file, ignored) && !isOfThisPlate(readLink(file)); ++next)
        file = linkFolder_ / ("unsaved-" + std::to_string(next) + ".plate.json");
    return file;
}

// What was proven by minutes of heat outlives this dialog, and the program.
void ConnectPlate::keepUnsaved()
{
    const json proved = std::exchange(proving_, {});
    if (!connector_.link() || (proved.is_null() && *connector_.link() == kept_))
        return;
    if (!proved.is_null())
        asConnected_ = withoutFreeKeys(proved);
    const bool isNew = *connector_.link() != kept_;
    kept_ = *connector_.link();
    // What is typed amiss in the meantime stays to be mended.
    if (const PlateDraft said = form_->draft(); isAsConnected() && form_->problems().isEmpty()) {
        try {
            PlateDraft found = draftOf(kept_);
            found.name = said.name;
            found.plateMaxC = said.plateMaxC;
            form_->show(found);
        } catch (const json::exception&) { // no link that a controller writes
        }
        asConnected_ = withoutFreeKeys(toJson(form_->draft()));
    }
    if (isNew) {
        std::error_code ignored;
        std::filesystem::create_directories(linkFolder_, ignored);
        const std::filesystem::path file = unsavedFileFor(kept_);
        const QString name = QString::fromStdString(file.string()), why = written(name, kept_);
        if (why.isEmpty())
            unsaved_ = file;
        note(why.isEmpty() ? tr("Kept in %1 until you save it.").arg(name) : why);
    }
    showJob();
}

void ConnectPlate::save()
{
    std::error_code ignored;
    std::filesystem::create_directories(linkFolder_, ignored);
    const QString suggested = QString::fromStdString(
        (linkFolder_ / (form_->name().trimmed().replace(' ', '-').toLower().toStdString() + ".plate.json"))
            .string());
    auto* question = new FileQuestion(this, tr("Save the plate link"), suggested,
                                      tr("Plate links (*.plate.json)"), FileQuestion::For::Saving);
    question->setDefaultSuffix("plate.json");
    connect(question, &QFileDialog::fileSelected, this, &ConnectPlate::saveAs);
    question->show();
}

QString ConnectPlate::whyNotSaved() const
{
    if (!connector_.link())
        return tr("First the plate is warmed and proven, or a link file opened that says how it is read");
    if (connector_.job() != PlateConnector::Job::None)
        return tr("It can be saved once what is being done has ended");
    if (const QStringList wrong = wrongInForm(); !wrong.isEmpty())
        return wrong.join(' ');
    return isAsConnected() ? QString() : tr("What is said of it was changed: prove it again first");
}

// Between the question for a file and its answer anything may have begun or been typed.
void ConnectPlate::saveAs(const QString& file)
{
    if (const QString why = whyNotSaved(); !why.isEmpty())
        return note(tr("Not saved. %1").arg(why));
    const json link = linkInForce();
    if (const QString why = written(file, link); !why.isEmpty())
        return note(why);
    std::error_code ignored;
    if (file.toStdString() != unsaved_.string() &&
        withoutFreeKeys(readLink(unsaved_)) == withoutFreeKeys(link))
        std::filesystem::remove(unsaved_, ignored);
    tellWhatIsLeft();
    emit saved(file);
    accept();
}

} // namespace stripwright
