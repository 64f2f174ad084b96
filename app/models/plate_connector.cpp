#include "models/plate_connector.h"

#include "models/leaving_process.h"

#include <QFile>

#include <unistd.h>

namespace stripwright {

using namespace std::chrono_literals;
using nlohmann::json;

static constexpr qsizetype longestLineBytes = 4 << 20;

PlateConnector::PlateConnector(std::filesystem::path binFolder, QObject* parent)
    : QObject(parent), binFolder_(std::move(binFolder))
{
    stopAnswer_.setInterval(2s);
    stopAnswer_.setSingleShot(true);
    connect(&stopAnswer_, &QTimer::timeout, this, [this] {
        if (heater_ != Heater::OffSent)
            return;
        heater_ = Heater::NotConfirmed;
        if (process_)
            process_->terminate();
        emit jobChanged();
    });
}

PlateConnector::~PlateConnector()
{
    leave();
}

void PlateConnector::leave()
{
    ++awaited_;
    if (!process_)
        return;
    process_->disconnect(this);
    if (QProcess* const left = leaveToEnd(std::move(process_), folder_))
        leaving_ = left;
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

bool PlateConnector::learn(const json& link, const Learning& how)
{
    QStringList arguments{"tune",
                          "FILE",
                          "--plate-is-bare",
                          "--json",
                          "--power",
                          QString::number(how.powerW),
                          "--ambient",
                          QString::number(how.ambientC),
                          "--top",
                          QString::number(how.topC)};
    if (!how.shelf.empty())
        arguments += {"--shelf", QString::fromStdString(how.shelf.string())};
    if (!how.size.trimmed().isEmpty())
        arguments += {"--size", how.size.trimmed()};
    return begin(Job::Learn, arguments, &link);
}

void PlateConnector::takeLink(std::optional<json> link)
{
    if (heats())
        return;
    link_ = std::move(link);
    if (heater_ == Heater::OffConfirmed)
        heater_ = Heater::Untouched; // it was said of the plate before
    emit jobChanged();
}

QStringList PlateConnector::problemsIn(const QString& linkFile) const
{
    QProcess check;
    check.setProcessChannelMode(QProcess::MergedChannels);
    check.start(QString::fromStdString((binFolder_ / "stripwright-controller").string()),
                {"check-link", "--", linkFile});
    if (!check.waitForFinished(5000))
        return {tr("It cannot be checked: %1: %2").arg(check.program(), check.errorString())};
    if (check.exitStatus() == QProcess::NormalExit && check.exitCode() == 0)
        return {};
    const QStringList said = QString::fromUtf8(check.readAll()).split('\n', Qt::SkipEmptyParts);
    return said.isEmpty() ? QStringList{tr("It cannot be checked: %1 ended with code %2.")
                                            .arg(check.program())
                                            .arg(check.exitCode())}
                          : said;
}

void PlateConnector::stop()
{
    if (job_ == Job::TurnOff)
        return;
    if (job_ == Job::None && heater_ == Heater::NotConfirmed)
        return turnOffAgain();
    ++awaited_; // One that waits for its turn does not begin.
    if (process_) {
        process_->terminate();
    } else if (job_ != Job::None) {
        if (heats())
            heater_ = Heater::Untouched;
        return end(tr("Stopped before it began."));
    }
    if (heats() && heater_ == Heater::MayBeOn) {
        heater_ = Heater::OffSent;
        stopAnswer_.start();
    }
    emit jobChanged();
}

void PlateConnector::turnOffAgain()
{
    const QString link = heatedFile();
    if (QFile::exists(link))
        begin(Job::TurnOff,
              {"--plate", link, "--runs", folder_->filePath("off.db"), "--socket", folder_->filePath("off")},
              nullptr);
}

QString PlateConnector::heatedFile() const
{
    return folder_->filePath("heated.json");
}

bool PlateConnector::write(const QString& file, const json& link)
{
    QFile written(file);
    const std::string text = link.dump(2, ' ', false, json::error_handler_t::replace);
    if (written.open(QIODevice::WriteOnly) && written.write(text.data(), qint64(text.size())) >= 0 &&
        written.flush())
        return true;
    end(tr("Cannot write %1: %2").arg(file, written.errorString()));
    return false;
}

// Of a draft it may still be to be found out how its sensor reads: nobody needs that to turn the plate off.
static json thatCanBeTurnedOff(json link)
{
    const json::json_pointer at("/registers/sensor_C");
    if (link.contains(at) && link[at].is_object() &&
        !(link[at].contains("type") && link[at].contains("order"))) {
        link[at]["type"] = "uint16"; // one register that any table has
        link.erase("no_sensor_raw");
    }
    return link;
}

bool PlateConnector::begin(Job job, QStringList arguments, const json* file)
{
    if (heats() || (heater_ == Heater::NotConfirmed && job != Job::TurnOff))
        return false;
    leave();
    if (file) {
        const QString name = folder_->filePath("plate.json");
        const bool willHeat = job == Job::Prove || job == Job::Learn;
        if (!write(name, *file) || (willHeat && !write(heatedFile(), thatCanBeTurnedOff(*file))))
            return false;
        arguments.replaceInStrings("FILE", name);
    }
    job_ = job;
    if (heats()) {
        heater_ = Heater::MayBeOn;
        link_ = job == Job::Learn ? std::optional(*file) : std::nullopt;
    }
    refusals_.clear();
    linkKept_ = false;
    received_.clear();
    talk_.clear();
    // The one before holds the line until it has ended.
    const int wait = ++awaited_;
    const auto go = [this, wait, arguments] {
        if (wait == awaited_)
            launch(arguments);
    };
    if (leaving_) {
        connect(leaving_, &QObject::destroyed, this, go);
        QTimer::singleShot(8s, this, go);
    } else {
        go();
    }
    emit jobChanged();
    return true;
}

void PlateConnector::launch(const QStringList& arguments)
{
    ++awaited_;
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
        if (heats())
            heater_ = Heater::Untouched;
        end(tr("Cannot start %1: %2").arg(process_->program(), process_->errorString()));
    });
    process_->start(QString::fromStdString((binFolder_ / "stripwright-controller").string()), arguments);
}

// Nesting as deep as a line is long would end this program where the line is copied or printed.
static json readLine(const QByteArray& line)
{
    constexpr int deepest = 32;
    const auto bounded = [](int depth, json::parse_event_t, json&) {
        if (depth > deepest)
            throw std::length_error("nested too deep");
        return true;
    };
    try {
        return json::parse(line.begin(), line.end(), bounded);
    } catch (const std::exception&) {
        return {};
    }
}

void PlateConnector::readLines()
{
    const QByteArray said = process_->readAllStandardOutput();
    if (job_ == Job::TurnOff && said.contains("ready"))
        process_->terminate(); // It ends once the heater was read back off.
    received_.add(said);
    while (const std::optional<QByteArray> line = received_.next())
        if (const json read = readLine(*line); read.is_object())
            take(read);
    if (received_.bytes() > longestLineBytes)
        received_.clear();
}

void PlateConnector::take(const json& line)
{
    if (const auto refused = line.find("refused"); refused != line.end() && refused->is_array())
        for (const json& why : *refused)
            refusals_ += QString::fromStdString(why.is_string() ? why.get<std::string>() : why.dump());
    const Heater before = heater_;
    if (const auto off = line.find("heater_off"); off != line.end())
        takeHeater(*off);
    else if (const auto duty = line.find("duty"); heats() && heater_ == Heater::OffConfirmed &&
                                                  duty != line.end() && duty->is_number() && *duty > 0)
        heater_ = Heater::MayBeOn;
    if (const auto link = line.find("link"); link != line.end() && link->is_object())
        link_ = *link;
    linkKept_ = linkKept_ || line.contains("shelf_problem"); // what it says once the link is kept
    if (heater_ != before)
        emit jobChanged();
    emit lineCame(line);
}

// true: read back. null: never touched by this job. All else is no confirmation.
void PlateConnector::takeHeater(const json& off)
{
    if (off.is_boolean() && off.get<bool>()) {
        if (heats() || heater_ == Heater::NotConfirmed)
            heater_ = Heater::OffConfirmed;
    } else if (heats() && off.is_null()) {
        heater_ = Heater::Untouched;
    } else if (heats()) {
        heater_ = Heater::NotConfirmed;
    }
}

void PlateConnector::finish(int exitCode, QProcess::ExitStatus status)
{
    readLines();
    talk_ += process_->readAllStandardError();
    const bool well = status == QProcess::NormalExit && exitCode == 0;
    if (job_ == Job::Learn && (well || linkKept_)) {
        QFile file(folder_->filePath("plate.json"));
        if (file.open(QIODevice::ReadOnly))
            if (const json learnt = readLine(file.readAll()); learnt.is_object())
                link_ = learnt;
    }
    if (job_ == Job::TurnOff && status == QProcess::NormalExit && (exitCode == 0 || exitCode == 6))
        heater_ = Heater::OffConfirmed; // It ends so only with the heater read back off.
    if (heats() && heater_ != Heater::OffConfirmed) {
        const bool unsaid = exitCode == 1 || status != QProcess::NormalExit;
        if (unsaid)
            heater_ = Heater::NotConfirmed;
        else if (heater_ != Heater::NotConfirmed)
            heater_ = Heater::Untouched; // it ended before any heat, with the guardian content
    }
    const QString said = QString::fromUtf8(talk_).trimmed().section('\n', -3);
    end(well                   ? QString()
        : !refusals_.isEmpty() ? refusals_.join('\n')
        : said.isEmpty()       ? tr("It ended with code %1.").arg(exitCode)
                               : said);
}

void PlateConnector::end(const QString& why)
{
    stopAnswer_.stop();
    job_ = Job::None;
    if (process_)
        process_.release()->deleteLater();
    emit jobChanged();
    emit ended(why);
}

} // namespace stripwright
