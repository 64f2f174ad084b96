#include "models/chosen_plate.h"

#include "materials/json_fields.h"
#include "models/wording.h"

#include <QDateTime>
#include <QFile>
#include <QSettings>

#include <fstream>

namespace stripwright {

using nlohmann::json;

bool saysSimulated(const std::filesystem::path& linkFile)
{
    if (linkFile.empty())
        return true;
    std::ifstream file(linkFile);
    const json link = json::parse(file, nullptr, false);
    return !link.is_object() || link.value("simulated", json()) == true;
}

namespace {

constexpr int settingsSchema = 1;
constexpr const char *plateKey = "plate/link", *lastKey = "plate/last_link";

QString qString(const std::filesystem::path& path)
{
    return QString::fromStdString(path.string());
}

QString reachedInWords(const json& link)
{
    const QString unit = QObject::tr("unit %1").arg(link.value("unit", 1));
    if (const auto serial = link.find("serial"); serial != link.end())
        return QObject::tr("%1 at %2 %3, %4")
            .arg(QString::fromStdString(serial->value("device", "?")))
            .arg(serial->value("baud", 19200))
            .arg(QString::fromStdString(serial->value("frame", "8E1")), unit);
    return QObject::tr("%1 port %2, %3")
        .arg(QString::fromStdString(link.value("host", "?")))
        .arg(link.value("port", 502))
        .arg(unit);
}

QString watchdogInWords(const json& link, bool& proven)
{
    const double afterS = link.value("watchdog_proven_s", 0.0);
    // Of another watchdog time than it was proven with nobody has seen anything.
    proven = afterS > 0 && link.value("watchdog_s", 3.0) <= afterS &&
             link.value("registers", json::object()).contains("watchdog_s");
    if (proven)
        return QObject::tr("Its watchdog was proven: heater cut after %1 s of silence.")
            .arg(figure(afterS, 1));
    if (link.value("registers", json::object()).contains("watchdog_s"))
        return QObject::tr("Its watchdog was never proven: it may go on heating when this computer fails.");
    return QObject::tr("It names no watchdog: take it that it goes on heating when this computer fails.");
}

QString heatInWords(const json& link, bool& learnt)
{
    const auto identified = link.find("identified");
    learnt = identified != link.end() && identified->is_object();
    if (!learnt)
        return QObject::tr("Its heat was not learnt; the sheet's plate type stands for it.");
    const QString utc = QString::fromStdString(identified->value("measured_utc", ""));
    const QDateTime when = QDateTime::fromString(utc, Qt::ISODate).toLocalTime();
    const QString figures = QObject::tr("%1 J/K, %2 W")
                                .arg(figure(identified->value("heat_capacity_J_per_K", 0.0), 0),
                                     figure(identified->value("power_W", 0.0), 0));
    return when.isValid()
               ? QObject::tr("Its heat was learnt on %1 (%2).").arg(when.toString("yyyy-MM-dd"), figures)
               : QObject::tr("Its heat was learnt (%1).").arg(figures);
}

} // namespace

PlateInWords plateInWords(const std::filesystem::path& linkFile)
{
    PlateInWords plate;
    QFile file(qString(linkFile));
    if (!file.open(QIODevice::ReadOnly)) {
        plate.problem =
            QObject::tr("The link file %1 cannot be read: %2").arg(file.fileName(), file.errorString());
        return plate;
    }
    const std::string name = file.fileName().toStdString();
    std::vector<Problem> problems;
    const auto link = parseDocument(file.readAll().toStdString(), name, "", 0, problems);
    if (!link) {
        Problem& first = problems.front();
        first.file = QObject::tr("%1 is no plate link file").arg(file.fileName()).toStdString();
        plate.problem = QString::fromStdString(first.text());
        return plate;
    }
    try {
        if (link->value("format", "") != "stripwright-plate-link") {
            plate.problem = QObject::tr("%1 is no plate link file.").arg(file.fileName());
            return plate;
        }
        plate.name = QString::fromStdString(link->value("name", "?"));
        plate.reached = reachedInWords(*link);
        plate.watchdog = watchdogInWords(*link, plate.watchdogProven);
        plate.heat = heatInWords(*link, plate.heatLearnt);
        plate.switchesFan = link->value("registers", json::object()).contains("fan");
    } catch (const json::exception&) { // what it lacks, the controller says when it is to be used
        plate = {.problem = QObject::tr("%1 is no plate link file.").arg(file.fileName())};
    }
    return plate;
}

ChosenPlate::ChosenPlate(std::filesystem::path settingsFile, std::filesystem::path given, QObject* parent)
    : QObject(parent), settingsFile_(std::move(settingsFile)), linkFile_(std::move(given)),
      lastLinkFile_(linkFile_)
{
    if (!linkFile_.empty() || settingsFile_.empty())
        return;
    const QSettings settings(qString(settingsFile_), QSettings::IniFormat);
    if (settings.value("schema", settingsSchema).toInt() == settingsSchema)
        linkFile_ = settings.value(plateKey).toString().toStdString();
    lastLinkFile_ = linkFile_.empty() ? settings.value(lastKey).toString().toStdString() : linkFile_.string();
}

void ChosenPlate::use(const std::filesystem::path& linkFile)
{
    linkFile_ = linkFile.empty() ? linkFile : std::filesystem::absolute(linkFile);
    if (!linkFile_.empty())
        lastLinkFile_ = linkFile_;
    if (!settingsFile_.empty()) {
        QSettings settings(qString(settingsFile_), QSettings::IniFormat);
        settings.setValue("schema", settingsSchema);
        settings.setValue(plateKey, qString(linkFile_));
        settings.setValue(lastKey, qString(lastLinkFile_));
    }
    emit changed();
}

} // namespace stripwright
