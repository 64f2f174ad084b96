#include "models/plate_connector.h"

#include <QFile>

#include <csignal>

namespace stripwright {

using nlohmann::json;

PlateConnector::PlateConnector(std::filesystem::path binFolder, QObject* parent)
    : QObject(parent), binFolder_(std::move(binFolder))
{
}

PlateConnector::~PlateConnector()
{
    if (!process_)
        return;
    process_->disconnect(this);
    process_->terminate();
    process_->waitForFinished(heats() ? 5000 : 1000);
    process_.reset();
}

bool PlateConnector::find(const QStringList& line)
{
    return begin(Job::Find, QStringList{"find"} + line + QStringList{"--json"}, nullptr);
}

static QStringList thermometer(std::optional<double> readsC)
{
    return readsC ? QStringList{"--plate-C", QString::number(*readsC)} : QStringList{};
}

bool PlateConnector::read(const json& draft, std::optional<double> thermometerC)
{
    return begin(Job::Read,
                 QStringList{"connect", "FILE", "--cold-only", "--json"} + thermometer(thermometerC), &draft);
}

bool PlateConnector::prove(const json& draft, std::optional<double> thermometerC)
{
    return begin(Job::Prove,
                 QStringList{"connect", "FILE", "--plate-is-bare", "--json"} + thermometer(thermometerC),
                 &draft);
}

bool PlateConnector::learn(const json& link, double powerW, double ambientC)
{
    return begin(Job::Learn,
                 {"tune", "FILE", "--plate-is-bare", "--json", "--power", QString::number(powerW),
                  "--ambient", QString::number(ambientC)},
                 &link);
}

void PlateConnector::stop()
{
    if (!process_)
        return;
    if (heats())
        heater_ = Heater::OffSent;
    process_->terminate();
    emit jobChanged();
}

bool PlateConnector::begin(Job job, QStringList arguments, const json* file)
{
    if (heats())
        return false;
    if (process_) {
        process_->disconnect(this);
        process_->terminate();
        process_->waitForFinished(2000);
    }
    if (file) {
        const QString name = folder_.filePath("plate.json");
        QFile written(name);
        const std::string text = file->dump(2);
        if (!written.open(QIODevice::WriteOnly) || written.write(text.data(), qint64(text.size())) < 0) {
            emit ended(tr("Cannot write %1: %2").arg(name, written.errorString()));
            return false;
        }
        arguments.replaceInStrings("FILE", name);
    }
    job_ = job;
    if (heats()) {
        heater_ = Heater::MayBeOn;
        link_.reset();
    }
    refusals_.clear();
    received_.clear();
    talk_.clear();
    process_ = std::make_unique<QProcess>();
    // A terminal's Ctrl+C must not reach it before this window has decided what to do.
    process_->setChildProcessModifier([] { setpgid(0, 0); });
    connect(process_.get(), &QProcess::readyReadStandardOutput, this, &PlateConnector::readLines);
    connect(process_.get(), &QProcess::readyReadStandardError, this,
            [this] { talk_ = (talk_ + process_->readAllStandardError()).right(4096); });
    connect(process_.get(), &QProcess::finished, this, &PlateConnector::finish);
    connect(process_.get(), &QProcess::errorOccurred, this, [this](QProcess::ProcessError error) {
        if (error != QProcess::FailedToStart)
            return;
        const QString why = tr("Cannot start %1: %2").arg(process_->program(), process_->errorString());
        heater_ = Heater::Untouched;
        job_ = Job::None;
        emit jobChanged();
        emit ended(why);
    });
    process_->start(QString::fromStdString((binFolder_ / "stripwright-controller").string()), arguments);
    emit jobChanged();
    return true;
}

void PlateConnector::readLines()
{
    received_ += process_->readAllStandardOutput();
    for (qsizetype end; (end = received_.indexOf('\n')) >= 0; received_.remove(0, end + 1)) {
        const json line = json::parse(received_.left(end).toStdString(), nullptr, false);
        if (!line.is_object())
            continue;
        if (const auto refused = line.find("refused"); refused != line.end() && refused->is_array())
            for (const json& why : *refused)
                refusals_ += QString::fromStdString(why.is_string() ? why.get<std::string>() : why.dump());
        if (heats() && line.contains("heater_off"))
            heater_ = line.value("heater_off", false) ? Heater::OffConfirmed : Heater::NotConfirmed;
        if (const auto link = line.find("link"); link != line.end() && link->is_object())
            link_ = *link;
        emit lineCame(line);
    }
}

void PlateConnector::finish(int exitCode, QProcess::ExitStatus status)
{
    readLines();
    talk_ += process_->readAllStandardError();
    const bool well = status == QProcess::NormalExit && exitCode == 0;
    if (job_ == Job::Learn && well) {
        QFile file(folder_.filePath("plate.json"));
        if (file.open(QIODevice::ReadOnly))
            if (const json learnt = json::parse(file.readAll().toStdString(), nullptr, false);
                learnt.is_object())
                link_ = learnt;
    }
    if (heats() && heater_ != Heater::OffConfirmed && (exitCode == 1 || status != QProcess::NormalExit))
        heater_ = Heater::NotConfirmed;
    else if (heats() && heater_ != Heater::OffConfirmed)
        heater_ = Heater::Untouched; // it ended before any heat, with the guardian content
    job_ = Job::None;
    process_.release()->deleteLater();
    emit jobChanged();
    const QString said = QString::fromUtf8(talk_).trimmed().section('\n', -3);
    emit ended(well                   ? QString()
               : !refusals_.isEmpty() ? refusals_.join('\n')
               : said.isEmpty()       ? tr("It ended with code %1.").arg(exitCode)
                                      : said);
}

} // namespace stripwright
