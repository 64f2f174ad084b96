#include "at_the_plate/connect_plate.h"

#include "at_the_plate/plate_form.h"
#include "models/plate_draft_json.h"
#include "widgets/file_question.h"

#include <QSaveFile>

namespace stripwright {

using nlohmann::json;

// These say nothing of how a plate is reached, read or driven: what was proven holds whatever they say.
static constexpr const char* freeKeys[] = {"name", "plate_max_C"};

static json withoutFreeKeys(json link)
{
    for (const char* key : freeKeys)
        link.erase(key);
    return link;
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
    if (heatMayBeOn())
        return note(tr("A link file can be opened once the heater of this plate was read back off."));
    auto* question =
        new FileQuestion(this, tr("Go on from a plate link"), QString::fromStdString(linkFolder_.string()),
                         tr("Plate links (*.plate.json)"), FileQuestion::For::Opening);
    connect(question, &QFileDialog::fileSelected, this, &ConnectPlate::goOnFrom);
    question->show();
}

// Of a link that says how its sensor is read the heat can be learnt, or it can be saved, as it is.
void ConnectPlate::goOnFrom(const QString& file)
{
    QString why;
    const std::optional<PlateDraft> draft = readPlateDraft(file, why);
    if (!draft)
        return note(why);
    if (heatMayBeOn())
        return note(tr("A link file can be opened once the heater of this plate was read back off."));
    form_->show(*draft);
    asConnected_ = withoutFreeKeys(toJson(form_->draft()));
    kept_ = draft->sensor.coding.isEmpty() ? json() : draft->kept;
    connector_.takeLink(kept_.is_object() ? std::optional(kept_) : std::nullopt);
    showJob();
    note(tr("Opened %1.").arg(file));
}

std::filesystem::path ConnectPlate::unsavedFile() const
{
    return linkFolder_ / "unsaved.plate.json";
}

// What was proven by minutes of heat outlives this dialog, and the program.
void ConnectPlate::keepUnsaved()
{
    if (!connector_.link() || *connector_.link() == kept_)
        return;
    kept_ = *connector_.link();
    if (const PlateDraft said = form_->draft(); toJson(said) == proving_ || isAsConnected()) {
        try {
            PlateDraft found = draftOf(kept_);
            found.name = said.name;
            found.plateMaxC = said.plateMaxC;
            form_->show(found);
        } catch (const json::exception&) { // no link that a controller writes
        }
        asConnected_ = withoutFreeKeys(toJson(form_->draft()));
    }
    proving_ = {};
    std::error_code ignored;
    std::filesystem::create_directories(linkFolder_, ignored);
    const QString file = QString::fromStdString(unsavedFile().string());
    const QString why = written(file, kept_);
    note(why.isEmpty() ? tr("Kept in %1 until you save it.").arg(file) : why);
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

void ConnectPlate::saveAs(const QString& file)
{
    if (!connector_.link())
        return;
    if (const QString why = written(file, linkInForce()); !why.isEmpty())
        return note(why);
    std::error_code ignored;
    if (file != QString::fromStdString(unsavedFile().string()))
        std::filesystem::remove(unsavedFile(), ignored);
    if (heatMayBeOn())
        emit leftHot(leftWords());
    emit saved(file);
    accept();
}

} // namespace stripwright
