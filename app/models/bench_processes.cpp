#include "models/bench_processes.h"

#include "messages/running.h"
#include "models/leaving_process.h"

#include <nlohmann/json.hpp>

#include <QFile>
#include <QFileInfo>
#include <QTimer>

#include <csignal>
#include <sys/prctl.h>
#include <unistd.h>

namespace stripwright {

static QString lastLines(const QByteArray& talk)
{
    return QString::fromUtf8(talk).trimmed().right(600);
}

static QString program(const LiveRunSetup& setup, const char* name)
{
    return QString::fromStdString((setup.binFolder / name).string());
}

static QString whyEnded(const QString& name, int exitCode, const QByteArray& talk)
{
    const QString said = lastLines(talk);
    return said.isEmpty() ? BenchProcesses::tr("The %1 ended with code %2.").arg(name).arg(exitCode) : said;
}

BenchProcesses::~BenchProcesses()
{
    end();
    if (leaving_)
        leaving_->waitForFinished(100);
}

QString BenchProcesses::controllerTalk() const
{
    return controller_ ? lastLines(controller_->talk) : QString();
}

std::unique_ptr<BenchProcesses::Child> BenchProcesses::child(const QString& name)
{
    auto made = std::make_unique<Child>();
    Child* one = made.get();
    QProcess* process = one->process.get();
    // Of a simulated plate nobody takes up a run again: its controller ends with whoever started it, however
    // that ends, and the plate stays until the controller has read its heater back off.
    const bool endsToo = setup_.plateLink.empty();
    process->setChildProcessModifier([endsToo] {
        setpgid(0, 0);
        if (endsToo)
            prctl(PR_SET_PDEATHSIG, SIGTERM);
    });
    connect(process, &QProcess::readyReadStandardError, this,
            [one] { one->talk = (one->talk + one->process->readAllStandardError()).right(4096); });
    connect(process, &QProcess::errorOccurred, this, [this, process, name](QProcess::ProcessError error) {
        if (error == QProcess::FailedToStart)
            emit failed(
                tr("Cannot start the %1 %2: %3").arg(name, process->program(), process->errorString()));
    });
    return made;
}

void BenchProcesses::start(const LiveRunSetup& setup, const BenchSheet& sheet)
{
    end();
    setup_ = setup;
    sheet_ = sheet;
    controllerExitCode_.reset();
    folder_ = std::make_shared<QTemporaryDir>();
    if (!setup.plateLink.empty()) {
        startController(QString::fromStdString(setup.plateLink.string()));
        return;
    }
    QFile sheetFile(folder_->filePath("on-the-plate.bench.json"));
    if (!sheetFile.open(QIODevice::WriteOnly) ||
        sheetFile.write(QByteArray::fromStdString(toJson(sheet).dump())) < 0) {
        emit failed(tr("Cannot write %1: %2").arg(sheetFile.fileName(), sheetFile.errorString()));
        return;
    }
    sheetFile.close();
    emit plateStarting();
    const QString name = tr("simulated plate"), link = folder_->filePath("simulated.plate.json");
    plate_ = child(name);
    // The plate writes its link file before it says a word on standard output.
    connect(plate_->process.get(), &QProcess::readyReadStandardOutput, this,
            [this, link, started = false]() mutable {
                plate_->process->readAllStandardOutput();
                if (!started && QFileInfo(link).size() > 0) {
                    started = true;
                    startController(link);
                }
            });
    connect(plate_->process.get(), &QProcess::finished, this, [this, name](int exitCode) {
        plate_->talk += plate_->process->readAllStandardError();
        emit plateEnded(whyEnded(name, exitCode, plate_->talk));
    });
    plate_->process->start(program(setup_, "stripwright-plate"),
                           QStringList{"--tcp", "0", "--sheet", sheetFile.fileName(), "--link-out", link,
                                       "--speed", QString::number(setup_.speed), "--exit-with-parent"} +
                               setup_.plateArguments);
}

void BenchProcesses::startControllerAgain()
{
    const bool plateIsThere =
        !setup_.plateLink.empty() || (plate_ && plate_->process->state() == QProcess::Running);
    if (!plateIsThere || !folder_) {
        start(setup_, sheet_);
        return;
    }
    leaveController();
    controllerExitCode_.reset();
    startController(setup_.plateLink.empty() ? folder_->filePath("simulated.plate.json")
                                             : QString::fromStdString(setup_.plateLink.string()));
}

// It holds its plate until it has read the heater back off.
void BenchProcesses::startController(const QString& linkFile)
{
    emit controllerStarting();
    const int wait = ++awaited_;
    const auto go = [this, wait, linkFile] {
        if (wait == awaited_)
            startControllerNow(linkFile);
    };
    if (!leaving_) {
        go();
        return;
    }
    connect(leaving_, &QObject::destroyed, this, go);
    QTimer::singleShot(std::chrono::seconds(8), this, go);
}

// Where a window that is started again finds it, if that can be: not in a folder that goes with this window.
QString BenchProcesses::newSocketPath() const
{
    static int count = 0;
    constexpr int longestSocketPath = 100;
    try {
        const std::string name = "talk-" + std::to_string(getpid()) + "-" + std::to_string(++count);
        QString path = QString::fromStdString((runningFolder() / name).string());
        if (path.toLocal8Bit().size() <= longestSocketPath)
            return path;
    } catch (const std::exception&) { // The controller will say what is wrong with that folder.
    }
    return folder_->filePath("talk");
}

void BenchProcesses::startControllerNow(const QString& linkFile)
{
    ++awaited_;
    emit controllerStarting();
    const QString name = tr("controller"), socketPath = newSocketPath();
    controller_ = child(name);
    connect(controller_->process.get(), &QProcess::readyReadStandardOutput, this, [this, socketPath] {
        if (controller_->process->readAllStandardOutput().contains("ready"))
            emit controllerReady(socketPath);
    });
    connect(controller_->process.get(), &QProcess::finished, this,
            [this, name](int exitCode, QProcess::ExitStatus exitStatus) {
                if (exitStatus == QProcess::NormalExit)
                    controllerExitCode_ = exitCode;
                controller_->talk += controller_->process->readAllStandardError();
                emit controllerEnded(whyEnded(name, exitCode, controller_->talk));
            });
    controller_->process->start(program(setup_, "stripwright-controller"),
                                {"--plate", linkFile, "--runs",
                                 QString::fromStdString(setup_.runsFile.string()), "--socket", socketPath,
                                 "--speed", QString::number(setup_.speed)});
}

bool BenchProcesses::askControllerToEnd()
{
    ++awaited_; // One that waits for its turn does not begin.
    if (!controller_ || controller_->process->state() == QProcess::NotRunning)
        return false;
    controller_->process->terminate();
    return true;
}

void BenchProcesses::leaveController()
{
    ++awaited_;
    if (!controller_)
        return;
    controller_->process->disconnect(this);
    if (QProcess* const left = leaveToEnd(std::move(controller_->process), folder_)) {
        leaving_ = left;
        connect(left, &QProcess::finished, this, [this](int exitCode, QProcess::ExitStatus status) {
            if (status == QProcess::NormalExit)
                controllerExitCode_ = exitCode;
        });
    }
    controller_.reset();
}

void BenchProcesses::end()
{
    leaveController();
    if (plate_) {
        plate_->process->disconnect(this);
        const auto plate = std::make_shared<std::unique_ptr<QProcess>>(std::move(plate_->process));
        const auto leave = [plate, folder = folder_] { leaveToEnd(std::move(*plate), folder); };
        if (leaving_)
            connect(leaving_, &QObject::destroyed, leave);
        else
            leave();
        plate_.reset();
    }
    folder_.reset();
}

} // namespace stripwright
